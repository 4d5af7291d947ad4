"""The series that the river is drawn from, for page and pack alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from guiding.gauges.hydrology.record import DAY_MINUTES, ForecastRecord, MarkLevel
from guiding.gauges.rain_shown import RainShown
from guiding.sun import dark_spells

BEHIND = timedelta(days=3)
AHEAD = timedelta(days=2)
LONGEST_AHEAD = timedelta(days=5)
DAYS_OF_A_DAILY_RECORD = 5  # a daily record shows more days: three points are no picture


def shown_span(
    at: datetime,
    *,
    day: tuple[datetime, datetime] | None = None,
    step_minutes: int = 60,
    ahead: timedelta = AHEAD,
) -> tuple[datetime, datetime]:
    """Return from when to when the picture goes."""
    if step_minutes >= DAY_MINUTES:
        ahead = max(ahead, AHEAD * DAYS_OF_A_DAILY_RECORD)
        return at - BEHIND * DAYS_OF_A_DAILY_RECORD, max(day[1] if day else at, at) + ahead
    return at - BEHIND, max(day[1] if day else at, at) + ahead


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
    ahead: timedelta = AHEAD,
    rain: Sequence[RainShown] | None = None,
    place: tuple[float, float] | None = None,
    level_words: str = "measured",
) -> dict[str, Any]:
    """Return what charts.river_chart draws: levels in metres, moments in the river's zone.

    `rain` None draws none at all; missing steps in it are drawn as not known. `place` is latitude
    and longitude [degrees], for the nights. Levels are not rounded: what is written beside them
    rounds the same number once.
    """
    since, until = shown_span(at, day=day, step_minutes=step_minutes, ahead=ahead)

    def here(moment: datetime) -> str:
        return moment.astimezone(zone).isoformat()

    steps = []
    if record:
        rows = zip(record.times, record.q10, record.q50, record.q90, strict=True)
        steps = [(here(row[0]), *row[1:]) for row in rows if row[0] <= until]
    picture: dict[str, Any] = {
        "zone": zone.key,
        "measured": tuple((here(m), level_m) for m, level_m in levels if since <= m <= at),
        "forecast": tuple(steps),
        "marks": tuple((mark.level_m, mark.seen or mark.name) for mark in marks),
        "day_from": here(day[0]) if day else "",
        "day_to": here(day[1]) if day else "",
        "day_words": day_words,
        "shown_from": here(since),
        "shown_to": here(min(until, at + LONGEST_AHEAD)),
        "step_minutes": step_minutes,
        "level_words": level_words,
    }
    if rain is not None:
        picture["rain"] = tuple(
            (here(step.starts_at), here(step.ends_at), step.mm, step.known_as)
            for step in rain
            if since < step.ends_at and step.starts_at < until
        )
    if place is not None and step_minutes < DAY_MINUTES:  # a day's mean is of day and night
        spells = dark_spells(since, until, *place)
        picture["nights"] = tuple((here(dusk), here(dawn)) for dusk, dawn in spells)
    return picture
