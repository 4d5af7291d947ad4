"""Two models held against the same moments: which of them would have done better."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.history import History, Positions
from guiding.gauges.hydrology.level_model import WARM_UP_STEPS, LevelFit, look_ahead
from guiding.gauges.hydrology.peers import at
from guiding.gauges.hydrology.rain_dressing import degraded_rain
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.scores import crps_ensemble
from guiding.gauges.hydrology.water_fits import WaterFit
from guiding.gauges.hydrology.water_temperature import carry_all
from guiding.gauges.hydrology.water_terms import WaterRecord

SEED = 20260520  # of the stand-in for a rain forecast: the same for both
FEWEST = 20  # moments that both speak of


@dataclass(frozen=True, slots=True, kw_only=True)
class Contest:
    """Mean errors of an old and a new model at each lead over the same `n` moments."""

    leads: tuple[int, ...]  # steps
    n: int
    old: tuple[float, ...]
    new: tuple[float, ...]

    @property
    def is_enough(self) -> bool:
        """Say whether there were moments enough to judge by."""
        return self.n >= FEWEST

    @property
    def ratio(self) -> float:
        """Return the new error as a share of the old one, the mean over leads; 1: as good."""
        pairs = [new / old for old, new in zip(self.old, self.new, strict=True) if old > 0]
        return float(np.mean(pairs)) if pairs else 1.0


def spread_origins(
    known: Array, first: int, end: int, leads: Sequence[int], most: int
) -> Positions:
    """Return at most `most` positions in [first, end) at which a value is known, evenly spread.

    Their furthest lead ends before `end`, so that nothing after it is looked at.
    """
    places = np.arange(max(first, 0), max(first, end - max(leads)))
    places = places[np.isfinite(known[places])]
    if places.size <= most:
        return places
    return places[np.linspace(0, places.size - 1, most).astype(np.intp)]


def held_against(leads: Sequence[int], old: Array, new: Array) -> Contest:
    """Return a contest from errors (moments, leads), over the moments that both speak of fully."""
    both = np.isfinite(old).all(axis=1) & np.isfinite(new).all(axis=1)
    return Contest(
        leads=tuple(leads),
        n=int(both.sum()),
        old=tuple(float(v) for v in old[both].mean(axis=0)) if both.any() else (),
        new=tuple(float(v) for v in new[both].mean(axis=0)) if both.any() else (),
    )


def level_errors(
    fit: LevelFit, history: History, origins: Positions, leads: Sequence[int]
) -> Array:
    """Return the CRPS [m] of forecasts from each origin, (origins, leads), NaN where not known.

    Each is made from the past up to its origin and, where rain is on file, from a stand-in for the
    rain forecast it would have had, the same whichever fit is asked.
    """
    steps = max(leads)
    out = np.full((origins.size, len(leads)), np.nan)
    rain = _rain_ahead(history, origins, steps)
    for row, origin in enumerate(origins):
        end = int(origin) + 1
        found = look_ahead(
            fit,
            history.span(max(0, end - WARM_UP_STEPS[history.step_minutes]), end),
            steps=steps,
            rain_ahead_mm=None if rain is None else rain[row],
            air_ahead_c=None,
        )
        if found.paths is None:
            continue
        for column, lead in enumerate(leads):
            seen = at(history.level_m, origin + np.array([lead]))
            out[row, column] = crps_ensemble(seen, found.paths[None, :, lead - 1])[0]
    return out


def _rain_ahead(history: History, origins: Positions, steps: int) -> Array | None:
    if history.rain_mm is None:
        return None
    return degraded_rain(
        history.rain_mm,
        origins,
        steps=steps,
        step_minutes=history.step_minutes,
        draw_before=len(history.level_m),
        seed=SEED,
    )


def water_errors(
    fit: WaterFit, record: WaterRecord, origins: Positions, leads: Sequence[int]
) -> Array:
    """Return the absolute error [degrees C] of the median from each origin, (origins, leads)."""
    columns = [
        np.abs(carry_all(fit, record, origins, lead).middle - record.water_c[origins + lead])
        for lead in leads
    ]
    return np.stack(columns, axis=1)
