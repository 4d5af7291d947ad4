"""Which way the river goes: one rule for every page, command and pack that says so."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from guiding.gauges.hydrology.record import ForecastRecord

# Every number here is common practice, no source.
STEADY_M = 0.02  # a smaller change is no more than the gauge's own flutter
STAYS_M = 0.05  # a level that stays this near is called steady
MOSTLY = 0.8  # four times in five: what may be said without "probably"
MAY = 0.1  # one time in ten, the band's own edge: from here a move is not kept quiet
NEXT_STEPS = 12  # "now" is the next twelve hours, or the day under way

SLACK = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """Where the level is going: 1 up, -1 down, 0 neither, and the words."""

    way: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Change:
    """The change [m] from the level now to one step, and how much of it is surely how large.

    `ups` and `downs` are the shares that pass STEADY_M; `lifts` and `drops` those that pass
    STAYS_M. Without whole paths each is the least that the band allows.
    """

    middle_m: float
    ups: float
    downs: float
    lifts: float
    drops: float


def next_place(record: ForecastRecord, at: datetime) -> int | None:
    """Return the step that says which way the river goes now; None where nothing is known of it.

    The twelfth hour from a moment on, the last one before it that is known, or the day under way.
    """
    lasts = timedelta(days=1) if record.is_daily else timedelta(0)
    coming = [place for place, moment in enumerate(record.times) if moment + lasts > at]
    found = None
    for place in coming[: 1 if record.is_daily else NEXT_STEPS]:
        if not _is_known(record, place):
            break
        found = place
    return found


def direction_at(record: ForecastRecord, place: int, level_m: float) -> Direction | None:
    """Return which way the river goes from a level [m] to one step of a forecast.

    None where the step is not known. As firm as the paths allow: "rising" where four in five rise
    by 2 cm or more, "probably" where their middle does. Steady: fewer than one in ten move by
    5 cm or more either way. Else it may move, and the way it may is said. Without whole paths the
    band stands for them, and nothing firmer is said than it allows.
    """
    change = _change(record, place, level_m)
    if change is None:
        return None
    if change.middle_m >= STEADY_M - SLACK:
        return Direction(way=1, words="Rising." if change.ups >= MOSTLY else "Probably rising.")
    if change.middle_m <= -STEADY_M + SLACK:
        words = "Falling." if change.downs >= MOSTLY else "Probably falling."
        return Direction(way=-1, words=words)
    may_rise, may_fall = change.lifts >= MAY, change.drops >= MAY
    if may_rise and may_fall:
        return Direction(way=0, words="It may rise or fall.")
    if may_rise or may_fall:
        way = "rise" if may_rise else "fall"
        return Direction(way=0, words=f"Little change, or it may {way}.")
    return Direction(way=0, words="Steady.")


def _is_known(record: ForecastRecord, place: int) -> bool:
    if record.paths is not None:
        return bool(np.isfinite(record.paths[:, place]).all())
    return None not in (record.q10[place], record.q50[place], record.q90[place])


def _change(record: ForecastRecord, place: int, level_m: float) -> _Change | None:
    if record.paths is not None and _is_known(record, place):
        change = record.paths[:, place] - level_m
        return _Change(
            middle_m=float(np.median(change)),
            ups=float((change >= STEADY_M - SLACK).mean()),
            downs=float((change <= -STEADY_M + SLACK).mean()),
            lifts=float((change >= STAYS_M - SLACK).mean()),
            drops=float((change <= -STAYS_M + SLACK).mean()),
        )
    low, middle, high = record.q10[place], record.q50[place], record.q90[place]
    if low is None or middle is None or high is None:
        return None
    low, middle, high = low - level_m, middle - level_m, high - level_m
    return _Change(
        middle_m=middle,
        ups=_least_share(low, middle, high, STEADY_M),
        downs=_least_share(-high, -middle, -low, STEADY_M),
        lifts=_least_share(low, middle, high, STAYS_M),
        drops=_least_share(-high, -middle, -low, STAYS_M),
    )


def _least_share(low: float, middle: float, high: float, least_m: float) -> float:
    """Return the share that surely passes a change, given its 10, 50 and 90 % quantiles."""
    for quantile, share in ((low, 0.9), (middle, 0.5), (high, 0.1)):
        if quantile >= least_m - SLACK:
            return share
    return 0.0
