"""A rating: flow = a (level - h0)^b, read both ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.record import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """A stated curve between level [m] and flow [m3/s].

    `h0_m` is the level at which flow ceases. Beyond the flows it was made from a rating is a
    guess, and it does not know them: whoever shows a value says where the curve is from.

    Raises
    ------
    ValueError
        `a` or `b` is not above 0, or a number is none.
    """

    a: float
    b: float
    h0_m: float

    def __post_init__(self) -> None:
        if not np.isfinite([self.a, self.b, self.h0_m]).all() or self.a <= 0 or self.b <= 0:
            raise ValueError(
                f"the rating has a {self.a:g}, b {self.b:g}, h0 {self.h0_m:g}; a and b are above 0."
            )

    def level_m(self, flow_m3s: Array) -> Array:
        """Return the levels [m] of flows [m3/s], any shape; NaN stays NaN.

        Raises
        ------
        ValueError
            A flow is negative.
        """
        flow_m3s = np.asarray(flow_m3s, dtype=float)
        if (flow_m3s < 0).any():
            lowest = float(np.nanmin(flow_m3s))
            raise ValueError(f"flow_m3s is {lowest:g}; a rating turns 0 or more into a level.")
        level: Array = self.h0_m + (flow_m3s / self.a) ** (1 / self.b)
        return level

    def flow_m3s(self, level_m: Array) -> Array:
        """Return the flows [m3/s] of levels [m], any shape; NaN stays NaN, none flows below h0."""
        depth = np.maximum(np.asarray(level_m, dtype=float) - self.h0_m, 0)
        flow: Array = self.a * depth**self.b
        return flow
