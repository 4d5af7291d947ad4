"""Water temperature fitted on the first part of a record and tried on the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology import scores
from guiding.gauges.hydrology.water_fits import WaterFit
from guiding.gauges.hydrology.water_learning import LEADS, fit_water
from guiding.gauges.hydrology.water_temperature import carry_all
from guiding.gauges.hydrology.water_terms import WaterRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterScore:
    """How the forecasts of one lead did: NaN where nothing could be scored.

    `n` forecasts were scored, `unknown` more had a target on file and no answer. `pi` is against
    "it stays as it is", `cover80` the share of targets within the 80 % band.
    """

    lead: int  # steps
    n: int
    unknown: int
    rmse: float  # degrees C
    pi: float
    cover80: float


def hindcast_water(
    record: WaterRecord, train_until: int, leads: Sequence[int]
) -> tuple[WaterFit, tuple[WaterScore, ...]]:
    """Fit on the steps before `train_until` and score every forecast issued from there on.

    Air and river ahead are taken from the record as they were measured, and the band is made for
    that. A forecast is issued at each step whose water is on file, from the last fitted one on.

    Raises
    ------
    TooLittle
        Too little of the water lies before the split.
    ValueError
        A lead is not one that is modelled.
    """
    most = LEADS[record.step_minutes]
    for lead in leads:
        if not 1 <= lead <= most:
            raise ValueError(f"a lead is {lead}; allowed is 1 to {most} steps.")
    fit = fit_water(record.part(0, train_until), air="true")
    return fit, tuple(_scored(fit, record, train_until, lead) for lead in leads)


def _scored(fit: WaterFit, record: WaterRecord, train_until: int, lead: int) -> WaterScore:
    water_c = record.water_c
    origins = np.arange(max(0, train_until - 1), max(0, water_c.size - lead))
    origins = origins[np.isfinite(water_c[origins]) & np.isfinite(water_c[origins + lead])]
    ahead = carry_all(fit, record, origins, lead)
    is_known = np.isfinite(ahead.middle)
    obs, now = water_c[origins + lead][is_known], water_c[origins][is_known]
    middle = ahead.middle[is_known]
    return WaterScore(
        lead=lead,
        n=int(is_known.sum()),
        unknown=int((~is_known).sum()),
        rmse=scores.rmse(obs, middle),
        pi=scores.persistence_index(obs, middle, now),
        cover80=scores.coverage(obs, ahead.low[is_known], ahead.high[is_known]),
    )
