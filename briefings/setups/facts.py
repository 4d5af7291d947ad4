"""What the set-up rules may look at, read from the conditions and worded for the reasons.

A fact that is not known is absent, so a condition on it never holds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.gauges.conditions.colour import NOT_SEEN, was_seen
from guiding.gauges.conditions.values import Condition, Conditions, Kind
from guiding.gauges.outlook_words import chance_words

MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
CLASS_WORDS = {"over_bank": "over the bank"}

# common practice, no source: what a guide calls clear and dirty where visibility was measured
CLEAR_FROM_CM = 75.0
DIRTY_BELOW_CM = 30.0
# common practice, no source: hours with less of full dark in them are no hours of the dark
LEAST_DARK = timedelta(minutes=30)
STAINED_BELOW_CM = 100.0  # peat water in which one sees further shows colours as they are


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One thing that is known, and how it is said in a reason."""

    value: float | str | bool
    words: str


Facts = Mapping[str, Fact]


def kind_words(kind: Kind) -> str:
    """Return how a value is known, in words."""
    return str(kind).replace("_", " ")


def how_known_words(condition: Condition) -> str:
    """Return how a condition is known, in words; water that nobody looked at is called that."""
    words = kind_words(condition.kind)
    is_unseen = condition.kind is Kind.INFERRED and NOT_SEEN in condition.source
    return f"{words}, {NOT_SEEN}" if is_unseen else words


def rounded(number: float, digits: int = 1) -> str:
    """Return a number with no more decimals than it can bear, and never "-0"."""
    return f"{round(number, digits) + 0.0:g}"


def facts_from(
    conditions: Conditions,
    *,
    fish: str,
    casting: str | None,
    rods: int,
    passes: int = 0,
) -> dict[str, Fact]:
    """Return every known fact. `passes`: how often the pool was fished without response."""
    found: dict[str, Fact] = {
        "month": Fact(value=conditions.day.month, words=MONTHS[conditions.day.month - 1]),
        "part": Fact(value=conditions.part, words=conditions.part),
        "regime": Fact(value=conditions.regime, words=f"{conditions.regime} water"),
        "fish": Fact(value=fish, words=fish.replace("_", " ")),
        "rods": Fact(value=rods, words=f"{rods} rod{'' if rods == 1 else 's'}"),
        "passes": Fact(value=passes, words=_passes_words(passes)),
    }
    is_known = conditions.water.number is not None
    found["water_known"] = Fact(
        value=is_known,
        words=f"the water's temperature is {'' if is_known else 'not '}known",
    )
    if casting is not None:
        found["casting"] = Fact(value=casting, words=f"{casting} caster")
    found |= _numbers(conditions)
    found |= _words(conditions)
    found |= _temperature_changes(conditions)
    found |= _clarity(conditions)
    found |= _darkness(conditions)
    return found


def _passes_words(passes: int) -> str:
    return "a pool not fished yet" if passes == 0 else "a pool fished without response"


def _numbers(conditions: Conditions) -> dict[str, Fact]:
    # the record's rise belongs to the record's river, not to one that somebody gave
    is_given_river = conditions.rise.kind is not Kind.GIVEN and Kind.GIVEN in (
        conditions.level.kind,
        conditions.phase.kind,
    )
    sources: tuple[tuple[str, Condition, str, str, int], ...] = (
        ("level_m", conditions.level, "level", "m", 2),
        ("water_c", conditions.water, "water", "\N{DEGREE SIGN}C", 1),
        ("air_c", conditions.air, "air", "\N{DEGREE SIGN}C", 1),
        ("wind_ms", conditions.wind, "wind", "m/s", 1),
        ("visibility_cm", conditions.visibility, "visibility", "cm", 0),
        ("rise_cm_h", conditions.rise, "rise", "cm an hour", 1),
        ("rain_mm", conditions.rain, "rain", "mm", 1),
    )
    return {
        name: Fact(
            value=condition.number,
            words=f"{word} {rounded(condition.number, digits)} {unit}"
            f" ({how_known_words(condition)})",
        )
        for name, condition, word, unit, digits in sources
        if condition.number is not None and not (name == "rise_cm_h" and is_given_river)
    }


def _words(conditions: Conditions) -> dict[str, Fact]:
    sources: tuple[tuple[str, Condition, str], ...] = (
        ("level_class", conditions.level_class, "level"),
        ("phase", conditions.phase, "phase"),
        ("sky", conditions.sky, "sky"),
        ("colour", conditions.colour, "water"),
    )
    return {
        name: Fact(
            value=condition.value,
            words=f"{word} {CLASS_WORDS.get(condition.value, condition.value.replace('_', ' '))}"
            f" ({how_known_words(condition)}{_how_likely(conditions) if name == 'phase' else ''})",
        )
        for name, condition, word in sources
        if isinstance(condition.value, str) and condition.value != "not_known"
    }


def _how_likely(conditions: Conditions) -> str:
    """Return how many of a forecast's paths are in the phase that is told."""
    if conditions.phase.kind is not Kind.FORECAST:
        return ""
    share = dict(conditions.phase_chances).get(str(conditions.phase.value))
    return ", how likely is not known" if share is None else f", {chance_words(share)}"


def _temperature_changes(conditions: Conditions) -> dict[str, Fact]:
    water, before, air = (
        conditions.water.number,
        conditions.water_two_days_ago.number,
        conditions.air.number,
    )
    found = {}
    # rounded: 9.3 - 5.3 must count as a fall of 4
    # a typed-in temperature is not compared with another day of the record
    is_one_source = (conditions.water.kind is Kind.GIVEN) == (
        conditions.water_two_days_ago.kind is Kind.GIVEN
    )
    if water is not None and before is not None and is_one_source:
        drop = round(before - water, 6)
        way = "down" if drop >= 0 else "up"
        found["water_drop_c"] = Fact(
            value=drop,
            words=f"water {way} {rounded(abs(drop))} \N{DEGREE SIGN}C in two days"
            f" ({kind_words(conditions.water.kind)})",
        )
    if water is not None and air is not None:
        gap = round(air - water, 6)
        found["air_minus_water_c"] = Fact(
            value=gap,
            words=f"air {rounded(air)} \N{DEGREE SIGN}C ({kind_words(conditions.air.kind)})"
            f" over water {rounded(water)} \N{DEGREE SIGN}C ({kind_words(conditions.water.kind)})",
        )
    return found


def _clarity(conditions: Conditions) -> dict[str, Fact]:
    """Visibility decides where it was seen; the colour's name where it was not.

    A visibility that is inferred has gone into the name, and the name is the more careful.
    """
    visibility, colour = conditions.visibility, conditions.colour
    found = {}
    if visibility.number is not None and was_seen(visibility):
        if visibility.number >= CLEAR_FROM_CM:
            value = "clear"
        else:
            value = "dirty" if visibility.number < DIRTY_BELOW_CM else "coloured"
        seen = f"visibility {rounded(visibility.number, 0)} cm ({how_known_words(visibility)})"
        words = f"{value}, {seen}"
        found["clarity"] = Fact(value=value, words=words)
    elif isinstance(colour.value, str):
        value = "stained" if colour.value == "tea-coloured" else colour.value
        words = f"water {colour.value} ({how_known_words(colour)})"
        found["clarity"] = Fact(value=value, words=words)
    found |= _peat_stain(conditions, found)
    return found


def _peat_stain(conditions: Conditions, found: Mapping[str, Fact]) -> dict[str, Fact]:
    visibility, colour = conditions.visibility, conditions.colour
    is_peaty = conditions.is_peaty or colour.value == "tea-coloured"
    if "clarity" not in found:
        return {}
    if visibility.number is not None and was_seen(visibility):
        is_stained = is_peaty and visibility.number < STAINED_BELOW_CM
    else:
        is_stained = is_peaty and found["clarity"].value != "clear"
    words = ("peat water, " if is_stained else "") + found["clarity"].words
    return {"peat_stained": Fact(value=is_stained, words=words)}


def _darkness(conditions: Conditions) -> dict[str, Fact]:
    """Night runs from civil dusk; dark is full dark, or the darkest hours where it never comes."""
    light, sky = conditions.light, conditions.sky
    middle = conditions.starts_at + (conditions.ends_at - conditions.starts_at) / 2
    after_dusk = light.civil_dusk_at is not None and middle >= light.civil_dusk_at
    before_dawn = light.civil_dawn_at is not None and middle < light.civil_dawn_at
    # a sky inferred to be dark only says that the sun is well down, not that it is full dark
    is_given_dark = sky.value == "dark" and sky.kind is Kind.GIVEN
    dark_comes = light.full_dark_at is not None or is_given_dark
    dark_for = _dark_for(conditions.starts_at, conditions.ends_at, light.full_dark_at)
    if light.full_dark_at is None:
        is_dark = is_given_dark or after_dusk
    else:
        reaches_into_it = conditions.part == "night" or middle >= light.full_dark_at
        is_dark = is_given_dark or (reaches_into_it and dark_for >= LEAST_DARK)
    is_night = (
        is_dark or after_dusk or before_dawn or conditions.part == "night" or sky.value == "dark"
    )
    dark_words = "after full dark" if dark_comes else "the darkest hours"
    comes_words = (
        "full dark comes this night" if dark_comes else "full dark does not come this night"
    )
    found = {
        "night": Fact(value=is_night, words="night" if is_night else "daylight"),
        "dark": Fact(value=is_dark, words=dark_words if is_dark else "before full dark"),
        "dark_comes": Fact(value=dark_comes, words=comes_words),
    }
    if light.full_dark_at is not None and dark_for < LEAST_DARK and not is_given_dark:
        del found["dark_comes"]  # nobody is told to wait for what these hours hardly see
    return found


def _dark_for(starts_at: datetime, ends_at: datetime, dark_at: datetime | None) -> timedelta:
    """Return how much of the hours lies after full dark, nothing where it does not come."""
    if dark_at is None:
        return timedelta(0)
    return max(ends_at - max(starts_at, dark_at), timedelta(0))
