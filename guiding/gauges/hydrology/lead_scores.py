"""Forecasts of one lead held against what came, gathered into one row of scores."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology import scores
from guiding.gauges.hydrology.fitted import LeadScore
from guiding.gauges.hydrology.record import Array

BAND = (0.1, 0.9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One lead of some forecasts, arrays of shape (forecasts,) [m].

    `seen` what came, `now` the level when the forecast was made, `mean`, `low` and `high` of the
    ensemble, `crps` its score.
    """

    seen: Array
    now: Array
    mean: Array
    low: Array
    high: Array
    crps: Array


def outcome(seen: Array, now: Array, members: Array) -> Outcome:
    """Return how ensembles (forecasts, members) did."""
    low, high = np.quantile(members, BAND, axis=1)
    return Outcome(
        seen=seen,
        now=now,
        mean=members.mean(axis=1),
        low=low,
        high=high,
        crps=scores.crps_ensemble(seen, members),
    )


def lead_score(lead: int, parts: Sequence[Outcome], changes: Array) -> LeadScore:
    """Return the scores of one lead.

    The one value that is scored (rmse, pi) is the mean of the ensemble, which is what squared
    errors ask for; the band and the CRPS are of the ensemble itself. `changes` are those of the
    level over the lead, the errors of "it stays as it is", in the part that was learned from.
    """

    def joined(name: str) -> Array:
        return np.concatenate([getattr(part, name) for part in parts])

    seen, now, mean = joined("seen"), joined("now"), joined("mean")
    crps = scores.mean_known(joined("crps"))
    stays = scores.mean_known(scores.crps_one_ensemble(seen - now, changes))
    return LeadScore(
        lead=lead,
        n=int(np.isfinite(seen).sum()),
        rmse=scores.rmse(seen, mean),
        pi=scores.persistence_index(seen, mean, now),
        crps=crps,
        crpss=scores.crpss(crps, stays),
        cover80=scores.coverage(seen, joined("low"), joined("high")),
    )
