"""How this gauge falls when nothing comes: fitted on its own falls, and never below its floor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from guiding.gauges.hydrology.record import DAY_MINUTES, Array

# metres below the lowest level on file that a forecast may come near but never reach; the offset
# of the pseudo-flow in the project's river study (common practice, no source)
FLOOR_MARGIN_M = 0.15
WINDOW_STEPS = {60: 24, DAY_MINUTES: 3}  # length of a fall: one day hourly, three days daily
WOBBLE = 0.01  # a fall may rise this far in ln depth above its start and is still a fall
BINS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Recession:
    """A falling river: the rate of fall at a depth above the floor.

    `floor_m` [m] is the level that is never reached. `depths` are ln(level - floor), rising;
    `rates` are the falls of ln(level - floor) a step at those depths, never negative.
    """

    floor_m: float
    depths: Array
    rates: Array

    def depth(self, level_m: Array) -> Array:
        """Return ln(level - floor) of levels [m] of any shape; NaN stays NaN.

        Raises
        ------
        ValueError
            A level lies at or below the floor.
        """
        if np.nanmin(level_m, initial=np.inf) <= self.floor_m:
            raise ValueError(
                f"level_m is {np.nanmin(level_m)}; this recession reads above {self.floor_m:.3f} m."
            )
        return np.log(level_m - self.floor_m)

    def level(self, depth: Array) -> Array:
        """Return levels [m] from depths ln(level - floor)."""
        return self.floor_m + np.exp(depth)

    def ahead(self, depth: Array, steps: int) -> Array:
        """Return the falling depths from each start, shape (starts, steps).

        Parameters
        ----------
        depth : (starts,)
            ln(level - floor) at the origins; NaN gives a row of NaN.
        steps : int
            How many steps to fall for.

        Notes
        -----
        y(t+1) = y(t) - r(y(t)), y = ln(h - floor), r linear between the fitted depths and held at
        the end values outside them.
        """
        out = np.empty((len(depth), steps))
        now = np.asarray(depth, dtype=float)
        for step in range(steps):
            now = now - np.interp(now, self.depths, self.rates)
            out[:, step] = now
        return out


def fit_recession(level_m: Array, step_minutes: int) -> Recession | None:
    """Return the recession fitted on the falls of a record, or None where it holds too few.

    Parameters
    ----------
    level_m : (steps,)
        Level [m] at every step, NaN for a gap. Gaps are not bridged.
    step_minutes : int
        60 or 1440.

    Notes
    -----
    A fall is a window (a day of hours, three days) that ends at or below its start and never
    stands above it. The rate at a depth is the median over the falls that begin there, in twelve
    bins of equal count: a median, so that a shower seen by the gauge moves it little.
    """
    window = WINDOW_STEPS[step_minutes]
    if np.isfinite(level_m).sum() <= window:
        return None
    floor_m = float(np.nanmin(level_m)) - FLOOR_MARGIN_M
    depth = np.log(level_m - floor_m)
    views = sliding_window_view(depth, window + 1)
    with np.errstate(invalid="ignore"):
        falls = np.isfinite(views).all(axis=1)
        falls &= (views <= views[:, :1] + WOBBLE).all(axis=1) & (views[:, -1] <= views[:, 0])
    start = views[falls, 0]
    if start.size < BINS:
        return None
    order = np.argsort(start, kind="stable")
    rate = (start - views[falls, -1]) / window
    bins = np.array_split(order, BINS)
    return Recession(
        floor_m=floor_m,
        depths=np.array([start[part].mean() for part in bins]),
        rates=np.array([np.median(rate[part]) for part in bins]),
    )
