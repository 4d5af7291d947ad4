"""Water that comes without rain: when it may be at a beat, and by when everybody is out of it.

A wave is water let go at a dam, or the flood tide. What a schedule or a table says of it is a plan
and not a promise, so nothing here ever says that water does not come: it says what is on record,
until when the level measured now may speak, and the moment to be out by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.regimes.riverclock import clock_words, five_minutes_down, five_minutes_up

# Common practice, no source: a wave this soon after the hours is told as well, for days run on.
TOLD_AFTER = timedelta(hours=3)
PLAN_NOT_PROMISE = "A schedule is a plan and not a promise: water may be let go at any time."


@dataclass(frozen=True, slots=True, kw_only=True)
class Wave:
    """One rise that is planned: at the beat from `arrives_at` at the earliest.

    `out_by_at` lies at least the margin before it, on a full five minutes. `gone_at` is when it has
    gone by at the latest, margin counted in; None: nobody said when it ends.
    """

    what: str  # "water let go at Alder Dam", "the flood tide"
    out_by_at: datetime
    arrives_at: datetime
    gone_at: datetime | None

    def __post_init__(self) -> None:
        if self.out_by_at > self.arrives_at:
            raise ValueError(f"{self.what}: out by {self.out_by_at}, after it arrives.")
        if self.gone_at is not None and self.gone_at < self.arrives_at:
            raise ValueError(f"{self.what}: gone by {self.gone_at}, before it arrives.")

    def is_here(self, at: datetime) -> bool:
        """Say whether it may be at the beat, or the time to be out has come."""
        return self.out_by_at <= at and not self.is_gone(at)

    def is_gone(self, at: datetime) -> bool:
        """Say whether it has gone by; one without an end never has."""
        return self.gone_at is not None and at >= self.gone_at


def wave_between(
    what: str, starts_at: datetime, ends_at: datetime | None, margin: timedelta
) -> Wave:
    """Return the wave that reaches a beat at one moment and leaves it at another.

    Parameters
    ----------
    what : str
        What comes, in words.
    starts_at, ends_at : datetime
        When the water reaches the beat at the earliest and has left it at the latest by the
        schedule, before any margin; `ends_at` None: not known.
    margin : timedelta
        What the guide adds for all that nobody knows exactly; nought or more.

    Returns
    -------
    Wave
        out by = starts_at - margin, rounded down to a full five minutes; gone = ends_at + margin,
        rounded up.
    """
    if margin < timedelta(0):
        raise ValueError(f"margin is {margin}; it is nought or more.")
    return Wave(
        what=what,
        out_by_at=five_minutes_down(starts_at - margin),
        arrives_at=starts_at,
        gone_at=None if ends_at is None else five_minutes_up(ends_at + margin),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OnRecord:
    """One schedule or table as it is listed among the sources."""

    what: str  # "releases at Alder Dam, Thursday 26 November"
    value: str
    said_at: datetime
    kept_at: datetime  # when it came on file here
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedWater:
    """What is on record of releases and tide for the fishing hours of one beat.

    `missing` says what is not on file, in words; while it says anything, nothing is known of this
    water. `waves` are all that the record holds around the hours. `gauge_is_there`: the beat's
    gauge stands where it feels what moves this water, so what it reads now is this water's level.
    """

    day: date
    starts_at: datetime
    ends_at: datetime
    zone: ZoneInfo
    missing: tuple[str, ...] = ()
    waves: tuple[Wave, ...] = ()
    says: tuple[str, ...] = ()
    on_record: tuple[OnRecord, ...] = ()
    gauge_is_there: bool = False

    @property
    def is_known(self) -> bool:
        """Say whether everything that moves this water is on file for these hours."""
        return not self.missing

    def from_at(self, at: datetime) -> datetime:
        """Return the moment that advice asked for at a moment begins to hold: never before it."""
        return max(at, self.starts_at)

    def here(self, at: datetime) -> Wave | None:
        """Return a wave that may be at the beat at a moment: of several the one that stays longest.

        One without a known end stays longest of all.
        """
        there = [wave for wave in self.waves if wave.is_here(at)]
        without_end = [wave for wave in there if wave.gone_at is None]
        if without_end:
            return without_end[0]
        return max(there, key=lambda wave: wave.gone_at or at, default=None)

    def next_wave(self, at: datetime) -> Wave | None:
        """Return the wave to be out for first, of all that have not gone by when advice begins."""
        begins_at = self.from_at(at)
        ahead = [
            wave
            for wave in self.waves
            if not wave.is_gone(begins_at) and wave.out_by_at <= self.ends_at + TOLD_AFTER
        ]
        return min(ahead, key=lambda wave: wave.out_by_at, default=None)

    def out_by_at(self, at: datetime) -> datetime | None:
        """Return when everybody must be out; None: the record names no wave, or is not there.

        More water let go never makes it later: it is the least of all waves that have not gone by.
        """
        wave = self.next_wave(at)
        return wave.out_by_at if wave else None

    def may_be_here(self, at: datetime) -> bool | None:
        """Say whether moved water may be at the beat when the advice begins; None: not known.

        False is not leave to wade: it only lets soundings and the measured level be asked, and
        holds until `out_by_at` alone.
        """
        if not self.is_known:
            return None
        return self.here(self.from_at(at)) is not None

    def out_by_words(self, at: datetime) -> str:
        """Return the order to be out in words, or nothing where no wave is on record."""
        wave = self.next_wave(at)
        if wave is None:
            return ""
        begins_at = self.from_at(at)
        if wave.is_here(begins_at):
            return self._stay_back_words(begins_at)
        clock = clock_words(wave.out_by_at, self.zone, self.day)
        return f"Out of the water, and back from its edge, by {clock}."

    def _stay_back_words(self, begins_at: datetime) -> str:
        wave = self.here(begins_at)
        if wave is None or wave.gone_at is None:
            return "Stay back from the water: when it falls again is not known."
        until = clock_words(wave.gone_at, self.zone, self.day)
        return f"Stay back from the water until {until}, and then ask your guide."

    def because(self, at: datetime) -> str:
        """Return what leads to the order to be out, or nothing."""
        wave = self.next_wave(at)
        if wave is None:
            return ""
        clock = clock_words(wave.arrives_at, self.zone, self.day)
        return f"{wave.what} may be here from {clock} on"


def together(parts: Sequence[MovedWater]) -> MovedWater:
    """Return one record of everything that moves a water: a dam, another dam, the tide.

    What one does not know, the whole does not know; the gauge must feel every one of them.
    """
    first = parts[0]
    return MovedWater(
        day=first.day,
        starts_at=first.starts_at,
        ends_at=first.ends_at,
        zone=first.zone,
        missing=tuple(dict.fromkeys(line for part in parts for line in part.missing)),
        waves=tuple(wave for part in parts for wave in part.waves),
        says=tuple(dict.fromkeys(line for part in parts for line in part.says)),
        on_record=tuple(row for part in parts for row in part.on_record),
        gauge_is_there=all(part.gauge_is_there for part in parts),
    )
