"""MET Norway's Locationforecast 2.0, compact: its names and units become ours here.

Published source: MET Norway, Locationforecast 2.0 documentation (GeoJSON, moments in UTC).
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

SOURCE = "MET Norway, Locationforecast 2.0"
CREDIT = "Weather forecast from MET Norway, licence NLOD 2.0 and CC BY 4.0"
MOST_STEPS = 2_000
HOUR = timedelta(hours=1)
SIX_HOURS = timedelta(hours=6)


class ShapeChanged(ValueError):
    """The document is not in the known shape; the message names the key that was missed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Value:
    """One value we read: their key and unit, our name and what it can be."""

    key: str
    unit: str
    ours: str
    low: float
    high: float


INSTANT = (
    _Value(key="air_temperature", unit="celsius", ours="air_c", low=-40, high=45),
    _Value(key="wind_speed", unit="m/s", ours="wind_ms", low=0, high=60),
    _Value(key="wind_from_direction", unit="degrees", ours="wind_from_deg", low=0, high=360),
    _Value(key="cloud_area_fraction", unit="%", ours="cloud_percent", low=0, high=100),
)
RAIN = _Value(key="precipitation_amount", unit="mm", ours="rain_mm", low=0, high=1830)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherStep:
    """One step of a run, aware UTC; None: the run does not say, which is never nought."""

    starts_at: datetime
    ends_at: datetime
    rain_mm: float | None
    air_c: float | None
    wind_ms: float | None
    wind_from_deg: float | None
    cloud_percent: float | None

    def as_json(self) -> dict[str, Any]:
        """Return the seven keys that a kept run carries."""
        return {
            "starts_at": self.starts_at.isoformat(),
            "ends_at": self.ends_at.isoformat(),
            "rain_mm": self.rain_mm,
            "air_c": self.air_c,
            "wind_ms": self.wind_ms,
            "wind_from_deg": self.wind_from_deg,
            "cloud_percent": self.cloud_percent,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherRunRead:
    """A run as it was issued, in our names and units, with the document it came in."""

    issued_at: datetime
    latitude: float
    longitude: float
    steps: tuple[WeatherStep, ...]
    raw: dict[str, Any]


def parse_document(data: bytes) -> dict[str, Any]:
    """Return the JSON object in these bytes; ShapeChanged where there is none."""
    try:
        document = json.loads(
            data.decode("utf-8-sig"), parse_constant=_number_text, parse_float=_number_text
        )
        # a NUL or half a letter is JSON, but no database keeps it
        if "\\u0000" in json.dumps(document, ensure_ascii=False).encode().decode():
            raise ValueError("it holds a NUL")
    except (UnicodeDecodeError, RecursionError, ValueError) as error:
        raise ShapeChanged(f"the file is not JSON: {error}") from error
    if not isinstance(document, dict):
        raise ShapeChanged("the file is JSON, but not an object with properties")
    return document


def read_run(document: dict[str, Any]) -> WeatherRunRead:
    """Read a parsed document.

    Each hour that carries `next_1_hours` is a step of an hour; where steps are six hours apart the
    rain comes from `next_6_hours`. Never both: every hourly step carries the six hours too.
    """
    properties = _object(document, "properties", "the document")
    meta = _object(properties, "meta", "properties")
    issued_at = _moment(meta, "updated_at", "properties.meta")
    longitude, latitude = _point(document)
    series = properties.get("timeseries")
    if not isinstance(series, list) or not series:
        raise ShapeChanged("properties.timeseries is missing or empty")
    if len(series) > MOST_STEPS:
        raise ShapeChanged(f"properties.timeseries has {len(series)} steps; {MOST_STEPS} at most")
    places = [f"timeseries {number}" for number in range(1, len(series) + 1)]
    for entry, place in zip(series, places, strict=True):
        if not isinstance(entry, dict):
            raise ShapeChanged(f"{place} is not an object")
    times = [_moment(entry, "time", place) for entry, place in zip(series, places, strict=True)]
    steps = tuple(
        _step(entry, place, times, number)
        for number, (entry, place) in enumerate(zip(series, places, strict=True))
    )
    _check_units(_object(meta, "units", "properties.meta"), steps)
    return WeatherRunRead(
        issued_at=issued_at, latitude=latitude, longitude=longitude, steps=steps, raw=document
    )


def _step(entry: dict[str, Any], place: str, times: Sequence[datetime], number: int) -> WeatherStep:
    data = _object(entry, "data", place)
    instant = _object(data, "instant", f"{place}.data")
    details = _object(instant, "details", f"{place}.data.instant")
    starts_at = times[number]
    gap = times[number + 1] - starts_at if number + 1 < len(times) else None
    if gap is not None and gap <= timedelta(0):
        raise ShapeChanged(f"timeseries {number + 2} is not later than the one before it")
    length, rain_key = _length(data, gap, starts_at - times[number - 1] if number else HOUR)
    rain_mm = None
    if rain_key:
        carried = _object(data, rain_key, f"{place}.data")
        rain = _object(carried, "details", f"{place}.data.{rain_key}")
        rain_mm = _number(rain, RAIN, f"{place}.data.{rain_key}.details")
    values = {
        value.ours: _number(details, value, f"{place}.data.instant.details") for value in INSTANT
    }
    return WeatherStep(starts_at=starts_at, ends_at=starts_at + length, rain_mm=rain_mm, **values)


def _length(
    data: dict[str, Any], gap: timedelta | None, before: timedelta
) -> tuple[timedelta, str]:
    """Return how long a step is, and the key that carries its rain, or nothing.

    A hole in the run stays a hole: a step is never made longer than what its rain covers.
    """
    if gap == SIX_HOURS and "next_6_hours" in data:
        return SIX_HOURS, "next_6_hours"
    if "next_1_hours" in data and (gap is None or gap >= HOUR):
        return HOUR, "next_1_hours"
    if "next_6_hours" in data and (gap is None or gap >= SIX_HOURS):
        return SIX_HOURS, "next_6_hours"
    return min(gap or before, SIX_HOURS), ""


def _check_units(units: dict[str, Any], steps: Sequence[WeatherStep]) -> None:
    for value in (*INSTANT, RAIN):
        is_carried = any(getattr(step, value.ours) is not None for step in steps)
        said = units.get(value.key)
        if is_carried and said != value.unit:
            raise ShapeChanged(
                f"properties.meta.units.{value.key} is {said!r}; {value.unit!r} is what is known"
            )
        if not is_carried and said is not None:
            raise ShapeChanged(f"{value.key} has a unit, but no step carries it")


def _object(parent: dict[str, Any], key: str, where: str) -> dict[str, Any]:
    found = parent.get(key)
    if not isinstance(found, dict):
        met = "missing" if key not in parent else f"not an object but {type(found).__name__}"
        raise ShapeChanged(f"{where}.{key} is {met}")
    return found


def _moment(parent: dict[str, Any], key: str, where: str) -> datetime:
    text = parent.get(key)
    try:
        if not isinstance(text, str):
            raise ValueError("not a text")
        moment = datetime.fromisoformat(text)
        if moment.tzinfo is None:
            raise ValueError("without a zone")
        return moment.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        met = "missing" if key not in parent else f"{str(text)[:40]!r}"
        raise ShapeChanged(f"{where}.{key} is {met}; a moment in UTC is what is known") from error


def _point(document: dict[str, Any]) -> tuple[float, float]:
    geometry = _object(document, "geometry", "the document")
    point = geometry.get("coordinates")
    if (
        not isinstance(point, list)
        or len(point) not in (2, 3)
        or any(isinstance(part, bool) or not isinstance(part, int | float) for part in point)
        or not (-180 <= point[0] <= 180 and -90 <= point[1] <= 90)
    ):
        raise ShapeChanged("geometry.coordinates is not [longitude, latitude, altitude]")
    return float(point[0]), float(point[1])


def _number(details: dict[str, Any], value: _Value, where: str) -> float | None:
    met = details.get(value.key)
    if met is None:
        return None
    if isinstance(met, bool) or not isinstance(met, int | float) or met != met:
        raise ShapeChanged(f"{where}.{value.key} is {str(met)[:40]!r}, not a number")
    if not value.low <= met <= value.high:
        raise ShapeChanged(
            f"{where}.{value.key} is {str(met)[:40]}; {value.low:g} to {value.high:g} {value.unit} "
            "is what can be"
        )
    return float(met)


def _number_text(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:40]} is not a number")
    return number
