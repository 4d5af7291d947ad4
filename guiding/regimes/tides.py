"""The tide at a beat: from a table for a place and the beat's lag to when the flood reaches it.

Only what a table prints is used. Between high and low water no height is worked out here: rules for
that (such as the rule of twelfths: common practice, no source) are made for depths under a keel
in open water, not for a wading line up a river, and nothing of that kind decides who wades.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from guiding.regimes.moved_water import TOLD_AFTER, MovedWater, OnRecord, Wave, wave_between
from guiding.regimes.riverclock import clock_words, day_words, days_between, readings_of

LEAST_LAG_HOURS, MOST_LAG_HOURS = -3.0, 12.0
LONGEST_FLOOD_HOURS = 12.0
LOWEST_TIDE_M, HIGHEST_TIDE_M = -5.0, 20.0
# Common practice, no source: twice-a-day tides follow one another in 4 to 9 hours, and a calendar
# day holds three or four of them; a table that shows less has lost a line.
TURNS_A_DAY = {True: (3, 4), False: (1, 4)}
APART = {True: (timedelta(hours=3), timedelta(hours=9)), False: (timedelta(hours=3), None)}
TABLE_NOT_WATER = (
    "A tide table knows neither wind nor air pressure nor a spate: the sea may come earlier and "
    "higher."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One high or low water as a table prints it. `height_m` None: not printed."""

    clock: time
    is_high: bool
    height_m: float | None = None

    def words(self) -> str:
        """Return "high 06:12 (4.80 m)"."""
        height = "" if self.height_m is None else f" ({self.height_m:.2f} m)"
        return f"{'high' if self.is_high else 'low'} {self.clock:%H:%M}{height}"


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTable:
    """The tides of one day at a place, by the table's own clock, the earliest first."""

    day: date
    turns: tuple[Turn, ...]
    said_by: str  # which table, or who read it out
    said_at: datetime
    kept_at: datetime

    def words(self) -> str:
        """Return the day's tides in words."""
        return ", ".join(turn.words() for turn in self.turns)


def turns_refusal(turns: tuple[Turn, ...], *, twice_a_day: bool) -> str:
    """Return why a day's tides cannot be a whole day of a table, or nothing.

    A tide that is left out is a tide nobody gets out for, so a day is whole or refused.
    """
    least, most = TURNS_A_DAY[twice_a_day]
    if not least <= len(turns) <= most:
        return f"{len(turns)} tides stand there; a day has {least} to {most}"
    if not any(turn.is_high for turn in turns):
        return "no high water stands there; a day has at least one"
    for before, after in pairwise(turns):
        if after.clock <= before.clock:
            return f"{after.clock:%H:%M} comes after {before.clock:%H:%M}; the earliest is first"
        if before.is_high == after.is_high:
            kind = "high" if after.is_high else "low"
            return (
                f"{before.clock:%H:%M} and {after.clock:%H:%M} are both {kind}; "
                "high and low water take turns"
            )
        apart = timedelta(
            hours=after.clock.hour - before.clock.hour,
            minutes=after.clock.minute - before.clock.minute,
        )
        shortest, longest = APART[twice_a_day]
        if apart < shortest or (longest is not None and apart > longest):
            hours = apart.total_seconds() / 3600
            return (
                f"{before.clock:%H:%M} and {after.clock:%H:%M} lie {hours:.1f} h apart; high and "
                "low water follow in 3 to 9 h, so a line is wrong or missing"
            )
        high, low = (before, after) if before.is_high else (after, before)
        if high.height_m is not None and low.height_m is not None and high.height_m <= low.height_m:
            return f"high water at {high.clock:%H:%M} is no higher than the low water beside it"
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TideAtBeat:
    """How the tide of a place comes to a beat, as the guide has seen it, with the tables on file.

    High water here is `lag_hours` after high water at the place. The flood is felt here from
    `flood_hours` before high water here until `ebb_hours` after it. `low_lag_hours` None: when low
    water is here is not known. `zone` is the clock that the table is printed in, which may be UTC
    all the year round. `gauge_is_here`: the beat's gauge feels the same tide.
    """

    place: str
    zone: ZoneInfo
    twice_a_day: bool
    lag_hours: float
    low_lag_hours: float | None
    flood_hours: float
    ebb_hours: float
    margin_hours: float
    cut_off: str
    gauge_is_here: bool
    tables: tuple[DayTable, ...] = ()

    def __post_init__(self) -> None:
        if not LEAST_LAG_HOURS <= self.lag_hours <= MOST_LAG_HOURS:
            raise ValueError(
                f"lag_hours is {self.lag_hours:g}; high water at a beat is {LEAST_LAG_HOURS:g} to "
                f"{MOST_LAG_HOURS:g} hours after the place's."
            )
        for name in ("flood_hours", "ebb_hours"):
            value = getattr(self, name)
            if not 0 < value <= LONGEST_FLOOD_HOURS:
                raise ValueError(
                    f"{name} is {value:g}; it is above 0 and at most {LONGEST_FLOOD_HOURS:g} hours."
                )
        if not 0 <= self.margin_hours <= LONGEST_FLOOD_HOURS:
            raise ValueError(
                f"margin_hours is {self.margin_hours:g}; it is 0 to {LONGEST_FLOOD_HOURS:g} hours."
            )

    @property
    def margin(self) -> timedelta:
        """Return the margin."""
        return timedelta(hours=self.margin_hours)


def _hours(hours: float) -> timedelta:
    return timedelta(hours=hours)


def days_needed(tide: TideAtBeat, starts_at: datetime, ends_at: datetime) -> tuple[date, ...]:
    """Return the days of the table whose high waters can be felt here in [starts_at, ends_at]."""
    lag = _hours(tide.lag_hours)
    early = starts_at - tide.margin - _hours(tide.ebb_hours) - lag
    late = ends_at + tide.margin + _hours(tide.flood_hours) - lag
    return days_between(early, late, tide.zone)


def days_looked_at(tide: TideAtBeat, starts_at: datetime, ends_at: datetime) -> tuple[date, ...]:
    """Return the days to read: those needed, and those soon after the hours."""
    return days_needed(tide, starts_at, ends_at + TOLD_AFTER)


def wave_of(tide: TideAtBeat, day: date, turn: Turn) -> Wave:
    """Return when the flood of one high water is felt at the beat.

    Notes
    -----
    Reached from high water + lag - flood_hours; felt until high water + lag + ebb_hours + margin;
    out by the first of these - margin, rounded down to five minutes.
    """
    early, late = (at + _hours(tide.lag_hours) for at in readings_of(day, turn.clock, tide.zone))
    return wave_between(
        "the flood tide",
        early - _hours(tide.flood_hours),
        late + _hours(tide.ebb_hours),
        tide.margin,
    )


def read_tide(
    tide: TideAtBeat, *, day: date, starts_at: datetime, ends_at: datetime, zone: ZoneInfo
) -> MovedWater:
    """Return what the tables say of the hours [starts_at, ends_at] at a beat.

    Without the table of every day that can be felt in the hours it is not known. `zone` is the
    river's own, for words.
    """
    on_file = {table.day: table for table in tide.tables}
    needed = days_needed(tide, starts_at, ends_at)
    read = [on_file[one] for one in days_looked_at(tide, starts_at, ends_at) if one in on_file]
    waves = tuple(
        wave_of(tide, table.day, turn) for table in read for turn in table.turns if turn.is_high
    )
    told = [table for table in read if table.day in needed]
    return MovedWater(
        day=day,
        starts_at=starts_at,
        ends_at=ends_at,
        zone=zone,
        missing=(
            *(
                f"no tide table of {tide.place} for {day_words(one)} is on file"
                for one in needed
                if one not in on_file
            ),
            *(
                f"the tide table of {tide.place} for {day_words(table.day)} is not whole: {why}"
                for table in told
                if (why := turns_refusal(table.turns, twice_a_day=tide.twice_a_day))
            ),
        ),
        waves=waves,
        says=tuple(_says(tide, told, waves, day, (starts_at, ends_at), zone)),
        on_record=tuple(
            OnRecord(
                what=f"tides at {tide.place}, {day_words(table.day)}",
                value=f"{table.words()}, by the clock of {tide.zone.key}",
                said_at=table.said_at,
                kept_at=table.kept_at,
                source=table.said_by,
            )
            for table in told
        ),
        gauge_is_there=tide.gauge_is_here,
    )


def _says(
    tide: TideAtBeat,
    told: list[DayTable],
    waves: tuple[Wave, ...],
    day: date,
    hours: tuple[datetime, datetime],
    zone: ZoneInfo,
) -> list[str]:
    says = [
        _turn_words(tide, table, turn, day, hours, zone) for table in told for turn in table.turns
    ]
    says = [line for line in says if line]
    for wave in sorted(waves, key=lambda wave: wave.arrives_at):
        if wave.is_gone(hours[0]) or wave.out_by_at > hours[1] + TOLD_AFTER:
            continue
        gone = clock_words(wave.gone_at, zone, day) if wave.gone_at else "not known"
        arrives = clock_words(wave.arrives_at, zone, day)
        says.append(f"By that table the flood is felt at this beat from {arrives} until {gone}.")
    if tide.cut_off and told:
        says.append(f"Cut off by the tide: {tide.cut_off.rstrip('.')}.")
    return [*says, TABLE_NOT_WATER] if told else says


def _turn_words(
    tide: TideAtBeat,
    table: DayTable,
    turn: Turn,
    day: date,
    hours: tuple[datetime, datetime],
    zone: ZoneInfo,
) -> str:
    """Return a high or low water that is here in the hours, or nothing."""
    kind = "High" if turn.is_high else "Low"
    lag = tide.lag_hours if turn.is_high else tide.low_lag_hours
    early, late = readings_of(table.day, turn.clock, tide.zone)
    there = clock_words(early, zone, day)
    height = "" if turn.height_m is None else f", {turn.height_m:.1f} m there"
    if lag is None:
        if not hours[0] <= early <= hours[1]:
            return ""
        return f"Low water at {tide.place} {there}{height}; when it is low here is not known."
    if late + _hours(lag) < hours[0] - tide.margin or early + _hours(lag) > hours[1] + tide.margin:
        return ""
    here = clock_words(early + _hours(lag), zone, day)
    give = round(tide.margin_hours * 60)
    return (
        f"{kind} water at {tide.place} {there}{height}; here about {here}, "
        f"give or take {give} minutes."
    )
