"""What can hurt people or fish in these conditions. Nothing here can be switched off.

What is not known keeps its caution standing: a caution is dropped only where a known value says
that the danger is not there, and most are never dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from briefings.cautions import river as caution_river
from briefings.cautions import weather as caution_weather
from briefings.cautions.shape import Caution, Ground
from guiding.gauges.conditions.values import Conditions
from guiding.sources import COMMON_PRACTICE, Label, Reason, Source

__all__ = ["Danger", "Ground", "always", "danger_line", "danger_line_over", "for_day", "for_parts"]

Danger = tuple[Conditions | None, Ground]  # of one part of the day

FISH_IN_AIR = Source(
    label=Label.PUBLISHED, title="Natural Resources Wales, briefing on angling in warm water"
)
CHECK_CLEAN_DRY = Source(
    label=Label.PUBLISHED,
    title="Check, Clean, Dry: Anderson et al. 2015, Biological Invasions,"
    " doi 10.1007/s10530-015-0875-6",
)
LINE_SIGNS = 110  # two short dangers: about two lines of the black bar
BANK_ONLY = "bank only"
SPAWNING_MONTHS = (10, 11, 12, 1, 2, 3, 4, 5)


def always() -> tuple[Reason, ...]:
    """Return the cautions that stand whatever the river does."""
    return tuple(caution.reason for caution in _always())


def for_day(conditions: Conditions | None, ground: Ground) -> tuple[Reason, ...]:
    """Return every caution for the day, the most urgent first, `always()` included.

    `conditions` None: the day is too far off to know, so each caution that depends on them stands.
    """
    return tuple(caution.reason for caution in _by_urgency(conditions, ground))


def for_parts(parts: Sequence[Danger]) -> tuple[Reason, ...]:
    """Return the cautions of several parts of a day, each once, as its worst part asks for it."""
    return tuple(caution.reason for caution in _over(parts))


def danger_line(conditions: Conditions | None, ground: Ground, wading_words: str) -> str:
    """Return the one line for the black bar of the day sheet: the worst first, then the wading."""
    return danger_line_over([(conditions, ground)], wading_words)


def danger_line_over(parts: Sequence[Danger], wading_words: str) -> str:
    """Return the one line for several parts of a day: the worst of all of them first.

    A second danger joins it while the line stays one that is read at a glance. The wading words
    join it where they are bank only throughout; otherwise they stand under their own heading, and
    every danger stands among the cautions.
    """
    first, second = (" ".join(c.short.split()).rstrip(".") for c in _over(parts)[:2])
    words = " ".join(wading_words.split()).rstrip(".")
    said = [first]
    if len(f"{first}. {second}.") <= LINE_SIGNS:
        said.append(second)
    if words.casefold().startswith(BANK_ONLY) and not words.casefold().startswith(
        f"{BANK_ONLY} in"
    ):
        said.append(words[0].upper() + words[1:])
    return " ".join(f"{sentence}." for sentence in said)


def _over(parts: Sequence[Danger]) -> list[Caution]:
    """Return each text once, the most urgent first; the more urgent part speaks for it."""
    found = [caution for conditions, ground in parts for caution in _by_urgency(conditions, ground)]
    worst: dict[str, Caution] = {}
    for caution in sorted(found, key=lambda caution: caution.rank):
        worst.setdefault(caution.reason.text, caution)
    return list(worst.values())


def _by_urgency(conditions: Conditions | None, ground: Ground) -> list[Caution]:
    found: Iterable[Caution] = (
        *caution_river.cautions(conditions, ground),
        *caution_weather.cautions(conditions, ground),
        *_place(conditions, ground),
        *_always(),
    )
    return sorted(found, key=lambda caution: caution.rank)


def _place(conditions: Conditions | None, ground: Ground) -> Iterator[Caution]:
    for hazard in ground.hazards:
        yield Caution.of(
            22,
            hazard.rstrip("."),
            f"On this beat: {hazard.rstrip('.')}.",
            "the guide's notes on this beat",
            COMMON_PRACTICE,
        )
    bottoms = ", ".join(ground.bottoms)
    yield Caution.of(
        48,
        "The bottom is slippery",
        "The bottom is slippery: shuffle, do not step; a staff is a third leg; turn back while it "
        "is still easy.",
        f"the bottom here is {bottoms}" if bottoms else "the bottom here is not on file",
        COMMON_PRACTICE,
    )
    yield _lone_working(ground.people_on_the_bank)
    in_season = conditions is None or conditions.day.month in SPAWNING_MONTHS
    yield Caution.of(
        58 if in_season else 64,
        "Keep off redds",
        "Keep off redds: fish lay their eggs in clean, pale patches of gravel. Walk round them and "
        "leave ripe and spawning fish alone.",
        "eggs and fry lie in the gravel from autumn to late spring"
        if in_season
        else "pale gravel may be a nest at any season",
        COMMON_PRACTICE,
    )


def _lone_working(people: int) -> Caution:
    few = people <= 2
    return Caution.of(
        44 if few else 60,
        "Few on the bank: stay in sight of each other",
        "Stay in sight of each other and never wade alone. Somebody off the river knows where we "
        "are and when we end. If the guide is hurt: out of the water, then ring for help.",
        f"{people} on the bank with the guide" if people > 0 else "how many come is not known",
        COMMON_PRACTICE,
    )


def _always() -> Iterator[Caution]:
    yield Caution.of(
        46,
        "Belt done up",
        "A wading belt, done up, whenever waders are worn.",
        "waders without a belt fill in a fall",
        COMMON_PRACTICE,
    )
    yield Caution.of(
        47,
        "Only with the guide",
        "Go into the water only with your guide, and only where your guide says.",
        "a calculation cannot see the bottom",
        COMMON_PRACTICE,
    )
    yield Caution.of(
        50,
        "Glasses on",
        "Glasses or other eye protection whenever a line is in the air, yours or another's.",
        "a hook travels with the line",
        COMMON_PRACTICE,
    )
    yield Caution.of(
        51,
        "Hat on",
        "A hat with a brim, all day.",
        "it takes the hook that was meant for the water, and the sun",
        COMMON_PRACTICE,
    )
    yield Caution.of(
        52,
        "Barbs crushed",
        "Barbs crushed or barbless on every hook.",
        "they leave people and fish more easily",
        COMMON_PRACTICE,
    )
    yield Caution.of(
        54,
        "Keep fish in the water",
        "Keep a fish in the water: wet hands, a knotless net, no weighing; out of it for less "
        "than 20 seconds, better not at all.",
        "every second in air costs a released fish",
        FISH_IN_AIR,
    )
    yield Caution.of(
        66,
        "Check, clean, dry",
        "Biosecurity: check, clean and dry everything before and after. Water at 45 "
        "\N{DEGREE SIGN}C for 15 minutes, then dry as long as you can. Tell us of kit that "
        "was abroad in the last 30 days.",
        "kit carries animals, plants and disease from river to river",
        CHECK_CLEAN_DRY,
    )
    yield Caution.of(
        70,
        "The fishery and your guide decide",
        "The fishery's own rules, local regulations and the one who stands on the bank come "
        "before anything said here.",
        "this was worked out away from the water",
        COMMON_PRACTICE,
    )
