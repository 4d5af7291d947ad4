"""MET Norway's Locationforecast 2.0, compact: its names and units become ours here.

Published source: MET Norway, Locationforecast 2.0 documentation (GeoJSON, moments in UTC).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from guiding.gauges.providers.agency import WEATHER, Agency, Ask, Kind
from guiding.gauges.providers.readings import Wanted
from guiding.gauges.providers.shapes import ShapeChanged, json_of, moment_in, object_in
from guiding.gauges.providers.weather import WeatherRunRead, WeatherStep

SOURCE = "MET Norway, Locationforecast 2.0"
CREDIT = "Weather forecast from MET Norway, licence NLOD 2.0 and CC BY 4.0"
MOST_STEPS = 2_000
HOUR = timedelta(hours=1)
SIX_HOURS = timedelta(hours=6)


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


def parse_document(data: bytes) -> dict[str, Any]:
    """Return the JSON object in these bytes; ShapeChanged where there is none."""
    document = json_of(data)
    if not isinstance(document, dict):
        raise ShapeChanged("the file is JSON, but not an object with properties")
    return document


def read_run(document: dict[str, Any]) -> WeatherRunRead:
    """Read a parsed document.

    Each hour that carries `next_1_hours` is a step of an hour; where steps are six hours apart the
    rain comes from `next_6_hours`. Never both: every hourly step carries the six hours too.
    """
    properties = object_in(document, "properties", "the document")
    meta = object_in(properties, "meta", "properties")
    issued_at = moment_in(meta, "updated_at", "properties.meta")
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
    times = [moment_in(entry, "time", place) for entry, place in zip(series, places, strict=True)]
    steps = tuple(
        _step(entry, place, times, number)
        for number, (entry, place) in enumerate(zip(series, places, strict=True))
    )
    _check_units(object_in(meta, "units", "properties.meta"), steps)
    return WeatherRunRead(
        issued_at=issued_at, latitude=latitude, longitude=longitude, steps=steps, raw=document
    )


def _step(entry: dict[str, Any], place: str, times: Sequence[datetime], number: int) -> WeatherStep:
    data = object_in(entry, "data", place)
    instant = object_in(data, "instant", f"{place}.data")
    details = object_in(instant, "details", f"{place}.data.instant")
    starts_at = times[number]
    gap = times[number + 1] - starts_at if number + 1 < len(times) else None
    if gap is not None and gap <= timedelta(0):
        raise ShapeChanged(f"timeseries {number + 2} is not later than the one before it")
    length, rain_key = _length(data, gap, starts_at - times[number - 1] if number else HOUR)
    rain_mm = None
    if rain_key:
        carried = object_in(data, rain_key, f"{place}.data")
        rain = object_in(carried, "details", f"{place}.data.{rain_key}")
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


def _point(document: dict[str, Any]) -> tuple[float, float]:
    geometry = object_in(document, "geometry", "the document")
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


def _ask(kind: Kind, wanted: Sequence[Wanted], since: datetime, until: datetime) -> Ask:
    """Ask for one place: four decimals at most (more are refused), the altitude always."""
    (place,) = wanted
    query = [("lat", f"{place.latitude:.4f}"), ("lon", f"{place.longitude:.4f}")]
    if place.altitude_m is not None:
        query.append(("altitude", f"{place.altitude_m:.0f}"))
    return Ask(path="/compact", query=tuple(query))


def _read(data: bytes) -> WeatherRunRead:
    return read_run(parse_document(data))


# Published source: MET Norway, Locationforecast 2.0 and terms of service (state of March 2023):
# contact in the User-Agent, Expires obeyed, under 20 requests a second for the whole application.
AGENCY = Agency(
    code="metno",
    name="MET Norway",
    licence="NLOD 2.0 and CC BY 4.0",
    licence_url="https://data.norge.no/nlod/en/2.0",
    credit=CREDIT,
    base="https://api.met.no/weatherapi/locationforecast/2.0",
    least_minutes=30,
    requests_a_day=2_000,
    most_bytes=5_000_000,
    kinds=(Kind.LATEST,),
    units={WEATHER: {"": "1"}},
    make_ask=_ask,
    read_run=_read,
    needs_contact=True,
)
