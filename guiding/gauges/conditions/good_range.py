"""When the river is within the guide's good range: whole paths held against two marks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel

GOOD = "good"
JOINED_MINUTES = 90  # parts of the day no further apart are one window; common practice, no source
WORTH_NAMING = 0.5  # as likely as not

Levels = Sequence[tuple[datetime, float]]
Chance = Callable[[datetime, datetime], float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodRange:
    """From the mark `good` up to, and not including, the next mark above it."""

    low: MarkLevel
    high: MarkLevel


def good_range(marks: Sequence[MarkLevel]) -> GoodRange | str:
    """Return the range that the marks of a beat give, or in words why they give none.

    A range without an upper end would call a flood good, so both marks are needed.
    """
    low = next((mark for mark in marks if mark.kind == GOOD), None)
    if low is None:
        return "no mark says from which level it is good"
    above = [mark for mark in marks if mark.level_m > low.level_m]
    if not above:
        return "no mark above good says where the good range ends"
    return GoodRange(low=low, high=min(above, key=lambda mark: mark.level_m))


def chance_within(
    record: ForecastRecord,
    levels: Levels,
    span: GoodRange,
    starts_at: datetime,
    ends_at: datetime,
) -> float | None:
    """Return the share of paths that stay within a range all the time, measured levels included.

    Moments are the gauge's. What was measured of the interval counts on every path. None where the
    interval is not covered whole: unknown is not a chance of nought.
    """
    lasts = timedelta(days=1) if record.is_daily else timedelta(0)
    measured = [
        row
        for row in levels
        if row[0] <= ends_at and (row[0] >= starts_at or row[0] + lasts > starts_at)
    ]
    newest = measured[-1][0] if measured else None
    # between two hours the river may be at either: both count
    around = timedelta(0) if record.is_daily else timedelta(minutes=record.step_minutes, seconds=-1)
    steps = [
        step
        for step in record.steps_between(starts_at - around, ends_at + around)
        if newest is None or record.times[step] > newest
    ]
    times = [moment for moment, _ in measured] + [record.times[step] for step in steps]
    if not _covers(times, record, starts_at, ends_at):
        return None
    if any(not span.low.level_m <= level < span.high.level_m for _, level in measured):
        return 0.0
    if not steps:
        return 1.0
    if record.paths is None or np.isnan(record.paths[:, steps]).any():
        return None
    paths = record.paths[:, steps]
    inside = (paths >= span.low.level_m) & (paths < span.high.level_m)
    return float(inside.all(axis=1).mean())


def _covers(
    times: Sequence[datetime], record: ForecastRecord, starts_at: datetime, ends_at: datetime
) -> bool:
    """Say whether moments, each good for a step, cover an interval."""
    if not times:
        return False
    step = timedelta(minutes=record.step_minutes)
    if record.is_daily:
        days = all(later - earlier <= 1.2 * step for earlier, later in pairwise(times))
        return times[0] <= starts_at and ends_at <= times[-1] + step and days
    gaps = all(later - earlier <= 2 * step for earlier, later in pairwise(times))
    return times[0] - starts_at <= step and ends_at - times[-1] <= step and gaps


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAhead:
    """A part of a day that may be fished, by the clock at the beat."""

    name: str
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Parts that follow each other, and the chance that the river is in range all the time."""

    parts: tuple[str, ...]
    starts_at: datetime
    ends_at: datetime
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowsAhead:
    """The windows that are at least as likely as not; the best part where there is none."""

    windows: tuple[Window, ...]
    best: Window | None
    unknown: tuple[PartAhead, ...]  # parts of which nothing can be said


def windows_ahead(parts: Sequence[PartAhead], chance: Chance) -> WindowsAhead:
    """Return the windows among parts of days, given the chance of any hours at the beat.

    Parts that follow each other are joined while the whole stays at least as likely as not.
    """
    windows: list[Window] = []
    best: Window | None = None
    unknown: list[PartAhead] = []
    for part in sorted(parts, key=lambda part: (part.starts_at, part.ends_at)):
        share = chance(part.starts_at, part.ends_at)
        if share is None:
            unknown.append(part)
            continue
        one = Window(
            parts=(part.name,), starts_at=part.starts_at, ends_at=part.ends_at, chance=share
        )
        if best is None or share > best.chance:
            best = one
        if share < WORTH_NAMING:
            continue
        longer = _joined(windows[-1], one, chance) if windows else None
        if longer is None:
            windows.append(one)
        else:
            windows[-1] = longer
    return WindowsAhead(
        windows=tuple(windows), best=None if windows else best, unknown=tuple(unknown)
    )


def _joined(before: Window, after: Window, chance: Chance) -> Window | None:
    if after.starts_at - before.ends_at > timedelta(minutes=JOINED_MINUTES):
        return None
    ends_at = max(before.ends_at, after.ends_at)
    share = chance(before.starts_at, ends_at)
    if share is None or share < WORTH_NAMING:
        return None
    return Window(
        parts=(*before.parts, *after.parts),
        starts_at=before.starts_at,
        ends_at=ends_at,
        chance=share,
    )
