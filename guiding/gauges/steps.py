"""Moments laid on a record's own steps: hours of UTC, or days of the river's zone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from guiding.gauges.hydrology.record import DAY_MINUTES, Array

HOUR_S = 3600
GAP_LEARNED_DAYS = 30  # how far apart readings come is learned anew for each such stretch
WHOLE_STEP = 0.8  # readings that come this share of a step apart, or further, are one a step
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Numbers for steps, the same for every series of a gauge.

    Hourly: whole hours since the epoch. Daily: calendar days; `day_begins` is the clock time, in
    the zone, at which this record's days begin (a record kept in UTC begins its days elsewhere).
    """

    step_minutes: int
    zone: ZoneInfo
    day_begins: time = time(0)

    @property
    def is_daily(self) -> bool:
        """Say whether a step is a day."""
        return self.step_minutes == DAY_MINUTES

    def begun(self, moment: datetime) -> int:
        """Return the step that has begun at a moment: its hour or its day."""
        if not self.is_daily:
            return int((moment - EPOCH).total_seconds() // HOUR_S)
        local = moment.astimezone(self.zone).replace(tzinfo=None)
        since = timedelta(hours=self.day_begins.hour, minutes=self.day_begins.minute)
        return (local - since).toordinal()

    def of(self, moment: datetime) -> int:
        """Return the step a reading belongs to: the nearest hour, or the day it begins or is in."""
        if not self.is_daily:
            return self.begun(moment + timedelta(minutes=30))
        # a day that begins an hour early when the clocks change is still that day
        return self.begun(moment + timedelta(hours=3))

    def moment(self, step: int) -> datetime:
        """Return the aware UTC moment of an hour, or of a day's beginning."""
        if not self.is_daily:
            return EPOCH + timedelta(hours=step)
        day = datetime.fromordinal(step).date()
        return datetime.combine(day, self.day_begins, tzinfo=self.zone).astimezone(UTC)

    def year_share(self, first: int, count: int) -> Array:
        """Return where in the year each step lies, from 0 to 1."""
        days = np.arange(first, first + count) / (1 if self.is_daily else 24)
        year_days = 365.2425
        since_1970 = days - EPOCH.toordinal() if self.is_daily else days
        return np.asarray(since_1970 % year_days / year_days)

    def laid_out(self, readings: Iterable[tuple[datetime, float]], first: int, last: int) -> Array:
        """Return one value a step from `first` to `last`, NaN where there is none.

        Of several readings of one step the nearest to its moment is taken. For what is a sum over
        time, as rain is, see `summed`.
        """
        out = np.full(last - first + 1, np.nan)
        off = np.full(last - first + 1, np.inf)
        for moment, value in readings:
            place = min(self.of(moment), last) - first
            if place < 0:
                continue
            away = abs((moment - self.moment(place + first)).total_seconds())
            if away <= off[place]:
                out[place], off[place] = value, away
        return out

    def summed(self, readings: Iterable[tuple[datetime, float]], first: int, last: int) -> Array:
        """Return the sum of what began in each step, as rain comes; NaN where a part is missing.

        Readings carry the moment they begin, oldest first. How long each stands for is learned
        from how far apart most of them come about that time.
        """
        sums, counts, whole = self._gathered(readings, first, last)
        return np.where(counts >= whole, sums, np.nan)

    def averaged(self, readings: Iterable[tuple[datetime, float]], first: int, last: int) -> Array:
        """Return the mean of what lies in each step, NaN where less than half of it is on file."""
        sums, counts, whole = self._gathered(readings, first, last)
        return np.where(counts >= np.maximum(1, whole / 2), sums / np.maximum(counts, 1), np.nan)

    def _gathered(
        self, readings: Iterable[tuple[datetime, float]], first: int, last: int
    ) -> tuple[Array, Array, Array]:
        """Return sum and count of the readings of each step, and how many make it whole."""
        size = last - first + 1
        sums, counts, whole = np.zeros(size), np.zeros(size), np.ones(size)
        rows = list(readings)
        since = np.array([(moment - EPOCH).total_seconds() for moment, _ in rows])
        # a value of a whole day that begins an hour early when the clocks change is still that day
        is_whole_step = len(rows) < 2 or np.median(np.diff(since)) >= WHOLE_STEP * self.step_s
        holds = self.of if self.is_daily and is_whole_step else self.begun
        places = np.array([holds(moment) - first for moment, _ in rows], dtype=np.intp)
        inside = (places >= 0) & (places < size)
        places, since = places[inside], since[inside]
        values = np.array([value for _, value in rows])[inside]
        np.add.at(sums, places, values)
        np.add.at(counts, places, 1)
        lengths = self._lengths_s(first, size)
        spans = places // (GAP_LEARNED_DAYS * DAY_MINUTES // self.step_minutes)
        for span in np.unique(spans):
            here = spans == span
            gaps = np.diff(since[here])
            gap = max(float(np.median(gaps)), 1.0) if gaps.size else float(self.step_s)
            whole[places[here]] = np.maximum(1, np.round(lengths[places[here]] / gap))
        return sums, counts, whole

    @property
    def step_s(self) -> int:
        """Return the seconds of a step; of a day those of a plain one."""
        return self.step_minutes * 60

    def _lengths_s(self, first: int, size: int) -> Array:
        """Return how long each step is: a day on which the clocks change has 23 or 25 hours."""
        if not self.is_daily:
            return np.full(size, float(self.step_s))
        begins = [self.moment(first + k).timestamp() for k in range(size + 1)]
        return np.diff(begins)


def days_begin(moments: Iterable[datetime], zone: ZoneInfo) -> time:
    """Return the clock time at which most of these daily values begin, midnight if there are none.

    Of two equally common ones, as a record kept in UTC has over a year, the later is taken.
    """
    clocks = [moment.astimezone(zone).time().replace(second=0, microsecond=0) for moment in moments]
    return max(sorted(set(clocks)), key=clocks.count, default=time(0))
