"""What forecasts made with one kind of rain taught: regressions, and whole paths of past errors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology import neighbours
from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.lead_regression import (
    Ahead,
    LeadRegression,
    Standing,
    fit_leads,
    predict_leads,
)
from guiding.gauges.hydrology.neighbours import Likeness
from guiding.gauges.hydrology.record import Array

# a hole of so many steps in the errors of a past forecast is bridged by a straight line, so that
# a gauge that drops an hour a day still has whole paths; levels are never bridged
BRIDGED_STEPS = 3
BRIDGED_SHARE = 0.1
FEWEST_PATHS = 20  # fewer cannot tell a band


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """The regressions, where past moments stand (moments, features), their errors (moments, leads).

    Errors are what came less what was foreseen, in z. `widening` is the factor about the median
    of each lead that would have made past bands hold.
    """

    regression: LeadRegression
    likeness: Likeness
    places: Array
    errors: Array
    widening: Array


def learn(standing: Standing, ahead: Ahead, z_ahead: Array) -> Learned | None:
    """Return what past moments teach, not widened yet; None with fewer than 20 whole paths.

    A moment with a hole after it helps the regressions of the leads that came, and gives no path.
    """
    regression = fit_leads(standing, ahead, z_ahead)
    predicted = predict_leads(regression, standing, ahead)
    errors = bridged(z_ahead - predicted)
    seen = neighbours.features(standing, ahead.m, predicted)
    whole = np.isfinite(errors).all(axis=1)
    if whole.sum() < FEWEST_PATHS:
        return None
    likeness = neighbours.likeness_of(seen[whole])
    return Learned(
        regression=regression,
        likeness=likeness,
        places=likeness.place(seen[whole]),
        errors=errors[whole],
        widening=np.ones(errors.shape[1]),
    )


def foreseen(learned: Learned, standing: Standing, ahead: Ahead) -> tuple[Array, Positions]:
    """Return z foreseen (moments, leads), and which past moments are like each (moments, paths)."""
    predicted = predict_leads(learned.regression, standing, ahead)
    here = learned.likeness.place(neighbours.features(standing, ahead.m, predicted))
    count = neighbours.how_many(len(learned.places))
    return predicted, neighbours.nearest(learned.places, here, count)


def bridged(errors: Array) -> Array:
    """Return errors (moments, leads) with holes of up to three steps bridged by a straight line."""
    out = errors.copy()
    missing = np.isnan(errors)
    some = missing.any(axis=1) & (missing.mean(axis=1) <= BRIDGED_SHARE)
    leads = np.arange(errors.shape[1])
    for row in np.flatnonzero(some):
        hole = missing[row]
        edges = np.flatnonzero(np.diff(np.concatenate([[0], hole.astype(int), [0]])))
        lengths = edges[1::2] - edges[::2]
        if lengths.max() <= BRIDGED_STEPS and not hole[0] and not hole[-1]:
            out[row, hole] = np.interp(leads[hole], leads[~hole], errors[row, ~hole])
    return out
