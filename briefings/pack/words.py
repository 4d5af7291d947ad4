"""Moments, ages, chances and conditions in plain words and in the reader's units."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.values import Condition, Kind
from guiding.gauges.outlook_words import chance_words as share_words
from guiding.sun import Light
from guiding.units import degrees_to_compass, level_words, temperature_words

NAMES = {
    "level": "level at the gauge",
    "level class": "height",
    "phase": "what the river is doing",
    "rise": "fastest rise",
    "water": "water temperature",
    "water two days ago": "water two days before",
    "visibility": "visibility",
    "colour": "colour",
    "air": "air temperature",
    "wind": "wind",
    "sky": "sky",
    "rain": "rain in the fishing hours",
}
GOING = {
    "yes": "Worth going as the river looks now.",
    "no": "Not worth going as the river looks now.",
    "not_known": "Whether it is worth going is not known.",
}
HOW_KNOWN = {
    Kind.OBSERVED: "measured",
    Kind.FORECAST: "forecast",
    Kind.INFERRED: "inferred",
    Kind.GIVEN: "given by the guide",
    Kind.NOT_KNOWN: "not known",
}


def day_words(day: date) -> str:
    """Return "Thursday 26 November"."""
    return f"{day:%A} {day.day} {day:%B}"


def short_moment_words(moment: datetime, zone: ZoneInfo) -> str:
    """Return "Thu 26 Nov, 18:40" in the river's zone."""
    here = moment.astimezone(zone)
    return f"{here:%a} {here.day} {here:%b}, {here:%H:%M}"


def clock_words(moment: datetime, zone: ZoneInfo) -> str:
    """Return "18:40" in the river's zone."""
    return f"{moment.astimezone(zone):%H:%M}"


def days_words(first: date, last: date) -> str:
    """Return one day, or the span of several."""
    if first == last:
        return day_words(first)
    return f"{day_words(first)} to {day_words(last)}"


def chance_words(chance: float | None) -> str:
    """Return a chance in words with a number in tens; not known is said so."""
    return "not known" if chance is None else share_words(chance)


def opened(text: str) -> str:
    """Return a text that opens with a capital; the rest as it is."""
    return text[:1].upper() + text[1:]


def listed(names: Sequence[str]) -> str:
    """Return "Ada", "Ada and Tom", "Ada, Tom and Ida"."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _plain(value: str) -> str:
    return value.replace("_", " ")


def number_words(value: float, unit: str, units: str) -> str:
    """Return a number with its unit, rounded to what it can bear, in the reader's units."""
    if unit == "m":
        return level_words(value)
    if unit == "degrees C":
        return temperature_words(value, units)
    if unit == "cm":
        inches = f"{value / 2.54:.0f} in"
        return f"{inches} ({value:.0f} cm)" if units == "imperial" else f"{value:.0f} cm ({inches})"
    if unit == "m/s":
        miles = f"{value / 0.44704:.0f} mph"
        return f"{miles} ({value:.0f} m/s)" if units == "imperial" else f"{value:.0f} m/s ({miles})"
    if unit in {"cm/h", "cm an hour"}:
        return f"{round(value)} cm an hour"
    if unit in {"degrees", "degree"}:
        return degrees_to_compass(value)
    if unit == "mm":  # of rain
        return f"{value:.0f} mm" if value >= 1 or value == 0 else "under 1 mm"
    return f"{value:g} {unit}".strip()


def value_words(condition: Condition, units: str) -> str:
    """Return a condition's value; what is not known is said so."""
    if condition.value is None:
        return "not known"
    if isinstance(condition.value, str):
        return _plain(condition.value)
    return number_words(float(condition.value), condition.unit, units)


def spread_words(condition: Condition, units: str) -> str:
    """Return "... to ...", or nothing where the spread is not known or was not asked for."""
    if condition.low is None or condition.high is None or condition.low == condition.high:
        return ""
    low = number_words(condition.low, condition.unit, units)
    high = number_words(condition.high, condition.unit, units)
    # in the reader's own unit alone: the one in brackets may round apart
    is_narrow = low.split(" (")[0] == high.split(" (")[0]
    return "within the rounding" if is_narrow else f"{low} to {high}"


def light_words(light: Light, zone: ZoneInfo) -> str:
    """Return the light of a day by the river's clock; what does not come is left to `says`."""
    named = (
        ("sunrise", light.sunrise_at),
        ("sunset", light.sunset_at),
        ("dusk", light.civil_dusk_at),
        ("full dark", light.full_dark_at),
    )
    times = ", ".join(f"{name} {clock_words(at, zone)}" for name, at in named if at)
    return " ".join((f"{opened(times)}." if times else "", *light.says())).strip()
