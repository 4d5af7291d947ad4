"""What is known of the river from now on: whole paths, and the names of its moments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from guiding.gauges.hydrology.record import Array, ForecastRecord

# Every number here is common practice, no source.
MOSTLY = 0.8  # four times in five: what may be said without "probably"
LIKELY = 0.6
MAY = 0.2  # one time in five: from here a rise is spoken of
NEARLY_FIVE_DAYS = timedelta(days=4, hours=12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """What is known from now on: whole paths (paths, steps) and the moment of each step."""

    paths: Array
    times: tuple[datetime, ...]
    ends_at: datetime  # of what is known
    is_all: bool  # whether that is all of the forecast
    level_m: float  # now
    is_daily: bool
    zone: ZoneInfo
    at: datetime

    @property
    def until(self) -> str:
        """Return the end of what is known, for behind "at some time"."""
        if self.ends_at - self.at > NEARLY_FIVE_DAYS:
            return "in the next five days"
        return f"by {self.by(self.times[-1])}"

    def by(self, moment: datetime) -> str:
        """Return a moment for behind "by": Thursday noon, Thursday 15:00, the end of Thursday."""
        local = moment.astimezone(self.zone)
        if self.is_daily:
            return f"{local:%A}"
        if (local.hour, local.minute) == (0, 0):
            return f"the end of {local - timedelta(hours=1):%A}"
        return f"{local:%A} {'noon' if (local.hour, local.minute) == (12, 0) else f'{local:%H:%M}'}"

    def day(self, step: int) -> date:
        """Return the river's day of a step."""
        return self.times[step].astimezone(self.zone).date()


def known_ahead(
    record: ForecastRecord | None,
    levels: Sequence[tuple[datetime, float]],
    at: datetime,
    zone: ZoneInfo,
) -> Ahead | None:
    """Return what is known from a moment on without a hole; None: no whole paths, or no level."""
    if record is None or record.paths is None or not levels:
        return None
    over = timedelta(days=1) if record.is_daily else timedelta(0)
    coming = [k for k, moment in enumerate(record.times) if moment + over > at]
    whole: Array = np.asarray(np.isfinite(record.paths).all(axis=0))
    known: list[int] = []
    for step in coming:
        if not whole[step]:
            break
        known.append(step)
    if not known:
        return None
    return Ahead(
        paths=record.paths[:, known],
        times=tuple(record.times[step] for step in known),
        ends_at=record.times[known[-1]] + over,
        is_all=len(known) == len(coming),
        level_m=levels[-1][1],
        is_daily=record.is_daily,
        zone=zone,
        at=at,
    )


def at_words(ahead: Ahead, moment: datetime) -> str:
    """Return a moment by the river's clock: a day, with the hour where the record has hours."""
    local = moment.astimezone(ahead.zone)
    return f"{local:%A}" if ahead.is_daily else f"{local:%A %H:%M}"


def first_step(shares: Array, least: float) -> int | None:
    """Return the first step whose share is at least this large."""
    found = np.flatnonzero(shares >= least)
    return int(found[0]) if found.size else None
