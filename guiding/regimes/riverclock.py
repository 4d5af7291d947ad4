"""The river's own clock: a day and a clock time as moments, and moments as people read them.

In the hour that a clock change repeats or skips, a clock time has two readings. Both are kept, and
whoever asks takes the wider: what begins begins at the earlier, what ends ends at the later.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

FIVE_MINUTES = timedelta(minutes=5)
ONE_DAY = timedelta(days=1)


def readings_of(day: date, clock: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the earliest and the latest UTC moment that a clock time on a day may mean.

    The two are the same but for the hour that the clocks repeat, and the hour that they skip.
    """
    both = [
        datetime.combine(day, clock.replace(fold=fold), tzinfo=zone).astimezone(UTC)
        for fold in (0, 1)
    ]
    return min(both), max(both)


def span_of(day: date, starts: time, ends: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the widest UTC span from one clock time to another; not after it: the next day."""
    last_day = day if ends > starts else day + ONE_DAY
    return readings_of(day, starts, zone)[0], readings_of(last_day, ends, zone)[1]


def day_of(moment: datetime, zone: ZoneInfo) -> date:
    """Return the calendar day at a moment."""
    return moment.astimezone(zone).date()


def days_between(start: datetime, end: datetime, zone: ZoneInfo) -> tuple[date, ...]:
    """Return every calendar day that [start, end] touches."""
    first = day_of(start, zone)
    count = (day_of(end, zone) - first).days
    return tuple(first + timedelta(days=n) for n in range(count + 1))


def five_minutes_down(moment: datetime) -> datetime:
    """Return the last full five minutes of the clock at or before a moment."""
    over = timedelta(
        minutes=moment.minute % 5, seconds=moment.second, microseconds=moment.microsecond
    )
    return moment - over


def five_minutes_up(moment: datetime) -> datetime:
    """Return the first full five minutes of the clock at or after a moment."""
    down = five_minutes_down(moment)
    return down if down == moment else down + FIVE_MINUTES


def clock_words(moment: datetime, zone: ZoneInfo, day: date) -> str:
    """Return "12:30", with the weekday where it is not on `day`.

    In the hour that the clock shows twice it says which of the two is meant.
    """
    here = moment.astimezone(zone)
    words = f"{here:%H:%M}"
    if is_shown_twice(here):
        words += " (after the clocks go back)" if here.fold else " (before the clocks go back)"
    return words if here.date() == day else f"{words} on {here:%A}"


def is_shown_twice(here: datetime) -> bool:
    """Say whether the clock shows this local time a second time; `here` comes from a moment."""
    return here.utcoffset() != here.replace(fold=1 - here.fold).utcoffset()


def day_words(day: date) -> str:
    """Return "Thursday 26 November"."""
    return f"{day:%A} {day.day} {day:%B}"
