"""Rain of the past that speaks for rain to come: is enough known, was there ever as much."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.history import History, Positions
from guiding.gauges.hydrology.outlook import RAIN_SPAN_MM, SPAN_DAYS
from guiding.gauges.hydrology.record import Array

ENOUGH_RAIN = 0.8  # share of a span's steps that must be on file
KNOWN_DAYS = 10  # of rain behind an origin, most of which must be on file
SPELLS = 400  # stretches of past rain kept


def is_known_behind(
    has_rain: NDArray[np.bool_], places: Positions, steps_a_day: int
) -> NDArray[np.bool_]:
    """Say at which positions 80 % of the rain of the last ten days is on file."""
    sums = np.concatenate([[0], np.cumsum(has_rain)])
    steps = KNOWN_DAYS * steps_a_day
    begins = np.maximum(places + 1 - steps, 0)
    share: NDArray[np.bool_] = sums[places + 1] - sums[begins] >= ENOUGH_RAIN * (
        places + 1 - begins
    )
    return share


def spell_arrays(history: History, steps: int) -> dict[str, Array]:
    """Return stretches of past rain (spells, steps), their time of year, and the most on file."""
    rain = history.rain_or_gaps
    broken = np.concatenate([[0], np.cumsum(~np.isfinite(rain))])
    whole = np.flatnonzero(broken[steps:] == broken[: len(broken) - steps])
    if whole.size:
        whole = whole[np.unique(np.linspace(0, whole.size - 1, SPELLS).astype(int))]
    return {
        "spells_mm": rain[whole[:, None] + np.arange(steps)].astype(np.float16).astype(float),
        "spells_share": history.year_share[whole],
        "most_mm": np.array([_most(rain, days * history.steps_a_day) for days in SPAN_DAYS]),
    }


def _most(rain: Array, steps: int) -> float:
    """Return the most that fell in so many steps, what is missing left out of it."""
    sums = np.concatenate([[0.0], np.cumsum(np.where(np.isfinite(rain), rain, 0))])
    steps = min(steps, len(rain))
    return float((sums[steps:] - sums[:-steps]).max())


def beyond_anything_seen(rain_ahead_mm: Array, most_mm: Array, steps_a_day: int) -> str:
    """Return what must be said where more rain is coming than any on file, else nothing."""
    for days, seen in zip(SPAN_DAYS, most_mm.tolist(), strict=True):
        coming = float(np.nansum(rain_ahead_mm[: days * steps_a_day]))
        if coming >= RAIN_SPAN_MM and coming > seen:
            span = "the first day" if days == 1 else f"the first {days} days"
            return (
                f"Not known beyond 12 hours: {coming:.0f} mm of rain is forecast in {span}, "
                f"more than anything on file ({seen:.0f} mm)."
            )
    return ""


def filled(
    rain_ahead_mm: Array, spells_mm: Array, spells_share: Array, year_share: float, paths: int
) -> Array:
    """Return the rain to come once a path, (paths, steps), what is missing drawn from the past.

    Whole stretches of the same time of year are laid behind each other's paths; with fewer
    stretches than paths they come round again.
    """
    steps = len(rain_ahead_mm)
    away = np.abs((spells_share - year_share + 0.5) % 1 - 0.5)
    nearest = np.argsort(away, kind="stable")[:paths]
    chosen = np.resize(nearest, paths)
    return np.where(np.isfinite(rain_ahead_mm), rain_ahead_mm, spells_mm[chosen, :steps])
