"""The usual water of a week: what the gauge read around that date in earlier years."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from guiding.gauges.levels import levels_of
from guiding.gauges.models import Gauge

ENOUGH_HOURS = 20  # of a day, for a mean that stands for it
LEAST_SHARE = 0.5  # of a year's window that must be on file for the year to count
NUMBERS = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualLevel:
    """Daily mean levels [m] around a date in earlier years: 10 %, half, 90 % of days below."""

    q10: float
    q50: float
    q90: float
    years: int
    days: int

    @property
    def words(self) -> str:
        """Return the usual water in one sentence."""
        number = NUMBERS[self.years] if self.years < len(NUMBERS) else str(self.years)
        which = "the one year" if self.years == 1 else f"the {number} years"
        few = " One year shows little of what can come." if self.years == 1 else ""
        return (
            f"Around this date, in {which} on file, the river stood between {self.q10:.2f} and "
            f"{self.q90:.2f} m on four days in five ({self.days} days).{few}"
        )


def usual_level(
    gauge: Gauge, day: date, *, at: datetime, half_window_days: int = 7
) -> UsualLevel | None:
    """Return what was usual around a day, from earlier years only; None without a year on file."""
    zone = gauge.river.zoneinfo
    levels = levels_of(gauge, None, at)
    if not levels or levels[-1][0] - levels[0][0] < timedelta(days=365):
        return None
    return usual_of(
        daily_means(levels, zone, is_daily=gauge.step_minutes == 1440),
        day,
        half_window_days=half_window_days,
    )


def daily_means(
    levels: Iterable[tuple[datetime, float]], zone: ZoneInfo, *, is_daily: bool
) -> dict[date, float]:
    """Return the mean of each day in the zone; a day with fewer than 20 hours is left out."""
    hours: defaultdict[date, dict[int, float]] = defaultdict(dict)
    for moment, level_m in levels:
        local = moment.astimezone(zone)
        hours[local.date()].setdefault(local.hour, level_m)
    enough = 1 if is_daily else ENOUGH_HOURS
    return {
        day: float(np.mean(list(seen.values())))
        for day, seen in sorted(hours.items())
        if len(seen) >= enough
    }


def usual_of(
    means: dict[date, float], day: date, *, half_window_days: int = 7
) -> UsualLevel | None:
    """Return what was usual around a day from daily means, or None without an earlier year."""
    if half_window_days < 0:
        raise ValueError(f"half_window_days is {half_window_days}; it is 0 or more.")
    window = range(-half_window_days, half_window_days + 1)
    kept: list[float] = []
    years = 0
    for year in sorted({known.year for known in means} | {known.year + 1 for known in means}):
        middle = _same_day(day, year)
        if middle >= day:
            break
        days = [middle + timedelta(days=off) for off in window]
        seen = [means[other] for other in days if other in means and other < day]
        if len(seen) >= LEAST_SHARE * len(window):
            kept += seen
            years += 1
    if not kept:
        return None
    low, middle_level, high = (round(float(v), 3) for v in np.quantile(kept, [0.1, 0.5, 0.9]))
    return UsualLevel(q10=low, q50=middle_level, q90=high, years=years, days=len(kept))


def _same_day(day: date, year: int) -> date:
    """Return the day's own month and date in another year; 29 February is 28 February there."""
    try:
        return day.replace(year=year)
    except ValueError:
        return day.replace(year=year, day=28)
