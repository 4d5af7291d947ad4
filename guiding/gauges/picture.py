"""The series that the river is drawn from, for page and pack alike."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel

BEHIND = timedelta(days=3)
AHEAD = timedelta(days=2)
DAYS_OF_A_DAILY_RECORD = 5  # a daily record shows more days: three points are no picture


def river_picture(
    *,
    levels: Iterable[tuple[datetime, float]],
    record: ForecastRecord | None,
    marks: Iterable[MarkLevel],
    zone: ZoneInfo,
    at: datetime,
    day: tuple[datetime, datetime] | None = None,
    day_words: str = "",
    step_minutes: int = 60,
) -> dict[str, Any]:
    """Return what charts.river_chart draws: levels in metres, moments in the river's zone."""
    stretch = DAYS_OF_A_DAILY_RECORD if step_minutes >= 1440 else 1
    until = max(day[1] if day else at, at) + AHEAD * stretch
    ahead = []
    if record:
        ahead = [
            (moment.astimezone(zone).isoformat(), low, middle, high)
            for moment, low, middle, high in zip(
                record.times, record.q10, record.q50, record.q90, strict=True
            )
            if moment <= until
        ]
    return {
        "zone": zone.key,
        "measured": tuple(
            (moment.astimezone(zone).isoformat(), round(level_m, 3))
            for moment, level_m in levels
            if at - BEHIND * stretch <= moment <= at
        ),
        "forecast": tuple(ahead),
        "marks": tuple((mark.level_m, mark.seen or mark.name) for mark in marks),
        "day_from": day[0].astimezone(zone).isoformat() if day else "",
        "day_to": day[1].astimezone(zone).isoformat() if day else "",
        "day_words": day_words,
    }
