"""How much water the air could take up: measured, from air temperature, or a yearly wave."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.record import Array

LATENT_HEAT = 2.45  # MJ to turn a kilogram of water into vapour (FAO 56, from memory)
SOLAR_CONSTANT = 0.0820  # MJ/m2 a minute (FAO 56, from memory)

# Where no latitude is on file: the middle of the salmon's rivers, north or south as the air says
ASSUMED_LATITUDE = 50.0
# Where no air temperature is on file: 1.6 mm a day over the year, 580 mm a year, with a tenth of it
# in midwinter; lowland north-west Europe (common practice, no source)
WAVE_MEAN_MM = 1.6
WAVE_SHARE = 0.9
WARMEST = 0.53  # of the year: mid July in the north

HALF_ON_FILE = 0.5  # share of a day's hours that make a day's mean


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaporation:
    """Potential evaporation [mm a step], shape (steps,), never NaN; what must be said of it."""

    pet_mm: Array
    says: tuple[str, ...]


def potential_evaporation(history: History) -> Evaporation:
    """Return the best that is known of each step: given, else from air, else the yearly wave.

    Where no latitude is on file 50 degrees is assumed, north or south as the air's own year says,
    and where there is no air either, the north. Each step looks back only, never ahead.
    """
    count = len(history.level_m)
    latitude, says = latitude_of(history)
    given = np.full(count, np.nan) if history.pet_mm is None else history.pet_mm
    air = np.full(count, np.nan) if history.air_c is None else history.air_c
    warmed = oudin(air, history.year_share, latitude, history.step_minutes)
    wave = yearly_wave(history.year_share, latitude, history.step_minutes)
    from_air = np.isnan(given) & np.isfinite(warmed)
    from_wave = np.isnan(given) & np.isnan(warmed)
    if from_air.any():
        says.append(f"Evaporation is worked out from air temperature for {_of(from_air)}.")
    if from_wave.any():
        says.append(
            f"Evaporation is a yearly wave about {WAVE_MEAN_MM:g} mm a day, not measured, for "
            f"{_of(from_wave)}."
        )
    pet_mm = np.where(from_wave, wave, np.where(from_air, warmed, given))
    return Evaporation(pet_mm=pet_mm, says=tuple(says))


def oudin(air_c: Array, year_share: Array, latitude: float, step_minutes: int) -> Array:
    """Return potential evaporation [mm a step] from air temperature; NaN where that is not known.

    Parameters
    ----------
    air_c : (steps,)
        Mean air temperature of each step [degrees C].
    year_share : (steps,)
        Where in the year, 0 to 1.
    latitude : float
        Degrees, south negative.
    step_minutes : int
        1440, or 60: the mean air of the 24 hours up to each hour, spread evenly over them.

    Notes
    -----
    Re / (heat of vaporisation x density) x (T + 5) / 100 where T + 5 > 0, else 0, Re the radiation
    on top of the air.

    References
    ----------
    Oudin, Hervieu, Michel, Perrin, Andreassian, Anctil & Loumagne 2005, Which potential
    evapotranspiration input for a lumped rainfall-runoff model? Part 2, J. Hydrol. 303:290-306.
    """
    a_day = 1440 // step_minutes
    warm_c = air_c if a_day == 1 else _mean_behind(air_c, a_day)
    a_day_mm = radiation(year_share, latitude) / LATENT_HEAT * np.maximum(warm_c + 5, 0) / 100
    return a_day_mm / a_day


def radiation(year_share: Array, latitude: float) -> Array:
    """Return the sun's radiation on top of the air [MJ/m2 a day], 0 in the polar night.

    References
    ----------
    Allen, Pereira, Raes & Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper
    56, equations 21 to 25 (from memory).

    Raises
    ------
    ValueError
        The latitude is none.
    """
    if not -90 <= latitude <= 90:
        raise ValueError(f"latitude is {latitude:g}; it lies in -90 to 90 degrees.")
    phi, angle = np.radians(latitude), 2 * np.pi * year_share
    nearness = 1 + 0.033 * np.cos(angle)
    tilt = 0.409 * np.sin(angle - 1.39)
    # the sun that never sets, or never rises
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(tilt), -1, 1))
    height = sunset * np.sin(phi) * np.sin(tilt) + np.cos(phi) * np.cos(tilt) * np.sin(sunset)
    sent: Array = np.maximum(24 * 60 / np.pi * SOLAR_CONSTANT * nearness * height, 0)
    return sent


def yearly_wave(year_share: Array, latitude: float, step_minutes: int) -> Array:
    """Return a year's wave of evaporation [mm a step] with a mean of 1.6 mm a day."""
    side = 1 if latitude >= 0 else -1
    wave = 1 + side * WAVE_SHARE * np.cos(2 * np.pi * (year_share - WARMEST))
    return WAVE_MEAN_MM * step_minutes / 1440 * wave


def is_northern(air_c: Array, year_share: Array) -> bool:
    """Say whether the air is warmer about July than about January."""
    return float(np.nansum((air_c - np.nanmean(air_c)) * _july(year_share))) >= 0


def _july(year_share: Array) -> Array:
    wave: Array = np.cos(2 * np.pi * (year_share - WARMEST))
    return wave


def latitude_of(history: History) -> tuple[float, list[str]]:
    """Return the latitude on file, or the one that is assumed and the words for it."""
    if history.latitude is not None:
        return history.latitude, []
    if history.pet_mm is not None and np.isfinite(history.pet_mm).all():
        return ASSUMED_LATITUDE, []  # nothing will be worked out from it
    is_known = history.air_c is not None and np.isfinite(history.air_c).any()
    is_north = not is_known or is_northern(np.asarray(history.air_c), history.year_share)
    side = "north" if is_north else "south"
    return (
        ASSUMED_LATITUDE if is_north else -ASSUMED_LATITUDE,
        [f"No latitude is on file: {ASSUMED_LATITUDE:.0f} degrees {side} is assumed."],
    )


def _mean_behind(values: Array, steps: int) -> Array:
    """Return the mean of what is known of the last `steps` steps; NaN under half of them."""
    known = np.isfinite(values)
    sums = np.concatenate([[0.0], np.cumsum(np.where(known, values, 0))])
    counts = np.concatenate([[0], np.cumsum(known)])
    first = np.maximum(np.arange(1, len(values) + 1) - steps, 0)
    count = counts[1:] - counts[first]
    mean = (sums[1:] - sums[first]) / np.maximum(count, 1)
    span = np.arange(1, len(values) + 1) - first
    return np.where(count >= HALF_ON_FILE * span, mean, np.nan)


def _of(which: NDArray[np.bool_]) -> str:
    return "every step" if which.all() else f"{int(which.sum())} of {which.size} steps"
