"""Rain that fell, made as uncertain as a forecast of it would have been."""

from __future__ import annotations

import numpy as np

from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

# How sure a rain forecast is on days 1 to 5: the weight of the rain that fell, the rest drawn from
# another period; the amount off by a factor of this spread, the hour by up to three either way.
# The recipe of the project's river study (common practice, no source).
WEIGHTS = (0.9, 0.8, 0.7, 0.6, 0.5)
SPREAD = 0.4
SHIFT_HOURS = 3
ROUNDS = 50  # of drawing again where another period turned out to be this one


def degraded_rain(
    rain_mm: Array,
    origins: Positions,
    *,
    steps: int,
    step_minutes: int,
    draw_before: int,
    seed: int,
) -> Array:
    """Return a stand-in for the rain forecast at each origin, shape (origins, steps) [mm a step].

    Parameters
    ----------
    rain_mm : (record,)
        The rain that fell, NaN where not known.
    origins : (origins,)
        Position of the last step known to each forecast; column k is for origin + 1 + k.
    steps, step_minutes : int
        How many steps, of 60 or 1440 minutes each.
    draw_before : int
        Other periods end before this position: the end of the part that is trained on, so that a
        forecast to be scored borrows no rain from what comes after.
    seed : int
        The same record, origins and seed give the same rain.

    Notes
    -----
    w f P(t + shift) + (1 - w) P'(t): w by day ahead, f = exp(0.4 n - 0.08), n standard normal, one
    a day and origin, mean 1; P' an unbroken stretch elsewhere, one an origin. Hourly the rain that
    fell is up to three hours early or late, one shift an origin, cut short where it would leave the
    record. A step whose own rain is not known is NaN.

    Raises
    ------
    ValueError
        No other period of this length is on file.
    """
    draw = np.random.default_rng(seed)
    a_day = DAY_MINUTES // step_minutes
    ahead = np.arange(1, steps + 1)
    days = np.minimum((ahead - 1) // a_day, len(WEIGHTS) - 1)
    weights = np.array(WEIGHTS)[days]
    noise = draw.normal(0, SPREAD, (len(origins), len(WEIGHTS)))
    factors = np.exp(noise - SPREAD**2 / 2)[:, days]
    shifts = np.zeros(len(origins), dtype=np.intp)
    if a_day > 1:
        shifts = draw.integers(-SHIFT_HOURS, SHIFT_HOURS + 1, len(origins))
        shifts = np.clip(shifts, -origins - 1, np.maximum(len(rain_mm) - 1 - origins - steps, 0))
    own = _at(rain_mm, origins[:, None] + ahead)
    shifted = _at(rain_mm, origins[:, None] + ahead + shifts[:, None])
    # a shift must not bring rain to a step whose own is not known, nor hide one that is
    fell = np.where(np.isfinite(shifted) | np.isnan(own), shifted, own) + 0 * own
    begins = _elsewhere(rain_mm[:draw_before], origins, steps, draw)
    other = rain_mm[begins[:, None] + np.arange(steps)]
    dressed: Array = weights * factors * fell + (1 - weights) * other
    return dressed


def _at(rain_mm: Array, places: Positions) -> Array:
    """Return the rain at each place, NaN outside the record."""
    inside = (places >= 0) & (places < len(rain_mm))
    return np.where(inside, rain_mm[np.clip(places, 0, len(rain_mm) - 1)], np.nan)


def _elsewhere(
    rain_mm: Array, origins: Positions, steps: int, draw: np.random.Generator
) -> Positions:
    """Return where an unbroken stretch of rain begins for each origin, none over its own steps."""
    broken = np.concatenate([[0], np.cumsum(~np.isfinite(rain_mm))])
    whole = np.flatnonzero(broken[steps:] == broken[: len(broken) - steps])
    if len(rain_mm) < steps or not whole.size:
        raise ValueError(f"no unbroken stretch of {steps} steps of rain is on file to draw from.")
    begins = whole[draw.integers(0, whole.size, len(origins))]
    for _ in range(ROUNDS):
        own = np.abs(begins - origins - 1) < steps
        if not own.any():
            return begins
        begins[own] = whole[draw.integers(0, whole.size, int(own.sum()))]
    raise ValueError(f"no other stretch of {steps} steps of rain is on file to draw from.")
