"""How two gauges of one river move together: how much later, how much more, and how surely.

A further gauge can stand in for a beat's first one only by what both records say together: the
level here is its last known value plus the ratio times the change there since, so much later.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from guiding.gauges.hydrology.record import DAY_MINUTES, Array

# All of these are common practice, no source.
WIDEST_LAG = {60: 48, DAY_MINUTES: 5}  # steps searched either way
LAG_OVER = {60: 6, DAY_MINUTES: 1}  # the changes that show when water arrives
RATIO_OVER = {60: 24, DAY_MINUTES: 2}  # the changes that show how much of it there is
HORIZONS = {
    60: (1, 3, 6, 12, 24, 48, 72, 120, 168),
    DAY_MINUTES: (1, 2, 3, 5, 7, 14),
}
FEWEST_TOGETHER = {60: 60 * 24, DAY_MINUTES: 180}  # steps that both records hold
FEWEST_RISES = 5
RISE_SHARE = 0.1  # of the range of a record: a day's rise of that much is one
LEAST_R2 = 0.5
RATIOS = (0.05, 20.0)
BLOCKS = 5
SPREAD_SHARE = 0.9  # of the errors lie within the spread
BIG_SHARE = 0.9  # changes above this quantile are big ones

HUBER = 1.345  # times the scale of the residuals (Huber 1964, see `fit_ratio`)
MAD_TO_SD = 1.4826
LEAST_SCALE = 0.05  # of a big change: most hours of a river change nothing at all
ROUNDS = 8


class TooLittleTogether(ValueError):
    """Two records that cannot be paired; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """How the level here follows the level there.

    `lag_steps`: what is there now is here so many steps later; negative where it is here first.
    `ratio`: metres here for one metre there. `n`: pairs of changes it was learned from. `r2`: the
    share of the changes here over a day (two of a daily record) that is explained, tried on blocks
    left out. `spread_m`: for each horizon [steps] since both were last known, how far [m] nine in
    ten of the levels so worked out lie at most from those measured. `spread_share`: the same for
    big changes as a share of the change. `lowest_m`, `highest_m`: the levels there [m] that were
    seen; beyond them nothing has been learned.
    """

    step_minutes: int
    lag_steps: int
    ratio: float
    n: int
    r2: float
    spread_m: tuple[tuple[int, float], ...]
    spread_share: float
    lowest_m: float
    highest_m: float


def learn_pair(
    here_m: Array,
    there_m: Array,
    step_minutes: int,
    *,
    lag_steps: int | None = None,
    ratio: float | None = None,
) -> Pair:
    """Learn how the level at one gauge follows the level at another.

    Parameters
    ----------
    here_m, there_m : (steps,)
        Levels [m] on the same steps, oldest first, NaN where not known.
    step_minutes : int
        60 or 1440.
    lag_steps, ratio : int, float or None
        What somebody has said already: kept as it is, and only its spread is learned.

    Returns
    -------
    Pair
        Lag in whole steps by the changes that it explains best, ratio by robust regression.

    Raises
    ------
    TooLittleTogether
        Too short a common record, too few rises in it, or a fit that explains too little.
    """
    if here_m.shape != there_m.shape or here_m.ndim != 1:
        raise ValueError(f"levels of shape {here_m.shape} and {there_m.shape}; two alike rows.")
    _check_together(here_m, there_m, step_minutes)
    lag = _best_lag(here_m, there_m, step_minutes) if lag_steps is None else lag_steps
    there = shifted(there_m, lag)
    change, cause = _changes(here_m, there, RATIO_OVER[step_minutes])
    fitted = fit_ratio(change, cause) if ratio is None else ratio
    _check_ratio(fitted)
    trials = {h: _left_out(here_m, there, h, step_minutes, ratio) for h in HORIZONS[step_minutes]}
    tried = trials[RATIO_OVER[step_minutes]]
    r2 = _explained(*tried)
    if not r2 >= LEAST_R2:
        raise TooLittleTogether(
            f"the one explains only {max(r2, 0):.0%} of how the other moves, and "
            f"{LEAST_R2:.0%} is the least"
        )
    known = there_m[np.isfinite(there_m)]
    return Pair(
        step_minutes=step_minutes,
        lag_steps=lag,
        ratio=fitted,
        n=change.size,
        r2=r2,
        spread_m=_spreads(trials),
        spread_share=_spread_share(*tried),
        lowest_m=float(known.min()),
        highest_m=float(known.max()),
    )


def shifted(level_m: Array, lag: int) -> Array:
    """Return a record `lag` steps later, of the same length, NaN where nothing comes from."""
    out = np.full(level_m.shape, np.nan)
    if lag >= 0:
        out[lag:] = level_m[: level_m.size - lag]
    else:
        out[:lag] = level_m[-lag:]
    return out


def fit_ratio(change: Array, cause: Array) -> float:
    """Return the slope through the origin of (n,) changes on their causes, by Huber's estimator.

    NaN where the cause never moves. A gauge that spikes or slips pulls it by a bounded amount.

    References
    ----------
    Huber 1964, Robust estimation of a location parameter, Ann. Math. Statist. 35:73-101; the
    tuning constant 1.345 and iterated weights from memory.
    """
    if not np.any(cause):
        return math.nan
    ratio, least = float(change @ cause / (cause @ cause)), _least_scale(change)
    for _ in range(ROUNDS):
        off = np.abs(change - ratio * cause)
        reach = HUBER * max(MAD_TO_SD * float(np.median(off)), least)
        weight = np.minimum(1, reach / np.maximum(off, 1e-300)) if reach > 0 else np.ones(off.size)
        below = float((weight * cause) @ cause)
        if below <= 0:
            break
        ratio = float((weight * change) @ cause) / below
    return ratio


def _check_together(here_m: Array, there_m: Array, step_minutes: int) -> None:
    together = int((np.isfinite(here_m) & np.isfinite(there_m)).sum())
    fewest = FEWEST_TOGETHER[step_minutes]
    word = _steps_word(step_minutes)
    if together < fewest:
        raise TooLittleTogether(
            f"both have only {together} {word} on file together, and {fewest} are the least"
        )
    for level_m in (here_m, there_m):
        rises = _rises(level_m, step_minutes)
        if rises < FEWEST_RISES:
            raise TooLittleTogether(
                f"one of them has only {rises} rises on file, and {FEWEST_RISES} are the least"
            )


def _rises(level_m: Array, step_minutes: int) -> int:
    """Return how many separate rises a record holds: days apart, each a tenth of its range."""
    low, high = np.nanquantile(level_m, [0.01, 0.99])
    day = DAY_MINUTES // step_minutes
    if high <= low:
        return 0
    up = np.flatnonzero(level_m[day:] - level_m[:-day] >= RISE_SHARE * (high - low))
    return int(up.size > 0) + int((np.diff(up) > 2 * day).sum())


def _best_lag(here_m: Array, there_m: Array, step_minutes: int) -> int:
    """Return the lag [steps] whose changes there leave the least of the changes here unexplained.

    The nearer to none of lags that do equally well; TooLittleTogether where it is the widest.
    """
    widest = WIDEST_LAG[step_minutes]
    lags = sorted(range(-widest, widest + 1), key=abs)
    best = max(lags, key=lambda lag: _score(here_m, shifted(there_m, lag), step_minutes))
    if abs(best) == widest:
        raise TooLittleTogether(
            f"no lag within {widest} {_steps_word(step_minutes)} explains one by the other best"
        )
    return best


def _score(here_m: Array, there_m: Array, step_minutes: int) -> float:
    change, cause = _changes(here_m, there_m, LAG_OVER[step_minutes])
    if not np.any(cause) or not np.any(change):
        return -math.inf
    ratio = fit_ratio(change, cause)
    if ratio <= 0:
        return -math.inf
    reach = HUBER * _least_scale(change)
    left = float(_loss(change - ratio * cause, reach).sum())
    return 1 - left / float(_loss(change, reach).sum())


def _loss(off: Array, reach: float) -> Array:
    """Return Huber's loss: square near nought, straight beyond the reach."""
    size = np.abs(off)
    return np.where(size <= reach, size**2 / 2, reach * (size - reach / 2))


def _least_scale(change: Array) -> float:
    return LEAST_SCALE * float(np.quantile(np.abs(change), 0.99)) if change.size else 0.0


def _changes(here_m: Array, there_m: Array, over: int) -> tuple[Array, Array]:
    """Return the changes over so many steps of both, (n,) each, where all four levels are known."""
    change = here_m[over:] - here_m[:-over]
    cause = there_m[over:] - there_m[:-over]
    known = np.isfinite(change) & np.isfinite(cause)
    return change[known], cause[known]


def _left_out(
    here_m: Array, there_m: Array, over: int, step_minutes: int, ratio: float | None
) -> tuple[Array, Array]:
    """Return changes here and what each would have been told as, its own stretch left out.

    Both (n,). The record is cut into five stretches; the ratio that tells one is fitted on the
    other four, unless it was said.
    """
    fitted_over = RATIO_OVER[step_minutes]
    edges = np.linspace(0, here_m.size, BLOCKS + 1).astype(int)
    measured, told = [], []
    for begin, end in pairwise(edges):
        parts = [
            _changes(here_m[a:b], there_m[a:b], fitted_over)
            for a, b in ((0, begin), (end, here_m.size))
            if b - a > fitted_over
        ]
        change, cause = (np.concatenate(rows) for rows in zip(*parts, strict=True))
        mine = _changes(here_m[begin:end], there_m[begin:end], over)
        measured.append(mine[0])
        told.append((fit_ratio(change, cause) if ratio is None else ratio) * mine[1])
    return np.concatenate(measured), np.concatenate(told)


def _explained(measured: Array, told: Array) -> float:
    """Return the share of the changes' squares that is explained; a spike counts as a big change.

    1 - sum min(|error|, c)^2 / sum min(|change|, c)^2, c the 99 % quantile of the changes' size.
    """
    known = np.isfinite(told)
    measured, told = measured[known], told[known]
    most = float(np.quantile(np.abs(measured), 0.99)) if measured.size else 0.0
    all_of_it = float((np.minimum(np.abs(measured), most) ** 2).sum())
    if not all_of_it:
        return math.nan
    return 1 - float((np.minimum(np.abs(measured - told), most) ** 2).sum()) / all_of_it


def _spreads(trials: dict[int, tuple[Array, Array]]) -> tuple[tuple[int, float], ...]:
    """Return the spread at each horizon; a later one is never the narrower."""
    out, widest = [], 0.0
    for horizon, (measured, told) in trials.items():
        off = np.abs(measured - told)
        off = off[np.isfinite(off)]
        if off.size:
            widest = max(widest, float(np.quantile(off, SPREAD_SHARE)))
            out.append((horizon, widest))
    return tuple(out)


def _spread_share(measured: Array, told: Array) -> float:
    """Return how far nine in ten of the big changes lie from what was told, as a share of that."""
    size = np.abs(told)
    big = np.isfinite(size) & (size > 0)
    big &= size >= np.nanquantile(size, BIG_SHARE)
    if not big.any():
        return 1.0
    return float(np.quantile(np.abs(measured - told)[big] / size[big], SPREAD_SHARE))


def _check_ratio(ratio: float) -> None:
    low, high = RATIOS
    if not low <= ratio <= high:
        raise TooLittleTogether(
            f"a metre there would be {ratio:.2f} m here, and {low:g} to {high:g} is what rivers do"
        )


def _steps_word(step_minutes: int) -> str:
    return "days" if step_minutes == DAY_MINUTES else "hours"
