"""The peers a forecast is held against: it stays as it is, and it falls as it has always fallen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from guiding.gauges.hydrology import scores
from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.level_model import LeadScore
from guiding.gauges.hydrology.recession import Recession
from guiding.gauges.hydrology.record import Array

BAND = (0.1, 0.9)  # the quantiles between which four in five outcomes are to lie


def tried_origins(level: Array, train_until: int, leads: Sequence[int], count: int) -> Positions:
    """Return up to `count` origins spread evenly over those whose level and a target are known.

    Raises
    ------
    ValueError
        There is none.
    """
    known = np.isfinite(level)
    places = np.arange(train_until, len(level))
    has_target = np.zeros(places.size, dtype=bool)
    for lead in leads:
        has_target |= np.isfinite(at(level, places + lead))
    places = places[known[places] & has_target]
    if not places.size:
        raise ValueError("no level after the split has another one a lead later; nothing to score.")
    chosen = np.unique(np.linspace(0, places.size - 1, min(count, places.size)).astype(int))
    spread: Positions = places[chosen]
    return spread


def staying(level: Array, tried: Positions, train_until: int, lead: int) -> LeadScore:
    """Return how "it stays as it is" did, with its own errors in the training part for a band."""
    errors = _changes(level[:train_until], lead)
    return _point(level, tried, lead, level[tried], errors, errors)


def falling(
    level: Array, tried: Positions, train_until: int, lead: int, fall: Recession
) -> LeadScore:
    """Return how the fitted fall alone did, with its own errors in the training part."""
    learned = np.arange(train_until - lead)
    errors = at(level, learned + lead) - _fallen(level[learned], fall, lead)
    changes = _changes(level[:train_until], lead)
    return _point(level, tried, lead, _fallen(level[tried], fall, lead), errors, changes)


def _fallen(level: Array, fall: Recession, lead: int) -> Array:
    """Return the level after a fall; one that stands at the floor or below it stays there."""
    out = level.copy()
    above = level > fall.floor_m
    out[above] = fall.level(fall.ahead(fall.depth(level[above]), lead)[:, -1])
    return out


def _point(
    level: Array, tried: Positions, lead: int, middle: Array, errors: Array, changes: Array
) -> LeadScore:
    seen = at(level, tried + lead)
    said = np.isfinite(middle) & np.isfinite(seen)
    known = errors[np.isfinite(errors)]
    low, high = np.quantile(known, BAND) if known.size else (np.nan, np.nan)
    score = scores.mean_known(scores.crps_one_ensemble((seen - middle)[said], known))
    stays = scores.mean_known(scores.crps_one_ensemble((seen - level[tried])[said], changes))
    return LeadScore(
        lead=lead,
        n=int(said.sum()),
        rmse=scores.rmse(seen[said], middle[said]),
        pi=scores.persistence_index(seen[said], middle[said], level[tried][said]),
        crps=score,
        crpss=scores.crpss(score, stays),
        cover80=scores.coverage(seen[said], (middle + low)[said], (middle + high)[said]),
    )


def crps_of_staying(level: Array, tried: Positions, train_until: int, lead: int) -> Array:
    """Return the CRPS at each origin of "it stays as it is" with its errors in the training."""
    change = at(level, tried + lead) - level[tried]
    return scores.crps_one_ensemble(change, _changes(level[:train_until], lead))


def _changes(level: Array, lead: int) -> Array:
    return level[lead:] - level[:-lead]


def at(level: Array, places: Positions) -> Array:
    """Return the values at some positions, NaN after the end."""
    inside = places < len(level)
    return np.where(inside, level[np.minimum(places, len(level) - 1)], np.nan)
