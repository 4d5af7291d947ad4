"""The phase of the river on each path of a forecast: the rules of phases.py, many paths at once."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.conditions.measured import Sample
from guiding.gauges.conditions.phases import (
    CLIMB_HOURS,
    CLIMB_M,
    COLOURED_HOURS,
    COLOURED_SHARE,
    COVERED_SHARE,
    DAY,
    FIRST_RISE_HOURS,
    FRESHET_M,
    HOUR,
    SETTLED_DAYS,
    SETTLED_M_DAY,
    STALE_DAYS,
    TURN_M,
    TURN_SHARE,
    is_covered,
    last_leg,
    near,
)
from guiding.gauges.conditions.values import Phase
from guiding.gauges.hydrology.record import Array

PHASES = tuple(Phase)
Codes = NDArray[np.int64]  # places in PHASES
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Runs:
    """What was measured and what each path goes on with: (paths, samples), the moments shared."""

    moments: Sequence[datetime]
    levels: Array
    step: timedelta
    measured: int  # how many of the samples are no path's own

    @property
    def now_at(self) -> datetime:
        """Return the moment of the last sample."""
        return self.moments[-1]

    def within(self, span: timedelta) -> Flags:
        """Say of each sample whether it lies no longer than this before the last."""
        return np.array([self.now_at - moment <= span for moment in self.moments])

    def near(self, at: datetime) -> int | None:
        """Return the sample that may stand for a moment, as measured.nearest finds it."""
        place = bisect_left(self.moments, at)
        around = range(max(0, place - 1), min(len(self.moments), place + 1))
        found = min(around, key=lambda i: abs(self.moments[i] - at), default=None)
        if found is None or abs(self.moments[found] - at) > near(self.step):
            return None
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Legs:
    """The last movement on each path; `foot` is -1 where no climb began on file."""

    way: Codes
    low: Codes
    high: Codes
    foot: Codes


def phases_of_paths(
    before: Sequence[Sample],
    times: Sequence[datetime],
    paths: Array,
    at: datetime,
    step: timedelta,
    low_below_m: float | None,
) -> Codes:
    """Return the phase at a moment on each path, as places in PHASES.

    Parameters
    ----------
    before : moments (aware) and levels [m] measured, the oldest first, none after `at`
    times : moments of the paths' steps, after those measured, none after `at`
    paths : levels [m], shape (paths, steps), without NaN
    at : the moment asked about
    step : the record's own step
    low_below_m : [m] the lowest mark; None: no marks on file

    Returns
    -------
    shape (paths,); on each path what `read_phase` returns for the run of `before` and that path
    """
    moments = [moment for moment, _ in before] + list(times)
    codes = np.full(len(paths), PHASES.index(Phase.NOT_KNOWN))
    if not moments or not is_covered(moments, at, step):
        return codes
    known = np.array([level for _, level in before], dtype=float)
    levels = np.hstack([np.broadcast_to(known, (len(paths), known.size)), paths])
    runs = _Runs(moments=moments, levels=levels, step=step, measured=known.size)
    legs = _last_legs(runs)
    _set(codes, legs.way == 0, _unmoved(runs))
    up = np.flatnonzero(legs.way > 0)
    codes[up] = _going_up(runs, legs, up)
    down = np.flatnonzero(legs.way < 0)
    codes[down] = _going_down(runs, legs, down)
    days = _settled_days(runs, runs.now_at)
    settled = days >= SETTLED_DAYS
    _set(codes, settled, Phase.SETTLED)
    if low_below_m is not None:
        lately = bisect_left(moments, runs.now_at - STALE_DAYS * DAY)
        is_low = levels[:, lately:].max(axis=1) < low_below_m
        _set(codes, (days > STALE_DAYS) & is_low, Phase.STALE)
    return codes


def _set(codes: Codes, where: Flags, phase: Phase) -> None:
    codes[where] = PHASES.index(phase)


def _unmoved(runs: _Runs) -> Phase:
    is_short = runs.now_at - runs.moments[0] < timedelta(days=SETTLED_DAYS) - runs.step
    return Phase.NOT_KNOWN if is_short else Phase.SETTLED


def _last_legs(runs: _Runs) -> _Legs:
    """Follow every path from turn to turn, from where the measured levels end."""
    levels, count = runs.levels, len(runs.levels)
    begun = last_leg(levels[0, : runs.measured].tolist()) if runs.measured and count else None
    foot_begun = -1 if begun is None or begun.foot is None else begun.foot
    way, low, high, foot = (
        np.full(count, value)
        for value in (*((begun.way, begun.low, begun.high) if begun else (0, 0, 0)), foot_begun)
    )
    rows = np.arange(count)
    low_m, high_m = levels[rows, low], levels[rows, high]
    for i in range(runs.measured, levels.shape[1]):
        level = levels[:, i]
        may_fall, may_rise = way >= 0, way <= 0
        higher = may_fall & (level >= high_m)
        high, high_m = np.where(higher, i, high), np.where(higher, level, high_m)
        lower = may_rise & (level <= low_m)
        low, low_m = np.where(lower, i, low), np.where(lower, level, low_m)
        climbed = np.where(way > 0, high_m - low_m, 0.0)
        falls = may_fall & (high_m - level >= np.maximum(TURN_M, TURN_SHARE * climbed) - 1e-9)
        rises = ~falls & may_rise & (level - low_m >= TURN_M - 1e-9)
        foot = np.where(rises, low, foot)
        low, low_m = np.where(falls, i, low), np.where(falls, level, low_m)
        high, high_m = np.where(rises, i, high), np.where(rises, level, high_m)
        way = np.where(falls, -1, np.where(rises, 1, way))
    return _Legs(way=way, low=low, high=high, foot=foot)


def _settled_days(runs: _Runs, at: datetime, rows: Codes | None = None) -> Codes:
    """Return how many whole days before a moment the level stayed where it was, on each path."""
    levels = runs.levels if rows is None else runs.levels[rows]
    days = np.zeros(len(levels), dtype=np.int64)
    still = np.ones(len(levels), dtype=bool)
    for day in range(STALE_DAYS + 1):
        end, start = at - day * DAY, at - (day + 1) * DAY
        last, first = runs.near(end), runs.near(start)
        since, until = bisect_left(runs.moments, start), bisect_right(runs.moments, end)
        if last is None or first is None or until - since < COVERED_SHARE * (DAY / runs.step):
            break
        inside = levels[:, since:until]
        still &= np.abs(levels[:, last] - levels[:, first]) < SETTLED_M_DAY - 1e-9
        still &= inside.max(axis=1) - inside.min(axis=1) < FRESHET_M
        days += still
        if not still.any():
            break
    return days


def _going_up(runs: _Runs, legs: _Legs, rows: Codes) -> Codes:
    levels, now = runs.levels[rows], runs.levels[rows, -1]
    low, high = legs.low[rows], legs.high[rows]
    crests = runs.within(max(COLOURED_HOURS * HOUR, 1.5 * runs.step))[high]
    codes = np.where(crests, PHASES.index(Phase.PEAK), PHASES.index(Phase.FINING_DOWN))
    before = runs.near(runs.now_at - max(CLIMB_HOURS * HOUR, runs.step))
    if before is None or not rows.size:
        return codes
    here = np.arange(len(rows))
    climbing = levels[here, high] - now <= CLIMB_M + 1e-9
    climbing &= now - levels[:, before] >= CLIMB_M - 1e-9
    _set(codes, climbing, Phase.RISING)
    places = np.arange(levels.shape[1])
    on_foot = levels < levels[here, low][:, None] + SETTLED_M_DAY - 2e-9
    on_foot &= (places >= low[:, None]) & (places <= high[:, None])
    began = levels.shape[1] - 1 - on_foot[:, ::-1].argmax(axis=1)
    is_new = climbing & runs.within(max(FIRST_RISE_HOURS * HOUR, runs.step))[began]
    for place in np.unique(began[is_new]):
        these = np.flatnonzero(is_new & (began == place))
        days = _settled_days(runs, runs.moments[place], rows[these])
        codes[these[days >= SETTLED_DAYS]] = PHASES.index(Phase.FIRST_RISE)
    return codes


def _going_down(runs: _Runs, legs: _Legs, rows: Codes) -> Codes:
    high, foot = legs.high[rows], legs.foot[rows]
    crest_m, now = runs.levels[rows, high], runs.levels[rows, -1]
    climbed_m = crest_m - runs.levels[rows, np.maximum(foot, 0)]
    is_new = runs.within(max(COLOURED_HOURS * HOUR, 1.5 * runs.step))[high]
    is_high = (foot < 0) | (crest_m - now <= (1 - COLOURED_SHARE) * climbed_m + 1e-9)
    return np.where(
        is_new & is_high,
        PHASES.index(Phase.COLOURED_FALLING),
        PHASES.index(Phase.FINING_DOWN),
    )
