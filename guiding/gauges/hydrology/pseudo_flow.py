"""Levels as a flow without a rating curve, and on a scale where errors are alike at any level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.recession import FLOOR_MARGIN_M
from guiding.gauges.hydrology.record import Array

# a parabolic section, q = (h - h0)^2, the offset and the power of the scale: chosen on nine rivers
# in the project's river study (common practice, no source)
POWER = 0.3
OFFSET = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class PseudoFlow:
    """Level [m] to a relative flow q = (h - floor)^2 and to the even scale z.

    `floor_m` [m] is the level at which q is nought; `median_m2` the median q of the history.

    Notes
    -----
    z = ((q / median + 0.02)^0.3 - 1) / 0.3, a Box-Cox scale.

    References
    ----------
    Box, G. E. P. & Cox, D. R. 1964, An analysis of transformations, J. R. Stat. Soc. B 26:211.
    """

    floor_m: float
    median_m2: float

    def flow(self, level_m: Array) -> Array:
        """Return q of levels of any shape; NaN at or below the floor, where it is not defined."""
        depth = np.asarray(level_m, dtype=float) - self.floor_m
        return np.where(depth > 0, depth, np.nan) ** 2

    def scaled(self, flow: Array) -> Array:
        """Return z of flows of any shape."""
        return ((flow / self.median_m2 + OFFSET) ** POWER - 1) / POWER

    def level(self, scaled: Array) -> Array:
        """Return the level [m] of z; z below that of a flow of nought reads the floor."""
        base = np.maximum(POWER * scaled + 1, 0) ** (1 / POWER) - OFFSET
        return self.floor_m + np.sqrt(self.median_m2 * np.maximum(base, 0))


def pseudo_flow_of(level_m: Array) -> PseudoFlow:
    """Return the pseudo-flow of a history of levels [m], gaps NaN: floor 0.15 m below the lowest.

    Raises
    ------
    ValueError
        There is no level at all.
    """
    if not np.isfinite(level_m).any():
        raise ValueError("level_m holds no level; at least one is needed.")
    floor_m = float(np.nanmin(level_m)) - FLOOR_MARGIN_M
    return PseudoFlow(floor_m=floor_m, median_m2=float(np.nanmedian((level_m - floor_m) ** 2)))
