"""Water let go at a dam: from a day's schedule and the way down to when it may be at a beat.

A schedule never clears anybody to wade. What it can do is to let the level that a gauge below the
dam measures now speak until the time to be out; and to say that time.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from guiding.regimes.moved_water import (
    PLAN_NOT_PROMISE,
    TOLD_AFTER,
    MovedWater,
    OnRecord,
    Wave,
    wave_between,
)
from guiding.regimes.riverclock import (
    ONE_DAY,
    clock_words,
    day_words,
    days_between,
    readings_of,
    span_of,
)

LONGEST_TRAVEL_HOURS = 96.0
LONGEST_MARGIN_HOURS = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """Water let go from one clock time to another; not after the start: the next day.

    `ends` None: nobody said until when.
    """

    starts: time
    ends: time | None = None
    flow: str = ""  # "10 m3/s", "two gates", as it was said

    def __post_init__(self) -> None:
        if self.ends == self.starts:
            raise ValueError(
                f"A release from {self.starts:%H:%M} to {self.starts:%H:%M} lasts no time; "
                "leave the end empty where nobody said it."
            )

    def words(self) -> str:
        """Return "10:00 to 14:00 (10 m3/s)"."""
        ends = f" to {self.ends:%H:%M}" if self.ends else ", end not known"
        flow = f" ({self.flow})" if self.flow else ""
        return f"{self.starts:%H:%M}{ends}{flow}"


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySchedule:
    """What somebody said of one day at a dam. No releases: that none is planned was said."""

    day: date
    releases: tuple[Release, ...]
    said_by: str
    said_at: datetime
    kept_at: datetime

    def words(self) -> str:
        """Return the day's releases in words."""
        if not self.releases:
            return "no release planned"
        return "; ".join(release.words() for release in self.releases)


@dataclass(frozen=True, slots=True, kw_only=True)
class DamAbove:
    """A dam above a beat: how long its water is on the way, and what is on file of its days.

    `schedules` holds the newest of each day on file around the hours, in any order.
    `gauge_is_below`: the beat's gauge feels what this dam lets go.
    """

    name: str
    travel_hours: float
    margin_hours: float
    gauge_is_below: bool
    schedules: tuple[DaySchedule, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.travel_hours <= LONGEST_TRAVEL_HOURS:
            raise ValueError(
                f"travel_hours is {self.travel_hours:g}; water is 0 to {LONGEST_TRAVEL_HOURS:g} "
                "hours on the way."
            )
        if not 0 <= self.margin_hours <= LONGEST_MARGIN_HOURS:
            raise ValueError(
                f"margin_hours is {self.margin_hours:g}; a margin is 0 to "
                f"{LONGEST_MARGIN_HOURS:g} hours."
            )

    @property
    def travel(self) -> timedelta:
        """Return how long the water is on the way."""
        return timedelta(hours=self.travel_hours)

    @property
    def margin(self) -> timedelta:
        """Return the margin."""
        return timedelta(hours=self.margin_hours)


def days_needed(
    dam: DamAbove, starts_at: datetime, ends_at: datetime, zone: ZoneInfo
) -> tuple[date, ...]:
    """Return the days at the dam whose water can be at the beat in [starts_at, ends_at].

    A release that already runs at midnight belongs to both days: whoever says a day's schedule
    says everything that is let go between its two midnights.
    """
    early = starts_at - dam.travel - dam.margin
    return days_between(early, ends_at - dam.travel + dam.margin, zone)


def days_looked_at(
    dam: DamAbove, starts_at: datetime, ends_at: datetime, zone: ZoneInfo
) -> tuple[date, ...]:
    """Return the days to read: those needed, the one before, and those soon after the hours."""
    early = starts_at - dam.travel - dam.margin - ONE_DAY
    return days_between(early, ends_at - dam.travel + dam.margin + TOLD_AFTER, zone)


def wave_of(
    dam: DamAbove,
    day: date,
    release: Release,
    zone: ZoneInfo,
    *,
    is_next_day_said: bool = False,
) -> Wave:
    """Return when a release may be at the beat.

    `is_next_day_said`: the next day's schedule is on file. It says what still runs at midnight, so
    a release whose end nobody said is taken to last until then, and not for ever.

    Notes
    -----
    At the beat from start + travel time, until end + travel time + margin; out by start + travel
    time - margin, rounded down to five minutes. In a repeated hour the start is read as the earlier
    and the end as the later. How a wave stretches on its way is not modelled: the margin is for it.
    """
    what = f"water let go at {dam.name}"
    if release.ends is None and is_next_day_said:
        starts_at, ends_at = span_of(day, release.starts, time(0, 0), zone)
    elif release.ends is None:
        starts_at, ends_at = readings_of(day, release.starts, zone)[0], None
    else:
        starts_at, ends_at = span_of(day, release.starts, release.ends, zone)
    return wave_between(
        what,
        starts_at + dam.travel,
        None if ends_at is None else ends_at + dam.travel,
        dam.margin,
    )


def read_releases(
    dam: DamAbove, *, day: date, starts_at: datetime, ends_at: datetime, zone: ZoneInfo
) -> MovedWater:
    """Return what a dam's schedules say of the hours [starts_at, ends_at] at a beat.

    Parameters
    ----------
    dam : DamAbove
        The dam, with the newest schedule of each day that was on file when the question was asked.
    day : date
        The fishing day, for words.
    starts_at, ends_at : datetime
        The fishing hours at the beat, aware.
    zone : ZoneInfo
        The river's zone, in which schedules are written.

    Returns
    -------
    MovedWater
        `missing` names each day needed that has no schedule. Waves of every day read are kept, the
        day before included, so that an overnight release is seen.
    """
    on_file = {schedule.day: schedule for schedule in dam.schedules}
    needed = days_needed(dam, starts_at, ends_at, zone)
    waves_of = {
        one: tuple(
            wave_of(dam, one, release, zone, is_next_day_said=one + ONE_DAY in on_file)
            for release in on_file[one].releases
        )
        for one in days_looked_at(dam, starts_at, ends_at, zone)
        if one in on_file
    }
    told_until = ends_at + TOLD_AFTER
    told = [
        on_file[one]
        for one, waves in waves_of.items()
        if one in needed
        or any(not w.is_gone(starts_at) and w.out_by_at <= told_until for w in waves)
    ]
    missing = tuple(
        f"no schedule of {dam.name} for {day_words(one)} is on file"
        for one in needed
        if one not in on_file
    )
    waves = tuple(wave for of_a_day in waves_of.values() for wave in of_a_day)
    return MovedWater(
        day=day,
        starts_at=starts_at,
        ends_at=ends_at,
        zone=zone,
        missing=missing,
        waves=waves,
        says=tuple(_says(dam, told, waves, day, (starts_at, told_until), zone)),
        on_record=tuple(
            OnRecord(
                what=f"releases at {dam.name}, {day_words(schedule.day)}",
                value=schedule.words(),
                said_at=schedule.said_at,
                kept_at=schedule.kept_at,
                source=f"said by {schedule.said_by}",
            )
            for schedule in told
        ),
        gauge_is_there=dam.gauge_is_below,
    )


def _says(
    dam: DamAbove,
    told: list[DaySchedule],
    waves: tuple[Wave, ...],
    day: date,
    told_between: tuple[datetime, datetime],
    zone: ZoneInfo,
) -> list[str]:
    says = [
        f"{dam.name}, {day_words(schedule.day)}: {schedule.words()}, said by {schedule.said_by}."
        for schedule in told
    ]
    for wave in sorted(waves, key=lambda wave: wave.arrives_at):
        if wave.is_gone(told_between[0]) or wave.out_by_at > told_between[1]:
            continue
        until = (
            f" until {clock_words(wave.gone_at, zone, day)}"
            if wave.gone_at
            else "; how long it lasts is not known"
        )
        arrives = clock_words(wave.arrives_at, zone, day)
        says.append(f"By that schedule it may be here from {arrives}{until}.")
    return [*says, PLAN_NOT_PROMISE] if told else says
