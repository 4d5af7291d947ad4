"""Rivers drawn by hand for the tests of conditions: levels, records, weather."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta

import numpy as np

from guiding.gauges.conditions.measured import Measured, Sample
from guiding.gauges.conditions.sky import WeatherAhead, WeatherStep
from guiding.gauges.conditions.stage import GaugeHours
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
NOW = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)

MARKS = tuple(
    MarkLevel(kind=kind, name=kind, level_m=level_m)
    for kind, level_m in [
        ("summer", 0.30),
        ("good", 0.40),
        ("high", 0.90),
        ("big", 1.10),
        ("over_bank", 2.40),
    ]
)


def hourly(level: Callable[[float], float], days: float, until: datetime = NOW) -> list[Sample]:
    """Return hourly samples of a curve over hours before `until` (0 is `until`, -1 before it)."""
    count = int(days * 24)
    return [(until + h * HOUR, level(h)) for h in range(-count, 1)]


def measured(samples: Sequence[Sample], **changes: object) -> Measured:
    """Return a series with a source."""
    fields = {"samples": tuple(samples), "source": "the gauge", **changes}
    return Measured(**fields)


def record(
    medians: Sequence[float | None],
    *,
    spread_m: float = 0.05,
    issued_at: datetime = NOW,
    step_minutes: int = 60,
    with_paths: bool = True,
    says: tuple[str, ...] = (),
) -> ForecastRecord:
    """Return a forecast whose eleven paths run side by side, from -spread to +spread."""
    step = timedelta(minutes=step_minutes)
    known = np.array([np.nan if m is None else m for m in medians])
    paths = known + np.linspace(-spread_m, spread_m, 11)[:, None]
    low, middle, high = (
        tuple(None if np.isnan(v) else float(v) for v in row)
        for row in np.quantile(paths, [0.1, 0.5, 0.9], axis=0)
    )
    return ForecastRecord(
        issued_at=issued_at,
        model="drawn",
        step_minutes=step_minutes,
        times=tuple(issued_at + (i + 1) * step for i in range(len(medians))),
        q10=low,
        q50=middle,
        q90=high,
        paths=paths if with_paths else None,
        inputs=(),
        says=says,
    )


def hours(starts_in: float, lasting: float = 4.0, asked_at: datetime = NOW) -> GaugeHours:
    """Return fishing hours that begin so many hours after NOW."""
    starts_at = NOW + starts_in * HOUR
    return GaugeHours(starts_at=starts_at, ends_at=starts_at + lasting * HOUR, asked_at=asked_at)


def weather(
    *steps: dict[str, float | None], step_hours: float = 1.0, issued_at: datetime = NOW
) -> WeatherAhead:
    """Return a run whose steps follow each other from its issue."""
    step = step_hours * HOUR
    return WeatherAhead(
        issued_at=issued_at,
        source="drawn weather",
        steps=tuple(
            WeatherStep(
                starts_at=issued_at + i * step, ends_at=issued_at + (i + 1) * step, **values
            )
            for i, values in enumerate(steps)
        ),
    )
