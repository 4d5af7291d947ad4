"""A river's stored series as numbers, and where hours and metres fall on a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
HOUR_S = 3600.0
LEAST_SPAN_M = 0.3  # a steady river is not drawn as a mountain range
REACH = 0.45  # a mark this share of the span beyond the data still belongs in the picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """The picture read: hours since the epoch, metres, None where nothing is known."""

    measured: tuple[tuple[float, float | None], ...]
    forecast: tuple[tuple[float, float | None, float | None, float | None], ...]
    marks: tuple[tuple[float, str], ...]  # rising
    day: tuple[float, float] | None
    day_words: str
    zone: ZoneInfo

    def levels(self) -> list[float]:
        """Return every level that has to fit in."""
        seen = [level for _, level in self.measured if level is not None]
        for _, *levels in self.forecast:
            seen += [level for level in levels if level is not None]
        return seen

    def last_measured(self) -> tuple[float, float] | None:
        """Return the newest reading."""
        known = [(at, level) for at, level in self.measured if level is not None]
        return max(known) if known else None

    def has_forecast(self) -> bool:
        """Return whether any step ahead is known."""
        return any(middle is not None for _, _, middle, _ in self.forecast)

    def last_known(self) -> float | None:
        """Return the last moment of which anything is known."""
        ends = [at for at, _, middle, _ in self.forecast if middle is not None]
        last = self.last_measured()
        return max([*ends, *([last[0]] if last else [])], default=None)

    def clock(self, at: float) -> datetime:
        """Return a moment on the river's clock."""
        return datetime.fromtimestamp(round(at * HOUR_S), self.zone)

    def time_span(self) -> tuple[float, float]:
        """Return the hours from first to last, never less than one."""
        times = [at for at, *_ in self.measured] + [at for at, *_ in self.forecast]
        times += self.day or ()
        if not times:
            return 0.0, 24.0
        start, end = min(times), max(times)
        return (start, end) if end - start >= 1 else (start - 12, end + 12)

    def level_span(self) -> tuple[float, float]:
        """Return the levels from foot to top of the picture, the marks near the water included."""
        marks = [level for level, _ in self.marks]
        levels = self.levels() or marks or [0.0, 1.0]
        low, high = min(levels), max(levels)
        span = max(high - low, LEAST_SPAN_M)
        near = [mark for mark in marks if low - REACH * span <= mark <= high + REACH * span]
        low, high = min([low, *near]), max([high, *near])
        spare = max(LEAST_SPAN_M - (high - low), 0) / 2 + 0.06 * max(high - low, LEAST_SPAN_M)
        return low - spare, high + spare


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The part of a drawing that holds the curves, and what it spans."""

    left: float
    right: float
    top: float
    bottom: float
    start: float
    end: float
    low: float
    high: float

    def x(self, at: float) -> float:
        """Return the place of a moment."""
        return self.left + (at - self.start) / (self.end - self.start) * (self.right - self.left)

    def y(self, level_m: float) -> float:
        """Return the height of a level."""
        share = (level_m - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


def _level(value: Any) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _hours(moment: str) -> float:
    read = datetime.fromisoformat(moment)
    if read.tzinfo is None:
        raise ValueError(f"{moment} has no offset; a picture's times are ISO 8601 with one.")
    return read.timestamp() / HOUR_S


def read_picture(picture: dict[str, Any]) -> Series:
    """Return a stored picture as numbers. Raises ValueError for a time without an offset."""
    day_from, day_to = picture["day_from"], picture["day_to"]
    return Series(
        measured=tuple((_hours(at), _level(level)) for at, level in picture["measured"]),
        forecast=tuple(
            (_hours(at), _level(low), _level(middle), _level(high))
            for at, low, middle, high in picture["forecast"]
        ),
        marks=tuple(sorted((float(level), str(seen)) for level, seen in picture["marks"])),
        day=(_hours(day_from), _hours(day_to)) if day_from and day_to else None,
        day_words=picture["day_words"],
        zone=ZoneInfo(picture["zone"]),
    )


def moment_words(moment: datetime, *, is_short: bool = False) -> str:
    """Return "Wed 20 May, 19:00", or "Wed 19:00"."""
    day = DAYS[moment.weekday()]
    date = "" if is_short else f" {moment.day} {MONTHS[moment.month - 1]},"
    return f"{day}{date} {moment:%H:%M}"
