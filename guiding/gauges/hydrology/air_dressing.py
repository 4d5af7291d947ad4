"""Air that came, made as uncertain as a forecast of it would have been."""

from __future__ import annotations

import numpy as np

from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

# degrees C that a forecast of air is off by on days 1 to 5 (common practice, no source)
SPREADS_C = (1.0, 1.3, 1.6, 2.0, 2.4)
DRAW = 7  # beside the seed, so that air and rain are drawn apart


def air_that_came(air_c: Array, origins: Positions, steps: int) -> Array:
    """Return the air after each origin, (origins, steps), NaN where not on file."""
    places = origins[:, None] + np.arange(1, steps + 1)
    inside = places < len(air_c)
    return np.where(inside, air_c[np.minimum(places, len(air_c) - 1)], np.nan)


def degraded_air(
    air_c: Array, origins: Positions, *, steps: int, step_minutes: int, seed: int
) -> Array:
    """Return a stand-in for the air forecast at each origin, shape (origins, steps) [degrees C].

    Notes
    -----
    T(t) + s n: s by day ahead, n standard normal, one an origin, so that a forecast that is too
    warm stays so. The same record, origins and seed give the same air.
    """
    draw = np.random.default_rng([seed, DRAW])
    days = np.arange(steps) // (DAY_MINUTES // step_minutes)
    spreads = np.array(SPREADS_C)[np.minimum(days, len(SPREADS_C) - 1)]
    off = draw.normal(0, 1, (len(origins), 1)) * spreads
    air: Array = air_that_came(air_c, origins, steps) + off
    return air
