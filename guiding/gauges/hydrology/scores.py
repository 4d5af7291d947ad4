"""How good a forecast was: of one value, of an ensemble, of a band, of a chance.

In every function a pair with NaN in it is left out (unknown is not an error of nought), and a score
that cannot be told (nothing known, or nothing that varies) is NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.record import Array

_ERF = np.frompyfunc(math.erf, 1, 1)


def mean_known(values: Array) -> float:
    """Return the mean of what is not NaN, NaN where nothing is."""
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else math.nan


def rmse(obs: Array, sim: Array) -> float:
    """Return the root mean square error of (n,) simulated against (n,) observed, in their unit."""
    return math.sqrt(mean_known((np.asarray(sim) - np.asarray(obs)) ** 2))


def nse(obs: Array, sim: Array) -> float:
    """Return the efficiency 1 - SSE / SSE of the observed mean: 1 is perfect, 0 the mean itself.

    Parameters
    ----------
    obs, sim : (n,)
        Observed and simulated, in one unit.

    References
    ----------
    Nash & Sutcliffe 1970, River flow forecasting through conceptual models part I, J. Hydrol.
    10:282-290 (from memory).
    """
    obs, sim = _pairs(obs, sim)
    return _skill(sim - obs, obs - obs.mean()) if obs.size else math.nan


def kge_2009(obs: Array, sim: Array) -> float:
    """Return the Kling-Gupta efficiency from correlation, ratio of spreads and ratio of means.

    Notes
    -----
    1 - sqrt((r - 1)^2 + (sd_s/sd_o - 1)^2 + (mean_s/mean_o - 1)^2). NaN where either is constant.

    References
    ----------
    Gupta, Kling, Yilmaz & Martinez 2009, Decomposition of the mean squared error and NSE
    performance criteria, J. Hydrol. 377:80-91 (from memory).
    """
    return _kling_gupta(obs, sim, by_mean=False)


def kge_2012(obs: Array, sim: Array) -> float:
    """Return the Kling-Gupta efficiency with the ratio of the coefficients of variation.

    References
    ----------
    Kling, Fuchs & Paulin 2012, Runoff conditions in the upper Danube basin under an ensemble of
    climate change scenarios, J. Hydrol. 424-425:264-277 (from memory).
    """
    return _kling_gupta(obs, sim, by_mean=True)


def persistence_index(obs: Array, sim: Array, at_origin: Array) -> float:
    """Return 1 - SSE / SSE of "it stays as it is": 0 is no better than that, below 0 is worse.

    Parameters
    ----------
    obs, sim, at_origin : (n,)
        Observed at the target, forecast for it, and observed when the forecast was made.

    References
    ----------
    Kitanidis & Bras 1980, Real-time forecasting with a conceptual hydrologic model 2, Water
    Resour. Res. 16:1034-1044.
    """
    obs, sim, at_origin = _pairs(obs, sim, at_origin)
    return _skill(sim - obs, at_origin - obs)


def crps_ensemble(obs: Array, members: Array, *, is_fair: bool = False) -> Array:
    """Return the continuous ranked probability score of each ensemble, in the unit of `obs`.

    Parameters
    ----------
    obs : (n,)
    members : (n, m)
        The ensemble for each observation. A row with a NaN in it scores NaN: its spread is unknown.
    is_fair : bool
        Score the distribution that the members are drawn from, and not the members themselves.

    Raises
    ------
    ValueError
        A fair score of fewer than two members, or no members at all.

    Notes
    -----
    E|X - y| - E|X - X'|/2, the second mean over all pairs, or for the fair score over pairs of
    different members; it is taken from the sorted members.

    References
    ----------
    Gneiting & Raftery 2007, Strictly proper scoring rules, prediction, and estimation, J. Am.
    Stat. Assoc. 102:359-378 (from memory). Ferro 2014, Fair scores for ensemble forecasts, Q. J.
    R. Meteorol. Soc. 140:1917-1923 (from memory).
    """
    obs, members = np.asarray(obs, dtype=float), np.asarray(members, dtype=float)
    near: Array = np.abs(members - obs[:, None]).mean(axis=1)
    return near - _half_spread(members, is_fair)


def crps_one_ensemble(obs: Array, members: Array, *, is_fair: bool = False) -> Array:
    """Return the CRPS of one ensemble (m,) that stands for every observation (n,) alike.

    As crps_ensemble with the same row n times, in time n log m. NaN members are left out of it.
    """
    obs, members = np.asarray(obs, dtype=float), np.asarray(members, dtype=float)
    ranked = np.sort(members[np.isfinite(members)])
    if not ranked.size:
        return np.full(obs.shape, np.nan)
    sums = np.concatenate([[0.0], np.cumsum(ranked)])
    below = np.searchsorted(ranked, obs)
    # what lies below counts y - x, what lies above x - y
    near = obs * below - sums[below] + (sums[-1] - sums[below]) - obs * (ranked.size - below)
    score = near / ranked.size - float(_half_spread(ranked[None, :], is_fair)[0])
    return np.where(np.isfinite(obs), score, np.nan)


def crps_normal(obs: Array, mean: Array, sd: Array) -> Array:
    """Return the CRPS of normal forecasts, shapes broadcast, in the unit of `obs`.

    Notes
    -----
    sd (z (2 P(z) - 1) + 2 p(z) - 1/sqrt(pi)), z = (obs - mean)/sd; |obs - mean| where sd is 0.

    References
    ----------
    Gneiting, Raftery, Westveld & Goldman 2005, Calibrated probabilistic forecasting using ensemble
    model output statistics, Mon. Weather Rev. 133:1098-1118 (from memory).

    Raises
    ------
    ValueError
        A spread is negative.
    """
    obs, mean, sd = np.broadcast_arrays(
        np.asarray(obs, dtype=float), np.asarray(mean, dtype=float), np.asarray(sd, dtype=float)
    )
    if (sd < 0).any():
        raise ValueError(f"sd is {float(np.nanmin(sd)):g}; a spread is 0 or more.")
    gap = np.abs(obs - mean)
    z = gap / np.where(sd > 0, sd, 1)
    share = np.asarray(_ERF(z / math.sqrt(2)), dtype=float)  # 2 P(z) - 1
    dense = np.sqrt(2 / np.pi) * np.exp(-(z**2) / 2)  # 2 p(z)
    return np.where(sd > 0, sd * (z * share + dense - 1 / math.sqrt(np.pi)), gap)


def crpss(crps: float, reference: float) -> float:
    """Return the skill 1 - crps / reference; NaN where the reference is 0 or not known."""
    return 1 - crps / reference if reference > 0 else math.nan


def coverage(obs: Array, low: Array, high: Array) -> float:
    """Return the share of observations in [low, high], both ends included, all (n,)."""
    obs, low, high = _pairs(obs, low, high)
    return float(((low <= obs) & (obs <= high)).mean()) if obs.size else math.nan


def interval_score(obs: Array, low: Array, high: Array, *, share: float = 0.8) -> Array:
    """Return the score of each central interval that is to hold `share` of the outcomes, (n,).

    Notes
    -----
    (high - low) + 2/a x how far the outcome lies outside, a = 1 - share. Smaller is better.

    References
    ----------
    Gneiting & Raftery 2007, Strictly proper scoring rules, prediction, and estimation, J. Am.
    Stat. Assoc. 102:359-378, section 6.2 (from memory).

    Raises
    ------
    ValueError
        `share` does not lie between 0 and 1.
    """
    if not 0 < share < 1:
        raise ValueError(f"share is {share:g}; an interval holds more than 0 and less than 1.")
    obs, low, high = (np.asarray(values, dtype=float) for values in (obs, low, high))
    outside = np.maximum(low - obs, 0) + np.maximum(obs - high, 0)
    return (high - low) + 2 / (1 - share) * outside


def brier(happened: Array, chance: Array) -> float:
    """Return the mean of (chance - happened)^2, `happened` 0 or 1, both (n,): 0 is perfect.

    References
    ----------
    Brier 1950, Verification of forecasts expressed in terms of probability, Mon. Weather Rev.
    78:1-3 (from memory).
    """
    return mean_known((np.asarray(chance, dtype=float) - np.asarray(happened, dtype=float)) ** 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReliabilityBin:
    """Chances from `low` up to `high`: their mean, how often it happened, how many there were.

    `chance` and `happened` are None where no chance fell into the bin.
    """

    low: float
    high: float
    chance: float | None
    happened: float | None
    n: int


def reliability(happened: Array, chance: Array, *, bins: int = 10) -> tuple[ReliabilityBin, ...]:
    """Return chances held against what happened, in bins of equal width from 0 to 1.

    Parameters
    ----------
    happened, chance : (n,)
        0 or 1, and the forecast chance of it in [0, 1]. A chance on an edge is in the bin above
        it, a chance of 1 in the last one.

    Raises
    ------
    ValueError
        A chance lies outside [0, 1].

    References
    ----------
    Murphy & Winkler 1977, Reliability of subjective probability forecasts of precipitation and
    temperature, Appl. Stat. 26:41-47 (from memory).
    """
    happened, chance = _pairs(happened, chance)
    wrong = chance[(chance < 0) | (chance > 1)]
    if wrong.size:
        raise ValueError(f"a chance is {wrong[0]:g}; it lies in 0 to 1.")
    # a tenth taken ten times is a little over or under itself
    place = np.minimum(np.floor(chance * bins + 1e-9).astype(int), bins - 1)
    rows = []
    for number in range(bins):
        inside = place == number
        count = int(inside.sum())
        rows.append(
            ReliabilityBin(
                low=number / bins,
                high=(number + 1) / bins,
                chance=float(chance[inside].mean()) if count else None,
                happened=float(happened[inside].mean()) if count else None,
                n=count,
            )
        )
    return tuple(rows)


def _pairs(*values: Array) -> tuple[Array, ...]:
    """Return the values at the places where all of them are known."""
    arrays = [np.asarray(one, dtype=float) for one in values]
    if len({one.shape for one in arrays}) > 1:
        raise ValueError(f"the shapes are {[one.shape for one in arrays]}; they must be the same.")
    known = np.all([np.isfinite(one) for one in arrays], axis=0)
    return tuple(one[known] for one in arrays)


def _skill(errors: Array, reference: Array) -> float:
    worst = float((reference**2).sum())
    return 1 - float((errors**2).sum()) / worst if worst > 0 else math.nan


def _kling_gupta(obs: Array, sim: Array, *, by_mean: bool) -> float:
    obs, sim = _pairs(obs, sim)
    if obs.size < 2 or obs.std() == 0 or sim.std() == 0 or obs.mean() == 0:
        return math.nan
    correlation = float(((obs - obs.mean()) * (sim - sim.mean())).mean() / obs.std() / sim.std())
    means = float(sim.mean() / obs.mean())
    spreads = float(sim.std() / obs.std())
    if by_mean and means == 0:
        return math.nan
    spreads = spreads / means if by_mean else spreads
    return 1 - math.sqrt((correlation - 1) ** 2 + (spreads - 1) ** 2 + (means - 1) ** 2)


def _half_spread(members: Array, is_fair: bool) -> Array:
    """Return half the mean gap between two members of each row."""
    count = members.shape[1]
    fewest = 2 if is_fair else 1
    if count < fewest:
        raise ValueError(f"an ensemble has {count} members; this score takes {fewest} or more.")
    ranks = 2 * np.arange(1, count + 1) - count - 1
    pairs = count * (count - 1) if is_fair else count**2
    spread: Array = np.sort(members, axis=1) @ ranks / pairs
    return spread
