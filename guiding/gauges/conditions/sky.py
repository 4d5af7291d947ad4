"""Air, wind, sky and rain in the fishing hours, from a weather run as it was issued."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import atan2, cos, degrees, hypot, radians, sin
from typing import Any

from guiding.gauges.conditions.measured import DAY, HOUR, Measured
from guiding.gauges.conditions.stage import age_hours
from guiding.gauges.conditions.values import Condition, Kind
from guiding.sun import CIVIL_DEG, sun_altitude_deg

# Every number here is common practice, no source.
OLD_RUN_HOURS = 24.0  # said in words
OLDEST_RUN_HOURS = 48.0  # not used any more
COVERED_SHARE = 0.8  # of the hours, before a mean over them is called one
CLOUD_PERCENT = 62.5  # five eighths: from here the sky is cloud
STEADY_SHARE = 0.3  # of the wind's run, before it is said to come from anywhere


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherStep:
    """One step of a run; None: the run does not carry it, which is never zero."""

    starts_at: datetime
    ends_at: datetime
    rain_mm: float | None = None
    air_c: float | None = None
    wind_ms: float | None = None
    wind_from_deg: float | None = None
    cloud_percent: float | None = None

    @classmethod
    def from_row(cls, row: Mapping[str, Any]) -> WeatherStep:
        """Return a step from the object that a stored run holds."""
        return cls(
            starts_at=datetime.fromisoformat(row["starts_at"]),
            ends_at=datetime.fromisoformat(row["ends_at"]),
            rain_mm=row.get("rain_mm"),
            air_c=row.get("air_c"),
            wind_ms=row.get("wind_ms"),
            wind_from_deg=row.get("wind_from_deg"),
            cloud_percent=row.get("cloud_percent"),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherAhead:
    """A weather run as it was issued."""

    issued_at: datetime
    source: str
    steps: tuple[WeatherStep, ...]

    @classmethod
    def from_rows(
        cls, rows: Iterable[Mapping[str, Any]], *, issued_at: datetime, source: str
    ) -> WeatherAhead:
        """Return a run from what is stored; of steps that overlap, the one that begins first."""
        kept: list[WeatherStep] = []
        steps = map(WeatherStep.from_row, rows)
        for step in sorted(steps, key=lambda step: (step.starts_at, step.ends_at)):
            if step.ends_at > step.starts_at and (not kept or step.starts_at >= kept[-1].ends_at):
                kept.append(step)
        return cls(issued_at=issued_at, source=source, steps=tuple(kept))


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """The five values of the sky, and what must be said of where they come from."""

    air: Condition
    wind: Condition
    wind_from: Condition
    sky: Condition
    rain: Condition
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hours:
    starts_at: datetime
    ends_at: datetime
    asked_at: datetime

    def overlap(self, step: WeatherStep) -> timedelta:
        """Return how long a step lies within the hours; nought where it does not."""
        both = min(step.ends_at, self.ends_at) - max(step.starts_at, self.starts_at)
        return max(both, timedelta(0))


def read_weather(
    run: WeatherAhead | None,
    air: Measured,
    starts_at: datetime,
    ends_at: datetime,
    asked_at: datetime,
    place: tuple[float, float],
) -> Weather:
    """Return air [degrees C], wind [m/s, degrees], sky and rain [mm] in the fishing hours.

    Parameters
    ----------
    run : the newest run issued by the moment of asking
    air : measured air; the newest fresh reading stands once the hours have begun
    place : latitude and longitude [degrees]

    Notes
    -----
    Air and wind are means over the hours by time, spread from the lowest to the highest step; at
    least 80 % of the hours must be covered. Rain is summed, a step that lies partly outside
    counting by its share; all of the hours must be covered, for a missing step is not a dry one.
    A wind that turns through the hours comes from nowhere: not known. Dark is the sun's centre
    more than 6 degrees below the horizon in the middle of the hours; else it is cloud from five
    eighths of cover on.
    """
    hours = _Hours(starts_at=starts_at, ends_at=ends_at, asked_at=asked_at)
    run, says = _usable(run, asked_at)
    return Weather(
        air=_measured_air(air, hours) or _mean(run, hours, "air", "air_c", "degrees C"),
        wind=_mean(run, hours, "wind", "wind_ms", "m/s"),
        wind_from=_direction(run, hours),
        sky=_sky(run, hours, place),
        rain=_sum(run, hours),
        says=says,
    )


def _usable(
    run: WeatherAhead | None, asked_at: datetime
) -> tuple[WeatherAhead | None, tuple[str, ...]]:
    if run is None:
        return None, ("No weather forecast is on file: air, wind and rain are not known.",)
    age = age_hours(asked_at, run.issued_at)
    if age > OLDEST_RUN_HOURS:
        return None, (f"The weather forecast is {age:.0f} h old and is not used.",)
    if age > OLD_RUN_HOURS:
        return run, (f"The weather forecast is {age:.0f} h old.",)
    return run, ()


def _parts(
    run: WeatherAhead | None, hours: _Hours, name: str
) -> list[tuple[float, float, WeatherStep]]:
    """Return value, hours within and step for each step that carries a value in the hours."""
    steps = run.steps if run else ()
    there = [
        (value, hours.overlap(step) / HOUR, step)
        for step in steps
        if (value := getattr(step, name)) is not None
    ]
    return [part for part in there if part[1] > 0]


def _is_covered(
    parts: Sequence[tuple[float, float, WeatherStep]], hours: _Hours, share: float
) -> bool:
    whole = (hours.ends_at - hours.starts_at) / HOUR
    return sum(within for _, within, _ in parts) >= share * whole - 1e-6


def _mean(run: WeatherAhead | None, hours: _Hours, what: str, name: str, unit: str) -> Condition:
    parts = _parts(run, hours, name)
    if run is None or not parts or not _is_covered(parts, hours, COVERED_SHARE):
        return Condition(what=what, unit=unit, source="not forecast for these hours")
    mean = sum(v * within for v, within, _ in parts) / sum(within for _, within, _ in parts)
    values = [value for value, _, _ in parts]
    low, high = round(min(values), 2), round(max(values), 2)
    return _forecast(run, hours, what, round(mean, 2), unit, low, high)


def _sum(run: WeatherAhead | None, hours: _Hours) -> Condition:
    parts = _parts(run, hours, "rain_mm")
    if run is None or not parts or not _is_covered(parts, hours, 1.0):
        return Condition(what="rain", unit="mm", source="not forecast for all of these hours")
    total = sum(
        value * within / ((step.ends_at - step.starts_at) / HOUR) for value, within, step in parts
    )
    return _forecast(run, hours, "rain", round(total, 2), "mm")


def _direction(run: WeatherAhead | None, hours: _Hours) -> Condition:
    parts = _parts(run, hours, "wind_from_deg")
    if run is None or not parts or not _is_covered(parts, hours, COVERED_SHARE):
        return Condition(what="wind from", unit="degrees", source="not forecast for these hours")
    weights = [within * (step.wind_ms or 0.0) for _, within, step in parts]
    east = sum(w * sin(radians(v)) for w, (v, _, _) in zip(weights, parts, strict=True))
    north = sum(w * cos(radians(v)) for w, (v, _, _) in zip(weights, parts, strict=True))
    if hypot(east, north) <= STEADY_SHARE * sum(weights):
        return Condition(what="wind from", unit="degrees", source="the wind turns in these hours")
    return _forecast(
        run, hours, "wind from", round(degrees(atan2(east, north)) % 360) % 360, "degrees"
    )


def _sky(run: WeatherAhead | None, hours: _Hours, place: tuple[float, float]) -> Condition:
    middle = hours.starts_at + (hours.ends_at - hours.starts_at) / 2
    if sun_altitude_deg(middle, *place) < CIVIL_DEG:
        return Condition(what="sky", value="dark", kind=Kind.INFERRED, source="the sun's height")
    cloud = _mean(run, hours, "sky", "cloud_percent", "")
    if run is None or cloud.number is None:
        return Condition(what="sky", source="not forecast for these hours")
    word = "cloud" if cloud.number >= CLOUD_PERCENT else "bright"
    return _forecast(run, hours, "sky", word, "")


def _forecast(
    run: WeatherAhead,
    hours: _Hours,
    what: str,
    value: float | str,
    unit: str,
    low: float | None = None,
    high: float | None = None,
) -> Condition:
    return Condition(
        what=what,
        value=value,
        low=low,
        high=high,
        unit=unit,
        kind=Kind.FORECAST,
        at=run.issued_at,
        age_hours=age_hours(hours.asked_at, run.issued_at),
        source=run.source,
    )


def _measured_air(air: Measured, hours: _Hours) -> Condition | None:
    """Return the measured air where it speaks for the hours: over, or begun and fresh."""
    if hours.asked_at >= hours.ends_at:
        mean = air.mean_during(hours.starts_at, hours.ends_at)
        at = hours.starts_at + (hours.ends_at - hours.starts_at) / 2
    elif (
        hours.asked_at >= hours.starts_at
        and air.newest
        and air.is_fresh(hours.asked_at)
        and not (air.is_daily and hours.asked_at >= air.newest[0] + DAY)
    ):
        at, mean = air.newest
    else:
        return None
    if mean is None:
        return None
    return Condition(
        what="air",
        value=round(mean, 2),
        unit="degrees C",
        kind=Kind.OBSERVED,
        at=at,
        age_hours=age_hours(hours.asked_at, at),
        source=air.source,
    )
