"""A river's stored series as numbers, and where hours and metres fall on a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
HOUR_S = 3600.0
DAY_MINUTES = 1440
HALF_DAY = 12.0  # a day's mean stands in the middle of its day
LEAST_SPAN_M = 0.3  # a steady river is not drawn as a mountain range
REACH = 0.45  # a mark this share of the span beyond the data still belongs in the picture

Span = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class RainStep:
    """The rain of one step as it came, hours since the epoch; `mm` None: not known."""

    starts: float
    ends: float
    mm: float | None
    is_forecast: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """The picture read: hours since the epoch, metres, None where nothing is known."""

    measured: tuple[tuple[float, float | None], ...]
    forecast: tuple[tuple[float, float | None, float | None, float | None], ...]
    marks: tuple[tuple[float, str], ...]  # rising
    rain: tuple[RainStep, ...] | None  # None: this picture was made without any
    nights: tuple[Span, ...]
    has_light: bool  # whether nights were looked for at all
    span: Span | None  # from and to when it was asked for
    is_daily: bool
    level_words: str  # how a level came to be known: measured, or worked out from flow
    day: Span | None
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

    def time_span(self) -> Span:
        """Return the hours from first to last, never less than one."""
        times = [at for at, *_ in self.measured] + [at for at, *_ in self.forecast]
        if self.is_daily and times:
            times += [min(times) - HALF_DAY, max(times) + HALF_DAY]
        times += [*(self.day or ()), *(self.span or ())]
        if not times:
            return 0.0, 24.0
        start, end = min(times), max(times)
        return (start, end) if end - start >= 1 else (start - 12, end + 12)

    def level_span(self) -> Span:
        """Return the levels from foot to top of the picture, the marks near the water included."""
        marks = [level for level, _ in self.marks]
        levels = self.levels() or marks or [0.0, 1.0]
        low, high = min(levels), max(levels)
        span = max(high - low, LEAST_SPAN_M)
        near = [mark for mark in marks if low - REACH * span <= mark <= high + REACH * span]
        low, high = min([low, *near]), max([high, *near])
        spare = max(LEAST_SPAN_M - (high - low), 0) / 2 + 0.06 * max(high - low, LEAST_SPAN_M)
        return low - spare, high + spare

    def midnights(self) -> list[float]:
        """Return the beginnings of the river's days from before the picture to after it."""
        start, end = self.time_span()
        first = self.clock(start).replace(hour=0, minute=0, second=0, microsecond=0)
        edges = []
        for day in range(round((end - start) / 24) + 3):
            midnight = (first + timedelta(days=day)).replace(tzinfo=None)
            edges.append(midnight.replace(tzinfo=self.zone).timestamp() / HOUR_S)
        return edges


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

    def inside(self, span: Span) -> Span | None:
        """Return the part of a span of time that lies in the picture, or None."""
        start, end = max(span[0], self.start), min(span[1], self.end)
        return (start, end) if end > start else None


def _number(value: Any) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _hours(moment: str) -> float:
    read = datetime.fromisoformat(moment)
    if read.tzinfo is None:
        raise ValueError(f"{moment} has no offset; a picture's times are ISO 8601 with one.")
    return read.timestamp() / HOUR_S


def _span(start: str, end: str) -> Span | None:
    return (_hours(start), _hours(end)) if start and end else None


def _rain(rows: Any) -> tuple[RainStep, ...] | None:
    if rows is None:
        return None
    steps = (
        RainStep(
            starts=_hours(starts),
            ends=_hours(ends),
            mm=_number(mm),
            is_forecast=known_as == "forecast",
        )
        for starts, ends, mm, known_as in rows
    )
    return tuple(step for step in steps if step.ends > step.starts)


def read_picture(picture: dict[str, Any]) -> Series:
    """Return a stored picture as numbers. Raises ValueError for a time without an offset.

    A picture kept before rain, nights and days were drawn has none of their keys. A day's mean is
    moved to the middle of its day.
    """
    is_daily = picture.get("step_minutes", 60) >= DAY_MINUTES
    later = HALF_DAY if is_daily else 0.0
    return Series(
        measured=tuple((_hours(at) + later, _number(level)) for at, level in picture["measured"]),
        forecast=tuple(
            (_hours(at) + later, _number(low), _number(middle), _number(high))
            for at, low, middle, high in picture["forecast"]
        ),
        marks=tuple(sorted((float(level), str(seen)) for level, seen in picture["marks"])),
        rain=_rain(picture.get("rain")),
        nights=tuple((_hours(dusk), _hours(dawn)) for dusk, dawn in picture.get("nights") or ()),
        has_light=picture.get("nights") is not None,
        span=_span(picture.get("shown_from") or "", picture.get("shown_to") or ""),
        is_daily=is_daily,
        level_words=picture.get("level_words") or "measured",
        day=_span(picture["day_from"], picture["day_to"]),
        day_words=picture["day_words"],
        zone=ZoneInfo(picture["zone"]),
    )


def gaps_between(spans: list[Span], start: float, end: float) -> list[Span]:
    """Return the parts of [start, end] that no span covers."""
    edges = [(start, start), *sorted(spans), (end, end)]
    gaps: list[Span] = []
    reached = start
    for (_, stop), (begin, _) in pairwise(edges):
        reached = max(reached, stop)
        if min(begin, end) - reached > 1e-6:
            gaps.append((reached, min(begin, end)))
    return gaps


def moment_words(moment: datetime, *, is_short: bool = False, is_day: bool = False) -> str:
    """Return "Wed 20 May, 19:00", "Wed 19:00", or of a whole day "Wed 20 May"."""
    day = f"{DAYS[moment.weekday()]}"
    date = "" if is_short else f" {moment.day} {MONTHS[moment.month - 1]}"
    if is_day:
        return f"{day}{date or f' {moment.day}'}"
    return f"{day}{date}{'' if is_short else ','} {moment:%H:%M}"
