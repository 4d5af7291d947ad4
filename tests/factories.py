"""Builders of valid values and rows: `make_x(**changes)`."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from guiding.gauges.conditions import Condition, Conditions, Kind, Light

# --- conditions -----------------------------------------------------------------------------------

CONDITION_UNITS = {
    "level": "m",
    "level_class": "",
    "phase": "",
    "rise": "cm/h",
    "water": "degrees C",
    "water_two_days_ago": "degrees C",
    "visibility": "cm",
    "colour": "",
    "air": "degrees C",
    "wind": "m/s",
    "wind_from": "degrees",
    "sky": "",
    "rain": "mm",
}
SETTLED_SUMMER = {
    "level": 0.42,
    "level_class": "summer",
    "phase": "settled",
    "rise": 0.0,
    "water": 14.0,
    "water_two_days_ago": 14.0,
    "visibility": 150.0,
    "colour": "clear",
    "air": 16.0,
    "wind": 3.0,
    "wind_from": 240.0,
    "sky": "cloud",
    "rain": 0.0,
}


def make_condition(what: str, value: Any, **changes: Any) -> Condition:
    """Return one given value; None makes it not known."""
    if isinstance(value, Condition):
        return value
    number = float(value) if isinstance(value, float | int) else None
    fields: dict[str, Any] = {
        "what": what.replace("_", " "),
        "value": value,
        "low": number,
        "high": number,
        "unit": CONDITION_UNITS.get(what, ""),
        "kind": Kind.NOT_KNOWN if value is None else Kind.GIVEN,
        "source": "" if value is None else "given",
    }
    return Condition(**{**fields, **changes})


def make_light(day: date = date(2026, 6, 24), **changes: Any) -> Light:
    """Return a plain day: up at 04:00, down at 20:30, civil dusk 21:10, full dark 22:30 UTC."""

    def at(hour: int, minute: int) -> datetime:
        return datetime.combine(day, time(hour, minute), tzinfo=UTC)

    light = Light(
        sunrise_at=at(4, 0),
        sunset_at=at(20, 30),
        civil_dawn_at=at(3, 20),
        civil_dusk_at=at(21, 10),
        full_dark_at=at(22, 30),
        moon_lit_share=0.5,
        moon_words="half moon",
    )
    return replace(light, **changes)


def make_conditions(**changes: Any) -> Conditions:
    """Return a settled summer morning; plain values become conditions, None is not known.

    `make_conditions(day=date(2026, 4, 14), water=10, level_class="low", sky=None)`. Any field of
    Conditions may be changed; `light` may be a Light, or is made for the day.
    """
    day = changes.pop("day", date(2026, 6, 24))
    starts_at = changes.pop("starts_at", datetime.combine(day, time(8, 0), tzinfo=UTC))
    values = {
        **SETTLED_SUMMER,
        **{k: changes.pop(k) for k in tuple(changes) if k in SETTLED_SUMMER},
    }
    fields: dict[str, Any] = {
        "day": day,
        "part": "morning",
        "starts_at": starts_at,
        "ends_at": starts_at + timedelta(hours=4),
        "asked_at": starts_at - timedelta(hours=13),
        "regime": "natural",
        "is_peaty": False,
        "may_ice": False,
        "class_chances": (),
        "rise_is_flagged": False,
        "light": make_light(day),
        **{what: make_condition(what, value) for what, value in values.items()},
    }
    return Conditions(**{**fields, **changes})
