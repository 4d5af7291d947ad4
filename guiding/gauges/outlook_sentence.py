"""The outlook in one breath: which way, when past which mark, what the rain may do; from paths."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from guiding.gauges.hydrology.record import Array, ForecastRecord, MarkLevel
from guiding.gauges.outlook_words import STEADY_M, WIDE_M, chance_words, percent_words
from guiding.gauges.rain_shown import FORECAST, RainShown

# Every number here is common practice, no source.
MOSTLY = 0.8  # four times in five: what may be said without "probably"
LIKELY = 0.6
MAY = 0.2  # one time in five: from here a rise is spoken of
EARLY = 0.1
WORTH_A_WORD = 0.05
DIRECTION_H = 12
STAYS_M = 0.05  # a level that stays this near is called steady
LIFT_M = 0.10
WET_DAY_MM = 2.0
NEARLY_FIVE_DAYS = timedelta(days=4, hours=12)
LONGEST_SEEN = 40  # letters of what is seen at a mark that fit into a sentence
OVER_BANK = "over_bank"
CLOCK_H = 3  # moments are said at the next third hour of the clock

NOT_KNOWN = "What the river will do is not known"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ahead:
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


def outlook_sentence(
    record: ForecastRecord | None,
    levels: Sequence[tuple[datetime, float]],
    marks: Sequence[MarkLevel] | None,
    rain: Sequence[RainShown],
    at: datetime,
    zone: ZoneInfo,
) -> str:
    """Return what the river will do from now on, every part of it true of the forecast's paths.

    The direction is that of the next twelve hours or the next day. A mark is said to be passed by
    a moment where four paths in five lie beyond it at that moment. A lift is a rise of 10 cm above
    the lowest level before it. What is not known is said. `marks` None: they do not hold now, and
    nothing is said of them.
    """
    ahead = _known_ahead(record, levels, at, zone)
    if ahead is None:
        return f"{NOT_KNOWN}."
    way, words = _direction(ahead)
    said, upper = _marks(ahead, marks, way)
    parts = [words, *said]
    if way > 0:
        parts += [*_beside(ahead, upper), *_top(ahead)]
    else:
        parts += _lift(ahead, rain, at, upper)
    parts += _further_up(ahead, marks or ())
    parts += _rain_not_known(ahead, rain, at)
    if not ahead.is_all:
        parts.append(f"After {_at(ahead, ahead.times[-1])} it is not known.")
    return " ".join(parts)


def _known_ahead(
    record: ForecastRecord | None,
    levels: Sequence[tuple[datetime, float]],
    at: datetime,
    zone: ZoneInfo,
) -> _Ahead | None:
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
    return _Ahead(
        paths=record.paths[:, known],
        times=tuple(record.times[step] for step in known),
        ends_at=record.times[known[-1]] + over,
        is_all=len(known) == len(coming),
        level_m=levels[-1][1],
        is_daily=record.is_daily,
        zone=zone,
        at=at,
    )


def _at(ahead: _Ahead, moment: datetime) -> str:
    local = moment.astimezone(ahead.zone)
    return f"{local:%A}" if ahead.is_daily else f"{local:%A %H:%M}"


def _direction(ahead: _Ahead) -> tuple[int, str]:
    """Return 1 for rising, -1 for falling, 0 for neither, and the words."""
    step = 0 if ahead.is_daily else min(DIRECTION_H, len(ahead.times)) - 1
    change = ahead.paths[:, step] - ahead.level_m
    for way, share, word in (
        (1, (change >= STEADY_M).mean(), "rising"),
        (-1, (change <= -STEADY_M).mean(), "falling"),
    ):
        if share >= LIKELY:
            return way, f"{word.capitalize()}." if share >= MOSTLY else f"Probably {word}."
    middle = float(np.median(change))
    if abs(middle) >= STEADY_M:  # the same word that the forecast of a day would choose
        return 0, f"Probably {'rising' if middle > 0 else 'falling'} slowly."
    near = (np.abs(change) < STAYS_M).mean()
    if near >= MOSTLY:
        return 0, "Steady."
    return 0, "Little change likely." if near >= LIKELY else "It may rise or fall."


def _marks(
    ahead: _Ahead, marks: Sequence[MarkLevel] | None, way: int
) -> tuple[list[str], MarkLevel | None]:
    """Return when the next mark is passed, and the mark above if a rise to it must be said too."""
    if not marks:
        return ([] if marks is None else ["No mark is on file."]), None
    reached = [mark for mark in marks if mark.level_m <= ahead.level_m]
    lower = max(reached, key=lambda mark: mark.level_m, default=None)
    above = [mark for mark in marks if mark.level_m > ahead.level_m]
    upper = min(above, key=lambda mark: mark.level_m, default=None)
    falls = 0.0 if lower is None else (ahead.paths < lower.level_m).any(axis=1).mean()
    rises = 0.0 if upper is None else (ahead.paths >= upper.level_m).any(axis=1).mean()
    if max(falls, rises) < WORTH_A_WORD:
        return [_stays(ahead, lower, upper)], None
    if lower is not None and falls >= WORTH_A_WORD and (falls >= rises or way < 0):
        return [_passes(ahead, lower, is_rise=False)], upper if rises >= MAY else None
    return _beside(ahead, upper), None


def _beside(ahead: _Ahead, upper: MarkLevel | None) -> list[str]:
    return [] if upper is None else [_passes(ahead, upper, is_rise=True)]


def _further_up(ahead: _Ahead, marks: Sequence[MarkLevel]) -> list[str]:
    """Return the highest mark that may well be passed beyond the next one: never left unsaid.

    Over the bank is said from one path in twenty on, any other mark from one in five.
    """
    above = sorted((m for m in marks if m.level_m > ahead.level_m), key=lambda m: -m.level_m)
    for mark in above[:-1]:
        share = float((ahead.paths >= mark.level_m).any(axis=1).mean())
        if share >= (WORTH_A_WORD if mark.kind == OVER_BANK else MAY):
            name = "" if mark.name in mark.seen else f" ({mark.name})"
            return [f"{mark.level_m:.2f} m or more{name} {ahead.until}: {chance_words(share)}."]
    return []


def _mark_words(mark: MarkLevel) -> str:
    seen = f" ({mark.seen})" if mark.seen and len(mark.seen) <= LONGEST_SEEN else ""
    return f"{mark.level_m:.2f} m{seen}"


def _stays(ahead: _Ahead, lower: MarkLevel | None, upper: MarkLevel | None) -> str:
    inside = np.ones(ahead.paths.shape, dtype=bool)
    limits = []
    if lower is not None:
        inside &= ahead.paths >= lower.level_m
        limits.append(f"at or above {_mark_words(lower)}")
    if upper is not None:
        inside &= ahead.paths < upper.level_m
        limits.append(f"below {_mark_words(upper)}")
    share = float(inside.all(axis=1).mean())
    until = _at(ahead, ahead.times[-1])
    return f"It stays {' and '.join(limits)} until {until}: {chance_words(share)}."


def _passes(ahead: _Ahead, mark: MarkLevel, *, is_rise: bool) -> str:
    beyond = ahead.paths >= mark.level_m if is_rise else ahead.paths < mark.level_m
    way = "At or above" if is_rise else "Below"
    shares = beyond.mean(axis=0)
    step = _first(shares, MOSTLY)
    if step is None:
        share = float(beyond.any(axis=1).mean())
        return f"{way} {_mark_words(mark)} at some time {ahead.until}: {chance_words(share)}."
    moment, share = _on_the_clock(ahead, shares, step)
    words = f"{way} {_mark_words(mark)} by {ahead.by(moment)}, {_times_words(share)}"
    if is_rise:
        ever = np.maximum.accumulate(beyond, axis=1).mean(axis=0)
        early = _first(ever, EARLY)
        if early is not None and ahead.times[early] < ahead.times[step]:
            words += f", and one time in ten already by {ahead.by(ahead.times[early])}"
    return f"{words}."


def _first(shares: Array, least: float) -> int | None:
    found = np.flatnonzero(shares >= least)
    return int(found[0]) if found.size else None


def _on_the_clock(ahead: _Ahead, shares: Array, step: int) -> tuple[datetime, float]:
    """Return the next third hour of the clock from a step on where the share still holds."""
    moment = ahead.times[step]
    if ahead.is_daily:
        return moment, float(shares[step])
    for later in range(step, min(step + CLOCK_H, len(ahead.times))):
        local = ahead.times[later].astimezone(ahead.zone)
        if shares[later] < MOSTLY:
            break
        if local.hour % CLOCK_H == 0 and local.minute == 0:
            return ahead.times[later], float(shares[later])
    return moment, float(shares[step])


def _times_words(share: float) -> str:
    """Return a large share of paths as rods say it."""
    if share >= 0.95:
        return "almost certain"
    return "nine times in ten" if share >= 0.9 else "four times in five"


def _top(ahead: _Ahead) -> list[str]:
    """Return when a rising river stands highest, or that it may still rise at the end."""
    highest = ahead.paths.argmax(axis=1)
    last = ahead.paths.shape[1] - 1
    if (highest == last).mean() >= MAY:
        return [
            f"It may still be rising at the end of this forecast, {_at(ahead, ahead.times[-1])}."
        ]
    first, until = (int(step) for step in np.quantile(highest, [0.1, 0.9], method="nearest"))
    low, high = np.quantile(ahead.paths.max(axis=1), [0.1, 0.9])
    digits = 1 if high - low >= WIDE_M else 2
    how_high = f"at {low:.{digits}f} to {high:.{digits}f} m"
    if ahead.day(first) == ahead.day(until):
        when = f"on {ahead.times[first].astimezone(ahead.zone):%A}"
    else:
        begin, end = (_at(ahead, ahead.times[step]) for step in (first, until))
        when = f"between {begin} and {end}"
    return [f"Highest {when}, {how_high}, each four times in five."]


def _lift(
    ahead: _Ahead, rain: Sequence[RainShown], at: datetime, upper: MarkLevel | None
) -> list[str]:
    """Return what rain ahead may do to a river that falls or stands, up to the mark above."""
    with_now = np.column_stack([np.full(len(ahead.paths), ahead.level_m), ahead.paths])
    lowest = np.minimum.accumulate(with_now, axis=1)[:, 1:]
    lifted = np.maximum.accumulate(ahead.paths - lowest >= LIFT_M, axis=1).mean(axis=0)
    share = float(lifted[-1])
    wet = {day: mm for day, mm in _by_day(ahead, rain, at).items() if mm >= WET_DAY_MM}
    step = _first(lifted, MAY)
    lift = f"{LIFT_M * 100:.0f} cm or more: {percent_words(share)}"
    if step is None:
        said = _beside(ahead, upper)
        if wet and ahead.is_all and not _rain_not_known(ahead, rain, at):
            day = max(wet, key=lambda day: wet[day])
            words = f"Rain on {day:%A} ({wet[day]:.0f} mm) is unlikely to lift it by"
            said.append(f"{words} {lift}.")
        return said
    if upper is not None:
        reaches = float((ahead.paths >= upper.level_m).any(axis=1).mean())
        lift += f"; {upper.level_m:.2f} m or more: {percent_words(reaches)}"
    day = ahead.day(step)
    before = {wet_day: mm for wet_day, mm in wet.items() if wet_day <= day}
    verb = "will probably" if share >= LIKELY else "may"
    if before:
        wettest = max(before, key=lambda day: before[day])
        return [f"Rain on {wettest:%A} {verb} lift it again ({lift})."]
    return [f"It {verb} rise again from {day:%A} on ({lift})."]


def _by_day(ahead: _Ahead, rain: Sequence[RainShown], at: datetime) -> dict[date, float]:
    """Return the rain forecast for each of the river's days, each step where its middle lies."""
    days: dict[date, float] = {}
    for step in rain:
        if step.known_as == FORECAST and at < step.ends_at and step.starts_at < ahead.ends_at:
            day = step.middle_at.astimezone(ahead.zone).date()
            days[day] = days.get(day, 0.0) + step.mm
    return days


def _rain_not_known(ahead: _Ahead, rain: Sequence[RainShown], at: datetime) -> list[str]:
    """Return from when on the rain ahead is not known; a dry forecast is said as well."""
    coming = [s for s in rain if s.known_as == FORECAST and s.ends_at > at]
    if not coming:
        return ["The rain to come is not known."]
    reached = max(coming[0].starts_at, at)
    holes = coming[0].starts_at - at > timedelta(hours=2)
    for step in coming:
        holes |= step.starts_at > reached and step.starts_at < ahead.ends_at
        reached = max(reached, step.ends_at)
    says = []
    if holes:
        says.append("Part of the rain forecast is missing.")
    if ahead.ends_at - reached > timedelta(hours=6):
        says.append(f"After {_at_hour(ahead, reached)} the rain is not known.")
    if not says and sum(_by_day(ahead, rain, at).values()) < WET_DAY_MM:
        says.append("Little or no rain is forecast.")
    return says


def _at_hour(ahead: _Ahead, moment: datetime) -> str:
    return f"{moment.astimezone(ahead.zone):%A %H:%M}"
