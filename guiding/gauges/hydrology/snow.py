"""Snow: what falls cold is kept, and runs off by the degrees above freezing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.record import DAY_MINUTES, Array

# all snow below, all rain above, in between by share: 50 % at 1 degree (common practice; the range
# that CemaNeige takes where it knows no daily range of temperature, Valery et al. 2014, J. Hydrol.
# 517:1176-1187, from memory)
ALL_SNOW_C = -1.0
ALL_RAIN_C = 3.0
MELTS_ABOVE_C = 0.0
MELT_MM = 3.0  # a degree and day, where it is not fitted (common practice, no source)
LEAST_MELT = 0.1  # share of full melt that the last patches give (CemaNeige, from memory)
LEAST_PATCHY_MM = 0.001  # less is never
SNOW_SHARE = 0.05  # of what falls: less, and the river needs no snow store (common practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thaw:
    """What reached the ground [mm a step] and what lay on it at the end of each step [mm].

    Shapes (steps,) for one melt factor, (factors, steps) for several.
    """

    water_mm: Array
    pack_mm: Array


def snow_share(air_c: Array) -> Array:
    """Return how much of what falls is snow, 0 to 1, by air temperature [degrees C]."""
    share: Array = np.clip((ALL_RAIN_C - air_c) / (ALL_RAIN_C - ALL_SNOW_C), 0, 1)
    return share


def needs_snow(rain_mm: Array, air_c: Array | None) -> bool:
    """Say whether a twentieth or more of what fell was snow; without air temperature, no."""
    if air_c is None:
        return False
    known = np.isfinite(rain_mm) & np.isfinite(air_c)
    fell = float(rain_mm[known].sum())
    return fell > 0 and float((rain_mm * snow_share(air_c))[known].sum()) >= SNOW_SHARE * fell


def thaw(
    rain_mm: Array,
    air_c: Array,
    step_minutes: int,
    *,
    melt_mm: float | Array = MELT_MM,
    pack_mm: float | Array = 0.0,
) -> Thaw:
    """Return what a degree-day store lets through; what falls is what runs off and what lies.

    Parameters
    ----------
    rain_mm : (steps,)
        What fell, rain or snow, as water [mm a step].
    air_c : (steps,)
        Mean air temperature of the step [degrees C].
    step_minutes : int
        60 or 1440.
    melt_mm : float or (factors,)
        Melt [mm a degree and day above freezing].
    pack_mm : float or (factors,)
        What lies at the beginning [mm].

    Notes
    -----
    pack' = pack + s P; melt = min(pack', f max(T - 0, 0) dt); water = (1 - s) P + melt. Melt takes
    what fell in the same step as well.

    References
    ----------
    Degree-day melt: Hock 2003, Temperature index melt modelling in mountain areas, J. Hydrol.
    282:104-115 (from memory).

    Raises
    ------
    ValueError
        Rain or air is not known at some step (nothing is guessed here), or rain is negative.
    """
    if not (np.isfinite(rain_mm).all() and np.isfinite(air_c).all()):
        missing = int((~np.isfinite(rain_mm) | ~np.isfinite(air_c)).sum())
        raise ValueError(f"rain or air is not known at {missing} steps; snow takes every step.")
    if (rain_mm < 0).any():
        raise ValueError(f"rain_mm is {float(rain_mm.min()):g}; what falls is 0 or more.")
    factors = np.atleast_1d(np.asarray(melt_mm, dtype=float))
    start = np.broadcast_to(np.asarray(pack_mm, dtype=float), factors.shape)
    got = thaw_members(
        rain_mm[:, None],
        air_c[:, None],
        step_minutes,
        melt_mm=factors,
        patchy_mm=np.zeros(factors.shape),
        pack_mm=start,
    )
    if np.ndim(melt_mm) == 0:
        return Thaw(water_mm=got.water_mm[:, 0], pack_mm=got.pack_mm[:, 0])
    return Thaw(water_mm=got.water_mm.T.copy(), pack_mm=got.pack_mm.T.copy())


def thaw_members(
    rain_mm: Array,
    air_c: Array,
    step_minutes: int,
    *,
    melt_mm: Array,
    patchy_mm: Array,
    pack_mm: Array,
) -> Thaw:
    """Return what several stores let through, each with its own weather or all with the same.

    Parameters
    ----------
    rain_mm, air_c : (steps, members) or (steps, 1)
        As in thaw, known at every step.
    step_minutes : int
        60 or 1440.
    melt_mm, patchy_mm, pack_mm : (members,)
        Melt a degree and day; the pack below which snow lies in patches and melts the less [mm],
        0 for never; what lies at the beginning [mm].

    Returns
    -------
    Thaw
        Shapes (steps, members).

    Notes
    -----
    melt = min(pack', f max(T, 0) dt min(0.1 + 0.9 pack' / patchy, 1)). The published routine takes
    the smaller of pack and warmth before the share; here after it, so that a thicker pack never
    leaves less behind, and more snow never gives less water at any step.

    References
    ----------
    Valery, Andreassian & Perrin 2014, 'As simple as possible but not simpler': what is useful in a
    temperature-based snow-accounting routine? Part 2, J. Hydrol. 517:1176-1187 (from memory).
    """
    members = len(melt_mm)
    share = snow_share(air_c)
    warmth = np.maximum(air_c - MELTS_ABOVE_C, 0) * (melt_mm * step_minutes / DAY_MINUTES)
    bare = patchy_mm < LEAST_PATCHY_MM
    slope = np.where(bare, 0, (1 - LEAST_MELT) / np.where(bare, 1, patchy_mm))
    least = np.where(bare, 1.0, LEAST_MELT)
    snow, rain = rain_mm * share, rain_mm * (1 - share)
    if members == 1 and snow.shape[1] == 1:
        rows = zip(snow[:, 0].tolist(), warmth[:, 0].tolist(), strict=True)
        packs, melts = _lay_one(rows, float(pack_mm[0]), float(slope[0]), float(least[0]))
    else:
        packs, melts = _lay(snow, warmth, pack_mm, slope, least)
    return Thaw(water_mm=rain + melts, pack_mm=packs)


def _lay(
    snow: Array, warmth: Array, lying: Array, slope: Array, least: Array
) -> tuple[Array, Array]:
    packs, melts = np.empty(warmth.shape), np.empty(warmth.shape)
    for step in range(len(warmth)):
        lying = lying + snow[step]
        melts[step] = np.minimum(lying, warmth[step] * np.minimum(least + slope * lying, 1))
        lying = packs[step] = lying - melts[step]
    return packs, melts


def _lay_one(
    rows: Iterable[tuple[float, float]], lying: float, slope: float, least: float
) -> tuple[Array, Array]:
    """Do the same for one store in plain floats, ten times faster than arrays of one."""
    packs, melts = [], []
    for snow, warmth in rows:
        lying += snow
        melt = min(lying, warmth * min(least + slope * lying, 1))
        lying -= melt
        packs.append(lying)
        melts.append(melt)
    return np.array(packs)[:, None], np.array(melts)[:, None]
