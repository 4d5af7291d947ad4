"""Rain as the lead regressions see it beside the stores: fallen of late, and to arrive by a lead.

Stores calibrated on a whole record answer every storm by one curve. How many hours before the
target rain falls, and on how wet a catchment, tells more of the rise than the curve alone; it is
the impulse response of a transfer function, with a gain that grows with wetness.
"""

from __future__ import annotations

import numpy as np

from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

# steps before the target between which rain is summed, and the same behind an origin: narrow where
# a response is steep (common practice, no source)
BEFORE_TARGET = {60: (0, 1, 2, 3, 4, 6, 9, 15, 24, 48), DAY_MINUTES: (0, 1, 2, 3, 5)}
BEHIND = {60: (0, 1, 2, 3, 6, 12, 24), DAY_MINUTES: (0, 1, 2, 3, 5, 10, 30)}


def rain_behind(rain_mm: Array, origins: Positions, step_minutes: int) -> Array:
    """Return the square root of sums of rain up to each origin, (origins, spans) [mm^0.5].

    `rain_mm` (steps,) without NaN. A span that begins before the record counts what is in it.
    """
    total = np.concatenate([[0.0], np.cumsum(rain_mm)])
    edges = np.array(BEHIND[step_minutes])
    upto = total[np.maximum(origins[:, None] + 1 - edges, 0)]
    # differences of sums are off by a rounding, and may be so below nought
    fell: Array = np.sqrt(np.maximum(upto[:, :-1] - upto[:, 1:], 0))
    return fell


def rain_arriving(total_mm: Array, lead: int, step_minutes: int) -> Array:
    """Return the rain that falls so many steps before a lead, (origins, spans) [mm].

    `total_mm` (origins, leads + 1) is the rain ahead summed up to each lead, nought at lead 0. Rain
    before the origin is not counted: `rain_behind` tells of it.
    """
    edges = np.array(BEFORE_TARGET[step_minutes])
    upto = total_mm[:, np.maximum(lead - edges, 0)]
    arriving: Array = upto[:, :-1] - upto[:, 1:]
    return arriving


def summed(rain_mm: Array) -> Array:
    """Return rain ahead (origins, leads) summed up to each lead, (origins, leads + 1)."""
    return np.concatenate([np.zeros((len(rain_mm), 1)), np.cumsum(rain_mm, axis=1)], axis=1)


def season(year_share: Array) -> Array:
    """Return the two numbers that tell the time of year, (origins, 2)."""
    angle = 2 * np.pi * year_share
    return np.stack([np.sin(angle), np.cos(angle)], axis=1)
