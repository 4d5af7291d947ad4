"""Packs of an invented river, rich enough to look at: what the composer is expected to write."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import exp

from briefings.pack.content import (
    Emergency,
    FlyPicture,
    GuideCopy,
    Kit,
    LeaderPicture,
    PackContent,
    PoolStop,
    River,
    RiverPicture,
    Said,
    SetUpPage,
    SourceRow,
    Spot,
    TripPart,
    Worth,
)

ISSUED = datetime(2026, 5, 20, 18, 0, tzinfo=UTC)
MARKS = (
    (0.30, "summer level"),
    (0.40, "weed line shows"),
    (0.90, "flat stone covered"),
    (1.10, "gate post foot"),
    (2.40, "over the bank"),
)


def river_picture(*, spread: float = 1.0, known_hours: int = 120) -> RiverPicture:
    """Return three days of a falling spate and five days ahead with rain on the second."""
    start = ISSUED - timedelta(hours=72)
    measured: list[tuple[str, float | None]] = []
    for hour in range(73):
        level = 0.45 if hour < 9 else 0.45 + min(hour - 8, 12) / 12 * 0.85
        if hour > 20:
            level = 0.42 + 0.88 * exp(-(hour - 20) / 60)
        measured.append(((start + timedelta(hours=hour)).isoformat(), round(level, 3)))
    last = level
    forecast: list[tuple[str, float | None, float | None, float | None]] = []
    for hour in range(1, 121):
        at = (ISSUED + timedelta(hours=hour)).isoformat()
        if hour > known_hours:
            forecast.append((at, None, None, None))
            continue
        rain = 0.5 / (1 + exp(-(hour - 42) / 5)) * exp(-max(hour - 50, 0) / 45)
        middle = 0.42 + (last - 0.42) * exp(-hour / 60) + 0.55 * rain
        low = middle - spread * (0.002 * hour + 0.25 * rain)
        high = middle + spread * (0.003 * hour + 1.1 * rain)
        forecast.append((at, round(max(low, 0.25), 3), round(middle, 3), round(high, 3)))
    return RiverPicture(
        zone="Europe/London",
        measured=tuple(measured),
        forecast=tuple(forecast),
        marks=MARKS,
        day_from="2026-05-21T07:30:00+00:00",
        day_to="2026-05-21T16:00:00+00:00",
        day_words="your day",
        shown_from=start.isoformat(),
        shown_to=(ISSUED + timedelta(hours=120)).isoformat(),
        rain=_rain(start),
        nights=tuple(
            (
                (ISSUED + timedelta(days=day, hours=3)).isoformat(),  # dusk 21:00, dawn 03:00 UTC
                (ISSUED + timedelta(days=day, hours=9)).isoformat(),
            )
            for day in range(-3, 5)
        ),
    )


def _rain(start: datetime) -> tuple[tuple[str, str, float, str], ...]:
    """Return the spate's rain by the hour, then 60 hours of forecast, then six hours at a time."""
    steps = [(hour, 1, 3.2 if 6 <= hour < 12 else 0.0, "measured") for hour in range(72)]
    steps += [(72 + h, 1, 1.4 if 34 <= h < 40 else 0.0, "forecast") for h in range(60)]
    steps += [(132 + 6 * k, 6, (2.0, 0.0)[k % 2], "forecast") for k in range(8)]
    return tuple(
        (
            (start + timedelta(hours=hour)).isoformat(),
            (start + timedelta(hours=hour + wide)).isoformat(),
            mm,
            known_as,
        )
        for hour, wide, mm, known_as in steps
        if hour != 20  # one hour never came
    )


MEETING = Spot(
    name="Alder Bridge lay-by",
    grid="XX 4821 7714",
    latitude=55.43217,
    longitude=-3.12345,
    directions="From the village take the mill road north for two miles. The lay-by is on the "
    "left, just before the bridge; leave the gate clear for tractors.",
)
ACCESSES = (
    MEETING,
    Spot(
        name="Long Run, road gate",
        grid="XX 4836 7742",
        latitude=55.43471,
        longitude=-3.12101,
        directions="Green gate 300 m above the bridge, then the cart track down to the river.",
    ),
    Spot(
        name="Otter Stone, field gate",
        grid="XX 4850 7769",
        latitude=55.43718,
        longitude=-3.11873,
        directions="Second field gate past the barn. Shut it behind you.",
    ),
    Spot(
        name="Ash Pot, footpath",
        grid="XX 4877 7801",
        latitude=55.44009,
        longitude=-3.11446,
        directions="Signed footpath from the chapel; ten minutes on foot.",
    ),
)


def fly(role: str, pattern: str, words: str, length_mm: int, **changes: object) -> FlyPicture:
    """Return a fly as drawn."""
    values = {
        "role": role,
        "pattern": pattern,
        "words": words,
        "length_mm": length_mm,
        "is_tube": False,
        "dressing": "sparse",
        "colours": (),
        "looks_like": "",
    }
    return FlyPicture(**{**values, **changes})  # type: ignore[arg-type]


POINT = fly(
    "point",
    "red and orange shrimp-shaped",
    "size 10 double, sparse, 21 mm",
    21,
    colours=("red", "orange", "black"),
    looks_like="long orange tail, red body, black wing",
)
DROPPER = fly(
    "dropper",
    "small black and gold",
    "size 12 double, sparse, 16 mm",
    16,
    colours=("black", "gold"),
    looks_like="black wing over a gold body",
)
BOX = (
    POINT,
    fly(
        "point",
        "black and yellow, long tail",
        "size 8 double, medium, 30 mm",
        30,
        dressing="medium",
        colours=("black", "yellow"),
        looks_like="yellow tail, black wing, silver rib",
    ),
    fly(
        "point",
        "orange tube",
        "copper tube, 38 mm with its wing, 4 g",
        38,
        is_tube=True,
        dressing="full",
        colours=("orange", "red", "yellow"),
        looks_like="bright wing over a copper tube",
    ),
    fly(
        "point",
        "grey and silver",
        "size 14 single, sparse, 12 mm",
        12,
        colours=("grey", "silver"),
        looks_like="thin grey wing, silver body",
    ),
    DROPPER,
    fly(
        "dropper",
        "brown with a bushy collar",
        "size 10 single, medium, 15 mm",
        15,
        dressing="medium",
        colours=("brown", "black"),
        looks_like="bushy collar behind the eye",
    ),
)

SETUP = SetUpPage(
    sentence="Floating line, 12 ft (3.66 m) of leader; point red and orange shrimp-shaped, size 10 "
    "double, sparse dressing, 21 mm; dropper small black and gold, size 12 double, sparse, 16 mm.",
    how="Cast square, let it swing, and keep a slow figure-of-eight going throughout. If nobody "
    "has touched a fish by eleven we go bigger and deeper for one pass.",
    why="The river is clearing at a good height and the water is 52 °F, so small and sparse. "
    "In peat-stained water red and orange still show.",
    knots=("line to leader: loop to loop", "dropper: double surgeon's", "flies: plain clinch"),
    leader=LeaderPicture(
        line_words="floating line",
        tip_words="",
        tip_m=None,
        sections=(
            ("butt", 2.4384, "butt nylon: 8 ft (2.44 m), 0.33 mm"),
            ("tippet", 1.2192, "tippet nylon: 4 ft (1.22 m), 0.23 mm"),
            ("dropper tag", 0.1, "dropper tag nylon: 4 in (10 cm), 0.23 mm"),
        ),
        leader_m=3.6576,
        leader_words="12 ft (3.66 m)",
        dropper_from_line_m=2.4384,
        dropper_words="small black and gold, size 12 double; 8 ft (2.44 m) from the line",
        point_words="red and orange shrimp-shaped, size 10 double",
    ),
    flies=(POINT, DROPPER),
    laid_out=BOX,
    alternative="An intermediate tip and the black and yellow, size 8. We change to it "
    "if the river is coloured or above the flat stone when we arrive.",
)

KIT = Kit(
    bring=(
        "Fishing licence, printed or on your phone",
        "Polarised glasses and a hat with a brim, worn all day",
        "Waterproof jacket, warm layers, a dry change in the car",
        "Lunch and water",
    ),
    lent=("Chest waders, size L, boots 44", "Wading belt", "Wading staff", "Life jacket"),
    buy=("Midge repellent",),
    missing=("Your licence number: please send it by Wednesday noon.",),
)

PUBLISHED = "published source"
PRACTICE = "common practice, no source"
CAUTIONS = (
    Said(
        text="The river can rise while you stand in it. If it colours, carries leaves or covers "
        "a stone you were watching, go to the bank and tell your guide.",
        because="Rain is forecast for Thursday afternoon.",
        label=PRACTICE,
        source="",
    ),
    Said(
        text="Cold water takes your breath at once. If you fall in, keep your feet up and float "
        "on your back until you can breathe, then work to the side.",
        because="The water is 11 °C.",
        label=PRACTICE,
        source="",
    ),
    Said(
        text="At the first thunder put the rod down and leave the water and the bank.",
        because="Showers are forecast.",
        label=PUBLISHED,
        source="Lightning Safety, University of Nebraska-Lincoln",
    ),
    Said(
        text="Power lines cross Otter Stone at the tail. No casting between the two poles.",
        because="A rod carries current.",
        label=PUBLISHED,
        source="Overhead lines and fishing, Energy Networks Association",
    ),
    Said(
        text="Glasses and a hat whenever a rod is up, yours or another's.",
        because="Always.",
        label=PRACTICE,
        source="",
    ),
    Said(
        text="Barbs crushed. Fish stay in the water, in the net, and go back.",
        because="Always.",
        label=PRACTICE,
        source="",
    ),
    Said(
        text="Wading belt done up, tight, before you reach the water.",
        because="Always.",
        label=PRACTICE,
        source="",
    ),
    Said(
        text="Waders, boots and nets arrive dry and clean.",
        because="What lives in one river must not reach another.",
        label=PRACTICE,
        source="",
    ),
)

EMERGENCY = Emergency(
    number="112 or 999",
    guide_name="Morven Sandilands",
    guide_phone="07700 900 114",
    fishery_phone="01632 960 233",
    hospital="Haughton General, emergency department, 24 hours: 18 miles, 35 minutes by the "
    "valley road",
    no_signal_plan="No signal below the road gate. Walk up to the gate, where there is one bar, "
    "or to the farm: white house, 400 m, land line in the porch.",
    if_the_guide_is_the_casualty="Stay out of the river. Throw the rope in the guide's bag. "
    "Ring the number above, give the grid reference, send one person to the road gate to wave "
    "the ambulance in. Keys to the van: on the front tyre.",
    spots=ACCESSES,
    contact="Erik Tangvald, 07700 900 220",
)

SOURCES = (
    SourceRow(
        what="river level",
        value="0.79 m",
        spread="none: read",
        how_known="observed",
        at="Wed 20 May, 19:00",
        age="20 minutes",
        source="Alder Bridge gauge",
    ),
    SourceRow(
        what="river level, your day",
        value="0.67 m",
        spread="0.60 to 0.74 m",
        how_known="forecast",
        at="Thu 21 May, 08:30",
        age="20 minutes",
        source="our recession and persistence stand-in",
    ),
    SourceRow(
        what="water temperature",
        value="52 °F (11 °C)",
        spread="50 to 54 °F",
        how_known="observed",
        at="Wed 20 May, 18:00",
        age="1 hour 20 minutes",
        source="Alder Bridge gauge",
    ),
    SourceRow(
        what="colour",
        value="tea-coloured, about 60 cm",
        spread="40 to 90 cm",
        how_known="inferred",
        at="Wed 20 May, 19:00",
        age="20 minutes",
        source="from the rise and the time since; nobody has looked",
    ),
    SourceRow(
        what="rain",
        value="6 mm from 14:00",
        spread="1 to 15 mm",
        how_known="forecast",
        at="Wed 20 May, 14:00",
        age="5 hours 20 minutes",
        source="weather run on file",
    ),
    SourceRow(
        what="wind",
        value="south-west, 5 m/s",
        spread="3 to 8 m/s",
        how_known="forecast",
        at="Wed 20 May, 14:00",
        age="5 hours 20 minutes",
        source="weather run on file",
    ),
    SourceRow(
        what="civil dusk",
        value="22:14",
        spread="one minute",
        how_known="computed",
        at="Thu 21 May",
        age="",
        source="the sun's position",
    ),
)

FINAL = PackContent(
    language="en",
    audience="client",
    issue="final",
    number=2,
    replaces=1,
    reference="BW-0521",
    reader="Ailsa Marr",
    reader_line="One rod, sharing the day with Tom. Two of us and the guide.",
    title="Thursday 21 May, Birk Water",
    issued="Wed 20 May, 19:20",
    valid_until="Thu 21 May, 09:00",
    danger="The river may rise again after 14:00. From then on: bank only, and off the gravel bar "
    "before that.",
    changes=(
        "Rain is now expected on Thursday afternoon.",
        "One fly size smaller.",
        "We stop at 17:00, not 18:00.",
    ),
    parts=(
        TripPart(
            date_words="Thursday 21 May",
            part="day",
            beat="Birk Water, beat 1",
            meets="08:30",
            ends="17:00",
            meeting_point=MEETING,
        ),
    ),
    wading="To the knee, with your guide.",
    worth=Worth(
        worth_going="Worth going: yes. The river is clearing at a good height.",
        permitted="Permitted: not known. No rule is on file; ask the fishery.",
        rules=("No rule on file for this water: ask the fishery before you put up a rod.",),
        who_decides="Your guide decides at the water. The fishery's own rules and local "
        "regulations come before anything on these pages.",
    ),
    river=River(
        gauge="Alder Bridge",
        sentence="Falling and clearing for your morning. Rain may lift it late.",
        detail="At 08:30 most likely 0.67 m, four times in five between 0.60 and 0.74 m. By dusk "
        "it could be anywhere from 0.65 to 1.05 m. Water 52 °F (11 °C), tea-coloured.",
        picture=river_picture(),
        usual="In this week of May the river has stood between 0.38 and 0.92 m in eight years "
        "out of ten; 0.52 m is the middle.",
    ),
    setup=SETUP,
    setup_says="",
    kit=KIT,
    cautions=CAUTIONS,
    emergency=EMERGENCY,
    sources=SOURCES,
    credits=("Weather: an invented run in the shape of an open weather service.",),
    guide=None,
)

FIRST = replace(
    FINAL,
    issue="first",
    number=1,
    replaces=None,
    reader="Thorbjørn Ødegård-Wąsowski",
    reader_line="One rod. Your first day with a double-handed rod.",
    title="Thursday 21 May, Birk Water",
    issued="Tue 12 May, 18:00",
    valid_until="the final issue on Wed 20 May",
    danger="A river is never the same twice. Nobody goes in before the guide has looked at it.",
    changes=(),
    wading="Bank only until your guide has looked at the water with you.",
    worth=replace(
        FINAL.worth,
        worth_going="Worth going: not known yet. It is nine days off; the final issue says.",
    ),
    river=replace(
        FINAL.river,
        sentence="What the river usually does in this week",
        detail="Nine days ahead nobody can say how high it will be.",
        picture=None,
    ),
    setup=None,
    setup_says="The set-up is chosen the evening before, from the river as it is then.",
    sources=(),
)

GUIDE = replace(
    FINAL,
    audience="guide",
    reader="Guide's copy",
    reader_line="Ailsa Marr and Thorbjørn Ødegård-Wąsowski; Tom Ferrier watches from the bank.",
    guide=GuideCopy(
        stops=tuple(
            PoolStop(
                person=person,
                pool=pool,
                spot=spot,
                stop_level=stop,
                decider=decider,
                chance=chance,
                text=text,
            )
            for person, pool, spot, stop, decider, chance, text in (
                (
                    *("Ailsa Marr", "Long Run", "head", "0.84 m", "knee, .27 of height"),
                    *("about 1 in 8", "no listed stop found; not checked at the water"),
                ),
                (
                    *("Ailsa Marr", "Long Run", "tail", "0.71 m", "depth × speed, adult 0.6"),
                    *("about 1 in 3", "at a limit at the likely level"),
                ),
                (
                    *("Ailsa Marr", "Ash Pot", "lip", "not known", "no sounding on file"),
                    *("not known", "not known: bank only"),
                ),
                (
                    *("Thorbjørn Ødegård-Wąsowski", "Long Run", "head", "1.02 m"),
                    *("mid-thigh, .42 of height", "about 1 in 20"),
                    "no listed stop found; not checked at the water",
                ),
                (
                    *("Thorbjørn Ødegård-Wąsowski", "Otter Stone", "tail", "0.66 m"),
                    *("rule of ten", "more likely than not (6 in 10)", "stop"),
                ),
            )
        ),
        alternatives=(
            "Intermediate tip, black and yellow size 8: if coloured or above 0.90 m on arrival.",
            "Floating line, 15 ft, grey and silver size 14: if below 0.45 m and clear.",
        ),
        overruled=(
            "Late May asks for a size 8; the river as it is (clearing, good height) for a 10.",
        ),
        tackle=(
            "2 rods, 13 ft, and a spare top section",
            "2 floating lines, 1 intermediate tip",
            "Nylon 15 lb and 10 lb, one spool each",
            "The six flies laid out, two of each",
            "First-aid kit, throw rope, spare staff",
        ),
        people=(
            "Ailsa Marr: novice, right hand up, 1.64 m, 61 kg. Nervous in moving water.",
            "Thorbjørn Ødegård-Wąsowski: used to wading, left hand up, 1.88 m, weight not known.",
            "Tom Ferrier: watches; not wading.",
        ),
        class_chances=(
            ("low, below 0.40 m", "less than 1 in 100"),
            ("good, 0.40 to 0.90 m", "about 7 in 8"),
            ("high, 0.90 to 1.10 m", "about 1 in 10"),
            ("big, 1.10 m and up", "about 1 in 30"),
        ),
    ),
)

BLEAK = replace(
    FINAL,
    reader="Ida",
    reader_line="One rod.",
    number=1,
    replaces=None,
    changes=(),
    danger="The river's level is not known. Bank only until your guide has looked.",
    wading="Bank only.",
    worth=Worth(
        worth_going="Worth going: not known.",
        permitted="Permitted: not known. Ask the fishery.",
        rules=(),
        who_decides=FINAL.worth.who_decides,
    ),
    river=River(
        gauge="Alder Bridge",
        sentence="Not known since Mon 11 May, 06:00",
        detail="The last reading is nine days old. Nothing is forecast from it.",
        picture=None,
        usual="",
    ),
    setup=None,
    setup_says="No flies are on file, so nothing is chosen here: your guide brings what is needed.",
    kit=Kit(bring=(), lent=(), buy=(), missing=("Your foot size.", "Your height and weight.")),
    emergency=replace(
        EMERGENCY,
        fishery_phone="",
        hospital="",
        no_signal_plan="",
        contact="",
        spots=(replace(MEETING, grid="", directions=""),),
    ),
    sources=(
        SourceRow(
            what="river level",
            value="not known",
            spread="",
            how_known="not known",
            at="Mon 11 May, 06:00",
            age="9 days",
            source="Alder Bridge gauge",
        ),
    ),
    credits=(),
)

STALE = replace(
    BLEAK,
    river=replace(
        BLEAK.river,
        sentence="Not known since Tue 19 May, 10:00",
        detail="The last reading is 33 hours old. Nothing is forecast from it.",
        picture=replace(
            river_picture(known_hours=0),
            measured=(*river_picture().measured[:40], (ISSUED.isoformat(), None)),
        ),
    ),
)

LONG = replace(
    FINAL,
    reader="Wilhelmina-Alexandrina Fotheringay-Bartholomew von und zu Łazarkiewicz-Østergård",
    title="Thursday 21 May, Upper and Middle Haugh of the Water of Birk, left bank",
    reader_line="Two rods sharing one place with a guest who watches, an adult and a junior who "
    "take turns, and a payer who does not come.",
    parts=tuple(
        replace(part, part=name, meets=meets, ends=ends)
        for part in FINAL.parts
        for name, meets, ends in (("morning", "08:30", "13:00"), ("night", "21:30", "02:00"))
    ),
)

SUNK = replace(
    FINAL,
    setup=replace(
        SETUP,
        sentence="Floating line with a fast tip, 1.07 m (3 ft 6 in) of leader, an orange tube.",
        leader=LeaderPicture(
            line_words="floating line",
            tip_words="fast tip, sinks 15 cm/s (6 in/s)",
            tip_m=3.0,
            sections=(("tippet", 1.07, "tippet fluorocarbon: 1.07 m (3 ft 6 in), 0.33 mm"),),
            leader_m=1.07,
            leader_words="1.07 m (3 ft 6 in)",
            dropper_from_line_m=None,
            dropper_words="",
            point_words="",
        ),
        flies=(BOX[2],),
    ),
)

EXAMPLES = {
    "final": FINAL,
    "first": FIRST,
    "guide": GUIDE,
    "bleak": BLEAK,
    "stale": STALE,
    "long": LONG,
    "sunk": SUNK,
}
