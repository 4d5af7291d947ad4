"""Laws that hold for every pack, over random rivers, people, boxes and soundings.

What the laws ask for is stated here anew, from the product's own sentences, and not taken from the
code that writes the packs.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from briefings.cautions.day import always
from briefings.groundwork import Groundwork
from briefings.letters import day_sheet_html, day_sheet_text
from briefings.pack.compose import compose
from briefings.pack.content import content_hash
from briefings.wading.judge import Sounding
from guiding.gauges.conditions.values import Conditions, Kind, Phase
from guiding.gauges.hydrology.record import ForecastRecord, Input
from guiding.tackle.setup import TackleBox
from tests.briefings.boxes import FULL_BOX
from tests.briefings.groundworks import hours_from, make_groundwork, make_outlook, make_person_row
from tests.factories import make_condition, make_conditions, make_light

PARTS = {"morning": 8, "afternoon": 13, "evening": 18, "night": 22}
CLASSES = ("low", "summer", "good", "high", "big", "over_bank")
CLASS_WORDS = re.compile(
    r"\blevel (low|summer|good|high|big|over)\b|summer level|over[_ ](the )?bank|\bclass\b",
    re.IGNORECASE,
)
MAYBE = st.none


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda value: round(value, 2))


@st.composite
def values(draw: Any, what: str, low: float, high: float) -> Any:
    """Return a condition: not known, or a number with or without a spread."""
    if draw(st.integers(0, 3)) == 0:
        return make_condition(what, None)
    middle = draw(numbers(low, high))
    wide = draw(st.sampled_from((0.0, 0.02, 0.1))) * (high - low)
    kind = draw(st.sampled_from((Kind.OBSERVED, Kind.FORECAST, Kind.INFERRED, Kind.GIVEN)))
    return make_condition(
        what,
        middle,
        low=max(low, middle - wide) if wide else None,
        high=min(high, middle + wide) if wide else None,
        kind=kind,
    )


@st.composite
def words(draw: Any, what: str, choices: tuple[str, ...]) -> Any:
    value = draw(st.none() | st.sampled_from(choices))
    kind = draw(st.sampled_from((Kind.OBSERVED, Kind.FORECAST, Kind.INFERRED)))
    return make_condition(what, value, **({} if value is None else {"kind": kind}))


@st.composite
def rivers(draw: Any, day: date, part: str) -> Conditions:
    classes = draw(st.just(()) | st.just((("good", 0.7), ("high", 0.2), ("big", 0.1))))
    starts_at = hours_from(day, PARTS[part])
    light = make_light(day)
    if draw(st.booleans()):
        light = make_light(day, sunset_at=None, civil_dusk_at=None, full_dark_at=None)
    return make_conditions(
        day=day,
        part=part,
        starts_at=starts_at,
        asked_at=hours_from(day, 6) - timedelta(hours=12),
        regime=draw(st.sampled_from(("natural", "natural", "natural", "regulated", "tidal"))),
        is_peaty=draw(st.booleans()),
        may_ice=draw(st.booleans()),
        class_chances=classes,
        rise_is_flagged=draw(st.sampled_from((False, False, False, True))),
        light=light,
        level=draw(values("level", -1, 4)),
        level_class=draw(words("level_class", CLASSES)),
        phase=draw(words("phase", tuple(str(phase) for phase in Phase if phase != "not_known"))),
        rise=draw(values("rise", -20, 40)),
        water=draw(values("water", -0.5, 25)),
        water_two_days_ago=draw(values("water_two_days_ago", -0.5, 25)),
        visibility=draw(values("visibility", 0, 300)),
        colour=draw(words("colour", ("clear", "tea-coloured", "coloured", "dirty"))),
        air=draw(values("air", -40, 45)),
        wind=draw(values("wind", 0, 40)),
        sky=draw(words("sky", ("bright", "cloud", "dark"))),
        says=draw(st.sampled_from(((), ("The last reading is 9 days old.",)))),
    )


@st.composite
def plain_rivers(draw: Any, day: date, part: str) -> Conditions:
    """Return an ordinary day, so that the laws meet leave to wade and not only its refusal."""
    level_m = draw(numbers(0.25, 0.6))
    return make_conditions(
        day=day,
        part=part,
        starts_at=hours_from(day, PARTS[part]),
        level=make_condition("level", level_m, low=level_m - 0.02, high=level_m + 0.02),
        level_class=draw(st.sampled_from(("low", "summer", "good"))),
        phase=draw(st.sampled_from(("settled", "fining_down"))),
        rise=draw(numbers(-3, 0)),
        water=draw(numbers(8, 17)),
        visibility=draw(numbers(100, 300)),
        class_chances=(("good", 1.0),),
    )


@st.composite
def forecasts(draw: Any, conditions: Conditions) -> ForecastRecord | None:
    if draw(st.booleans()):
        return None
    steps = 60
    start = draw(numbers(0.1, 2.0))
    paths = start + np.outer(np.linspace(-1, 1, 9), np.linspace(0, draw(numbers(0, 1)), steps))
    known = draw(st.sampled_from((0, 12, steps)))
    low, middle, high = np.quantile(paths, [0.1, 0.5, 0.9], axis=0)

    def told(row: Any) -> tuple[float | None, ...]:
        return tuple(round(float(v), 3) if n < known else None for n, v in enumerate(row))

    return ForecastRecord(
        issued_at=conditions.asked_at,
        model="drawn",
        step_minutes=60,
        times=tuple(conditions.asked_at + timedelta(hours=1 + n) for n in range(steps)),
        q10=told(low),
        q50=told(middle),
        q90=told(high),
        paths=np.where(np.arange(steps) < known, paths, np.nan),
        inputs=(Input(what="level", observed_at=None, age_hours=None, source="drawn"),),
    )


@st.composite
def people(draw: Any, *, is_plain: bool) -> list[tuple[Any, str]]:
    count = draw(st.integers(1, 3))
    party: list[tuple[Any, str]] = []
    if is_plain:
        level = draw(st.sampled_from(("novice", "used", "strong")))
        able = {"height_m": 1.8, "mass_kg": 80.0, "born_on": date(1980, 1, 1), "wading": level}
        return [(make_person_row(1, **able), "rod"), (make_person_row(2, **able), "guest")]
    for pk in range(1, count + 1):
        role = "rod" if pk == 1 else draw(st.sampled_from(("rod", "shares", "guest", "payer")))
        junior = draw(st.booleans())
        party.append(
            (
                make_person_row(
                    pk,
                    height_m=draw(MAYBE() | numbers(0.9, 2.1)),
                    mass_kg=draw(MAYBE() | numbers(18, 140)),
                    born_on=draw(MAYBE() | st.dates(date(1940, 1, 1), date(2018, 1, 1))),
                    is_junior=junior,
                    is_frail=draw(st.sampled_from((False, False, False, True))),
                    is_nervous=draw(st.booleans()),
                    wading=draw(st.sampled_from(("", "novice", "used", "strong"))),
                    casting=draw(st.sampled_from(("", "novice", "used", "strong"))),
                    hand=draw(st.sampled_from(("", "left", "right", "either"))),
                    foot_eu=draw(MAYBE() | numbers(30, 48)),
                    can_swim=draw(st.none() | st.booleans()),
                    units=draw(st.sampled_from(("metric", "imperial"))),
                    brings=draw(st.sampled_from(("", "own waders", "no boots\nglasses"))),
                ),
                role,
            )
        )
    return party


@st.composite
def boxes(draw: Any) -> TackleBox:
    """Return a part of the full box, often without flies, lines, tips or spools at all."""

    def some(owned: tuple[Any, ...]) -> tuple[Any, ...]:
        shown = draw(st.sampled_from(("all", "none", "some", "some")))
        if shown == "some":
            first, step = draw(st.integers(0, 5)), draw(st.integers(1, 7))
            return owned[first::step]
        return owned if shown == "all" else ()

    return TackleBox(
        flies=some(FULL_BOX.flies),
        lines=some(FULL_BOX.lines),
        tips=some(FULL_BOX.tips),
        materials=some(FULL_BOX.materials),
    )


@st.composite
def pools(draw: Any, day: date, *, is_plain: bool) -> list[list[Sounding]]:
    def sounding() -> Sounding:
        return Sounding(
            level_m=draw(numbers(0.0, 1.5)),
            depth_m=draw(numbers(0.1, 1.6)),
            speed_ms=draw(st.none() | numbers(0, 2.5)),
            spot=draw(st.sampled_from(("head", "tail"))),
            measured_on=day - timedelta(days=draw(st.sampled_from((20, 300, 1200)))),
        )

    if is_plain:
        day_before = day - timedelta(days=1)
        calm = {"level_m": 0.35, "spot": "head", "measured_on": day_before}
        depths = draw(st.lists(numbers(0.15, 0.8), min_size=1, max_size=3))
        return [[Sounding(depth_m=depth, speed_ms=0.4, **calm)] for depth in depths]
    return [
        [sounding() for _ in range(draw(st.integers(0, 2)))] for _ in range(draw(st.integers(0, 3)))
    ]


@st.composite
def trips(draw: Any) -> tuple[Groundwork, list[list[Sounding]]]:
    """Return one or two parts of a day, on a beat each."""
    day = date(2026, draw(st.integers(1, 12)), draw(st.integers(1, 28)))
    names = draw(st.sampled_from((("morning",), ("night",), ("evening",), ("morning", "evening"))))
    is_plain = draw(st.booleans())
    drawn = plain_rivers if is_plain else rivers
    conditions = [draw(drawn(day, name)) for name in names]
    soundings = draw(pools(day, is_plain=is_plain))
    ground = make_groundwork(
        [make_outlook(one, draw(forecasts(one))) for one in conditions],
        draw(people(is_plain=is_plain)),
        box=draw(boxes()),
        soundings=soundings,
        over_bank_on=draw(st.none() | st.just(day - timedelta(days=100))),
        fish=draw(st.sampled_from(("salmon", "sea_trout"))),
        issue=draw(st.sampled_from(("final", "final", "final", "first"))),
        power_lines=draw(st.sampled_from(((), ("at the head of Pool 1",)))),
    )
    return ground, soundings


# --- the laws -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """A content with what it was written from, and for whom."""

    ground: Groundwork
    member: Any  # None: the guide
    content: dict[str, Any]
    soundings: list[list[Sounding]]

    @property
    def rivers(self) -> list[Conditions]:
        return [part.advice.conditions for part in self.ground.parts]

    @property
    def cautions(self) -> str:
        return " ".join(said["text"] for said in self.content["cautions"])


def strings(value: Any, skipped: tuple[str, ...] = ()) -> Iterator[str]:
    """Yield every text of a content, keys left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            if key not in skipped:
                yield from strings(inner, skipped)
    elif isinstance(value, list):
        for inner in value:
            yield from strings(inner, skipped)


def least(condition: Any) -> float:
    """Return the low end of what a value may be; not known may be anything."""
    if condition.value is None:
        return float("-inf")
    return condition.low if condition.low is not None else condition.value


def most(condition: Any) -> float:
    if condition.value is None:
        return float("inf")
    return condition.high if condition.high is not None else condition.value


DEMANDED: dict[str, Callable[[Conditions], bool]] = {
    "The river can rise without warning": lambda c: True,
    "At the first thunder stop": lambda c: True,
    "Power lines: stay 30 m away": lambda c: True,
    "The bottom is slippery": lambda c: True,
    "never wade alone": lambda c: True,
    "Keep off redds": lambda c: True,
    "Cold water takes your breath": lambda c: least(c.water) < 15,
    "at 20 \N{DEGREE SIGN}C": lambda c: most(c.water) >= 18,
    "Stop fishing: at 20": lambda c: c.water.value is not None and most(c.water) >= 20,
    "Ice: stay off it": lambda c: c.may_ice and least(c.water) <= 0,
    "In frost no fish leaves the water": lambda c: least(c.air) <= 0,
    "Heat: drink": lambda c: most(c.air) >= 27,
    "Wind chill": lambda c: least(c.air) <= -10,
    "High water: stay out": lambda c: c.level_class.value in (None, "big", "over_bank"),
    "Water may be let go from the dam": lambda c: c.regime == "regulated",
    "The tide lifts this water": lambda c: c.regime == "tidal",
    "From dusk on wade only": lambda c: c.part == "night",
}


def carries_its_cautions(pack: Pack) -> None:
    texts = {said["text"] for said in pack.content["cautions"]}
    assert {reason.text for reason in always()} <= texts
    for words_of, asks in DEMANDED.items():
        if not pack.rivers or any(asks(river) for river in pack.rivers):
            regimes = {ground.regime for ground in pack.ground.grounds}
            if not pack.rivers and "dam" in words_of and "regulated" not in regimes:
                continue
            if not pack.rivers and "tide" in words_of and "tidal" not in regimes:
                continue
            if not pack.rivers and words_of.startswith("Stop fishing"):
                continue  # too early: measured water decides, and the caution says at what
            assert words_of in pack.cautions
    assert pack.content["danger"]
    assert all(said["label"] for said in pack.content["cautions"])


def never_says_safe(pack: Pack) -> None:
    for text in strings(pack.content, skipped=("source",)):
        assert not re.search(r"\b(un)?safe", text, re.IGNORECASE), text


def shows_a_client_no_guide_only_value(pack: Pack) -> None:
    if pack.member is None:
        assert pack.content["guide"] is not None
        return
    assert pack.content["guide"] is None
    for text in strings(pack.content):
        assert not CLASS_WORDS.search(text), text
        # a tippet is never given in millimetres alone
        assert not re.search(r"\b0\.\d\d mm(?! \()(?<!\()(?!\))", text), text
    names = {"low", "summer", "good", "high", "big", "over bank", "over the bank"}
    assert all(row["value"].lower() not in names for row in pack.content["sources"])
    short = " ".join(
        (pack.content["wading"], pack.content["danger"], pack.content["worth"]["worth_going"])
    )
    everything = " ".join(strings(pack.content))
    for part in pack.ground.parts:
        for row in part.wading:
            if row.wading.stop_level_m is not None:
                assert f"{row.wading.stop_level_m:.2f}" not in pack.content["wading"]
            for name in {criterion.name for criterion in row.wading.criteria}:
                assert name not in short or " " not in name
                assert len(name.split()) < 3 or name not in everything


def shows_nothing_unknown_as_yes(pack: Pack) -> None:
    known = [
        river
        for river in pack.rivers
        if river.level_class.value is not None
        and river.phase.value is not None
        and river.water.value is not None
        and (river.regime == "natural" or river.level_class.kind is Kind.OBSERVED)
    ]
    assert pack.content["worth"]["worth_going"].count("Worth going as") <= len(known)
    assert "ask the fishery" in pack.content["worth"]["permitted"]
    assert "yes" not in pack.content["worth"]["permitted"].lower()


def lets_nobody_wade_but_where_no_stop_was_found(pack: Pack) -> None:
    said = pack.content["wading"].lower()
    leave = "knee" in said or "guide decides" in said
    if pack.member is None or not leave:
        return
    mine = [
        (part, row)
        for part in pack.ground.parts
        for row in part.wading
        if row.person.pk == pack.member.person_id
    ]
    assert any(row.wading.verdict == "no_stop_found" for _, row in mine)
    assert any(
        river.level.value is not None
        and river.rise.value is not None
        and river.regime == "natural"
        and not river.rise_is_flagged
        and most(river.rise) < 5
        for river in pack.rivers
    )
    assert not pack.member.person.is_frail
    assert pack.member.role != "guest"
    if leave and any(row.wading.client_text == "bank only" for _, row in mine):
        assert "bank only" in said


def keeps_novices_at_the_knee(pack: Pack) -> None:
    if pack.member is None:
        return
    person = pack.member.person
    age = person.age_on(pack.ground.covered[0].date)
    product = (person.height_m or 0) * (person.mass_kg or 0)
    careful = (
        person.wading in ("", "novice")
        or person.is_nervous
        or product <= 50
        or (person.is_junior if age is None else age < 16)
        or age is None
    )
    if careful or pack.member.role == "guest":
        assert "guide decides" not in pack.content["wading"]
    if pack.member.role == "guest" and pack.ground.issue == "final":
        assert pack.content["wading"] == "Bank only."
    if pack.ground.issue == "first":
        assert pack.content["wading"] == "Bank only until your guide has told you at the water."


def lets_nobody_wade_deeper_than_their_share_of_height(pack: Pack) -> None:
    """Depth = measured + change of level, at the high end; knee, mid-thigh or hip of the height."""
    said = pack.content["wading"].lower()
    if pack.member is None or not ("knee" in said or "guide decides" in said):
        return
    person = pack.member.person
    share = 0.27 if "knee" in said else {"used": 0.42, "strong": 0.50}[person.wading]
    depths = []
    for river in pack.rivers:
        for rows in pack.soundings:
            for spot in {one.spot for one in rows} if most(river.level) < 20 else ():
                here = [one for one in rows if one.spot == spot]
                near = min(here, key=lambda s: (abs(s.level_m - most(river.level)), s.level_m))
                depths.append(near.depth_m + most(river.level) - near.level_m)
    assert min(depths) < share * person.height_m


def round_trips(pack: Pack) -> None:
    assert json.loads(json.dumps(pack.content, allow_nan=False)) == pack.content
    person = pack.member.person if pack.member else None
    again = compose(pack.ground, person).as_json()
    assert content_hash(again) == content_hash(pack.content)


def mails_the_whole_day_sheet(pack: Pack) -> None:
    if pack.member is None:
        return
    content = pack.content
    text, html = day_sheet_text(content), day_sheet_html(content)
    unescaped = html.replace("&#x27;", "'").replace("&amp;", "&").replace("&quot;", '"')
    for letter in (text, unescaped):
        assert content["danger"] in letter
        assert content["wading"] in letter
        for said in content["cautions"]:
            assert said["text"] in letter
        for part in content["parts"]:
            for key in ("date_words", "part", "beat", "meets", "ends"):
                assert part[key] in letter
            assert part["meeting_point"]["name"] in letter
            assert part["meeting_point"]["grid"] in letter
        for key in ("number", "guide_name", "guide_phone", "no_signal_plan"):
            assert content["emergency"][key] in letter
        assert not CLASS_WORDS.search(letter.replace('class="', ""))


LAWS = (
    carries_its_cautions,
    never_says_safe,
    shows_a_client_no_guide_only_value,
    shows_nothing_unknown_as_yes,
    lets_nobody_wade_but_where_no_stop_was_found,
    keeps_novices_at_the_knee,
    lets_nobody_wade_deeper_than_their_share_of_height,
    round_trips,
    mails_the_whole_day_sheet,
)


def packs_of(ground: Groundwork, soundings: list[list[Sounding]]) -> Iterator[Pack]:
    for member in (*ground.trip.coming, None):
        content = compose(ground, member.person if member else None)
        yield Pack(ground=ground, member=member, content=content.as_json(), soundings=soundings)


def answers_in(pack: Pack) -> Iterator[str]:
    """Yield what tells this pack from others, to see that all kinds were met."""
    going, wading = pack.content["worth"]["worth_going"], pack.content["wading"].lower()
    yield from (
        word for word in ("Worth going as", "Not worth going", "is not known.") if word in going
    )
    yield from (word for word in ("knee", "guide decides", "bank only") if word in wading)
    yield "set-up" if pack.content["setup"] else "no set-up"
    if pack.content["later_setups"]:
        yield "two set-ups"


# a whole trip is a large thing to print; where a law is broken its own words are what is wanted
@pytest.mark.filterwarnings("ignore::hypothesis.errors.HypothesisWarning")
def test_no_pack_breaks_a_law(rounds: Any) -> None:
    seen: set[str] = set()

    @settings(
        max_examples=rounds(500, 10_000),
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(trips())
    def law(trip: tuple[Groundwork, list[list[Sounding]]]) -> None:
        for pack in packs_of(*trip):
            for holds in LAWS:
                holds(pack)
            seen.update(answers_in(pack))

    law()

    assert seen >= {
        "Worth going as",
        "Not worth going",
        "is not known.",
        "knee",
        "guide decides",
        "bank only",
    }
    assert seen >= {"set-up", "no set-up", "two set-ups"}
