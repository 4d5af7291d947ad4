"""The peer from a general library: SARIMAX(2,0,1) with rain, fitted before a split, tried after."""

import warnings

import numpy as np
from statsmodels.tsa.statespace.sarimax import SARIMAX

from guiding.gauges.hydrology import scores
from guiding.gauges.hydrology.peers import at

BAND = 1.2815515655446004  # standard deviations to the tenth and the ninetieth of a hundred
# spans of rain [steps back, first and last] that the level is regressed on
SPANS = {1440: ((0, 0), (1, 1), (2, 2), (3, 4)), 60: ((0, 2), (3, 5), (6, 11), (12, 23), (24, 71))}
MOST_FITTED = 8_000  # of the last steps before the split: the search takes minutes beyond


def rain_behind(rain, step_minutes):
    """Return mean rain over each span up to each step; rain not on file counts as none."""
    sums = np.concatenate([[0.0], np.cumsum(np.nan_to_num(rain))])
    place = np.arange(len(rain))
    columns = []
    for first, last in SPANS[step_minutes]:
        begins, ends = np.maximum(place - last, 0), np.maximum(place - first + 1, 0)
        columns.append((sums[ends] - sums[begins]) / (last - first + 1))
    return np.stack(columns, axis=1)


def sarimax_scores(level, rain, step_minutes, split, origins, leads):
    """Return n, crps, cover80 and rmse by lead at some origins, given the rain that fell."""
    known = rain_behind(rain, step_minutes)
    begins = max(0, split - MOST_FITTED)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its starting values are its own affair
        part = SARIMAX(level[begins:split], exog=known[begins:split], order=(2, 0, 1), trend="c")
        fitted = part.fit(disp=0, maxiter=200)
        whole = SARIMAX(level, exog=known, order=(2, 0, 1), trend="c").filter(fitted.params)
    return {lead: _scores(level, whole, known, origins, lead) for lead in leads}


def _scores(level, whole, known, origins, lead):
    space = whole.filter_results
    design, move = space.design[:, :, 0], space.transition[:, :, 0]
    noise = space.selection[:, :, 0] @ space.state_cov[:, :, 0] @ space.selection[:, :, 0].T
    drift = space.state_intercept[:, 0]
    state = space.predicted_state[:, origins + 1]
    spread = space.predicted_state_cov[:, :, origins + 1]
    for _ in range(lead - 1):
        state = drift[:, None] + move @ state
        spread = np.einsum("ij,jkn,lk->iln", move, spread, move) + noise[:, :, None]
    weights = whole.params[1 : 1 + known.shape[1]]
    target = np.minimum(origins + lead, len(level) - 1)
    middle = (design @ state)[0] + known[target] @ weights
    sd = np.sqrt(np.einsum("i,ijn,j->n", design[0], spread, design[0]))
    seen = at(level, origins + lead)
    score = scores.crps_normal(seen, middle, sd)
    return {
        "n": int(np.isfinite(seen).sum()),
        "crps": scores.mean_known(score),
        "cover80": scores.coverage(seen, middle - BAND * sd, middle + BAND * sd),
        "rmse": scores.rmse(seen, middle),
    }
