"""The errors of past forecasts made when things stood like now, whole paths, widened until true."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.lead_regression import Standing
from guiding.gauges.hydrology.record import Array

# count and weights of what makes two moments alike: the project's river study, but for the share,
# which was 6 % there; half of it gave sharper bands on every river it was tried on
FEWEST = 120
SHARE = 0.03
LARGEST_SHARE = 0.25
# highest rise foreseen, rise of the stores to the middle of the span, store less gauge, the level,
# its change
WEIGHTS = (1.0, 1.0, 0.7, 0.7, 0.7)
BAND = 0.8  # share of outcomes that q10 to q90 is to hold
LEAST_EDGE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """The scale on which moments are compared: mean and spread of each feature, (features,)."""

    middle: Array
    spread: Array

    def place(self, features: Array) -> Array:
        """Return where moments stand on it, (moments, features)."""
        scaled: Array = (features - self.middle) / self.spread * np.array(WEIGHTS)
        return scaled


def features(standing: Standing, m_ahead: Array, predicted: Array) -> Array:
    """Return what moments are compared by, (moments, 5); a change next to a gap counts as none."""
    rise = predicted - standing.z[:, None]
    middle = m_ahead.shape[1] // 2
    change = np.where(np.isfinite(standing.z_longer), standing.z_longer, 0)
    return np.stack(
        [
            rise.max(axis=1),
            m_ahead[:, middle, 0] - standing.m[:, 0],
            standing.m[:, 0] - standing.z,
            standing.z,
            change,
        ],
        axis=1,
    )


def likeness_of(seen: Array) -> Likeness:
    """Return the scale of the features of past moments."""
    return Likeness(middle=seen.mean(axis=0), spread=seen.std(axis=0) + 1e-9)


def how_many(past: int) -> int:
    """Return how many of the past moments may speak: 120 or 3 %, at most a quarter."""
    return max(1, int(min(max(FEWEST, SHARE * past), LARGEST_SHARE * past)))


def nearest(places: Array, here: Array, count: int) -> Positions:
    """Return the `count` nearest past moments to each of several, (several, count)."""
    gaps = (here**2).sum(axis=1)[:, None] + (places**2).sum(axis=1) - 2 * here @ places.T
    if count >= len(places):
        return np.broadcast_to(np.arange(len(places)), (len(here), len(places)))
    return np.argpartition(gaps, count, axis=1)[:, :count]


def needed_widening(errors: Array, came: Array) -> Array:
    """Return how far each outcome lay from the median, in widths of its own band.

    Parameters
    ----------
    errors : (moments, neighbours)
        The errors that made the band, at one lead.
    came : (moments,)
        The error that came.
    """
    low, middle, high = np.quantile(errors, [0.1, 0.5, 0.9], axis=1)
    off = came - middle
    edge = np.where(off >= 0, high - middle, middle - low)
    widths: Array = np.abs(off) / (edge + LEAST_EDGE)
    return widths


def widened(errors: Array, factor: Array) -> Array:
    """Return error paths (..., paths, leads) stretched about their median, whole as they are."""
    middle = np.median(errors, axis=-2, keepdims=True)
    stretched: Array = middle + (errors - middle) * factor
    return stretched
