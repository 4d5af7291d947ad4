"""What was measured: a series as plain values, and how long its newest value may speak."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
# Common practice, no source: a temperature that somebody typed in is not replaced an hour later, as
# a logger's is, so it speaks for half a day.
TYPED_SPEAKS_HOURS = 12.0

Sample = tuple[datetime, float]


def fresh_hours(step_hours: float) -> float:
    """Return how old a value may be and still be today's: an hour, or two steps of its record.

    Common practice, no source. Older values are shown with their time and drive nothing.
    """
    return max(1.0, 2 * step_hours)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One quantity as it was measured, the oldest first; only what nobody suspects.

    A daily value stands for the day that begins at its moment. `suspect_at` are the moments whose
    values are left out, `typed_at` those that somebody read with their own eyes.
    """

    samples: tuple[Sample, ...] = ()
    step_hours: float = 1.0
    source: str = ""
    suspect_at: tuple[datetime, ...] = ()
    typed_at: frozenset[datetime] = field(default_factory=frozenset)

    @property
    def newest(self) -> Sample | None:
        """Return the newest sample."""
        return self.samples[-1] if self.samples else None

    @property
    def is_daily(self) -> bool:
        """Say whether a value is the mean of a day."""
        return self.step_hours >= 24

    def known_at(self, at: datetime) -> Measured:
        """Return what could be known at a moment: the mean of a day only once the day is over."""
        whole = DAY if self.is_daily else timedelta(0)
        there = [
            (moment, value)
            for moment, value in self.samples
            if moment + (timedelta(0) if moment in self.typed_at else whole) <= at
        ]
        return replace(self, samples=tuple(there))

    def age_hours(self, at: datetime) -> float | None:
        """Return the age of the newest sample: from its own moment, never from its arrival."""
        return (at - self.samples[-1][0]) / HOUR if self.samples else None

    def is_fresh(self, at: datetime, *, is_slow: bool = False) -> bool:
        """Say whether the newest sample may still speak; `is_slow`: a temperature."""
        age = self.age_hours(at)
        if age is None:
            return False
        allowed = fresh_hours(self.step_hours)
        if is_slow and self.samples[-1][0] in self.typed_at:
            allowed = max(allowed, TYPED_SPEAKS_HOURS)
        return age <= allowed

    def during(self, start: datetime, end: datetime) -> tuple[Sample, ...]:
        """Return the samples in [start, end]; of daily values those whose day touches it."""
        if self.is_daily:
            start -= DAY - timedelta(microseconds=1)
        first = bisect_left(self.samples, start, key=_moment)
        return self.samples[first : bisect_right(self.samples, end, key=_moment)]

    def mean_during(self, start: datetime, end: datetime) -> float | None:
        """Return the mean of the samples in [start, end], or None where there is none."""
        there = [value for _, value in self.during(start, end)]
        return sum(there) / len(there) if there else None


def nearest(samples: Sequence[Sample], at: datetime, within: timedelta) -> float | None:
    """Return the value of the sample nearest to a moment, or None where none is that near."""
    place = bisect_left(samples, at, key=_moment)
    around = samples[max(0, place - 1) : place + 1]
    if not around:
        return None
    moment, value = min(around, key=lambda sample: abs(sample[0] - at))
    return value if abs(moment - at) <= within else None


def _moment(sample: Sample) -> datetime:
    return sample[0]
