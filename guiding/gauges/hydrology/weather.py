"""The weather a river model is fed: rain, evaporation and air at every step, and what was missing.

A step without rain on file is not a dry one: the mean of the time of year stands in for it, so that
the stores drift towards what is usual, and what was made so is counted and said.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.evaporation import potential_evaporation
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.record import Array

MONTHS = 12
# how fast air that is warmer or colder than usual returns to it where no forecast says (a day;
# common practice, no source)
AIR_KEEPS = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """The means of each twelfth of the year, shape (12,): rain and evaporation [mm a step], air.

    `air_c` [degrees C] is NaN throughout where no air is on file.
    """

    rain_mm: Array
    pet_mm: Array
    air_c: Array

    def at(self, means: Array, year_share: Array) -> Array:
        """Return the mean for each place in the year, any shape."""
        return means[month_of(year_share)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """What the stores are fed at each step, shape (steps,), without NaN, and what was on file.

    `air_c` is NaN where no air is on file at all. `has_rain` is False where the mean of the time
    of year stands in.
    """

    rain_mm: Array
    pet_mm: Array
    air_c: Array
    has_rain: NDArray[np.bool_]
    has_air: NDArray[np.bool_]

    def since(self, first: int) -> Weather:
        """Return the weather from a position on."""
        parts = {field.name: getattr(self, field.name)[first:] for field in fields(self)}
        return Weather(**parts)


def month_of(year_share: Array) -> NDArray[np.intp]:
    """Return which twelfth of the year each place in it is."""
    return (np.asarray(year_share) * MONTHS).astype(np.intp) % MONTHS


def usual_weather(history: History) -> Usual:
    """Return the means of a history by time of year; a month without any takes the year's mean."""
    month = month_of(history.year_share)
    rain, air = history.rain_or_gaps, history.air_or_gaps
    pet = potential_evaporation(history).pet_mm
    return Usual(
        rain_mm=means_by_month(rain, month),
        pet_mm=means_by_month(pet, month),
        air_c=means_by_month(air, month),
    )


def means_by_month(values: Array, month: NDArray[np.intp]) -> Array:
    """Return the mean of each month's known values; the mean of all where a month has none."""
    known = np.isfinite(values)
    if not known.any():
        return np.full(MONTHS, np.nan)
    counts = np.bincount(month[known], minlength=MONTHS)
    sums = np.bincount(month[known], weights=values[known], minlength=MONTHS)
    return np.where(counts > 0, sums / np.maximum(counts, 1), values[known].mean())


def weather_of(history: History, usual: Usual) -> Weather:
    """Return what the stores are fed over a history, each step from what was known at it."""
    rain, air = history.rain_or_gaps, history.air_or_gaps
    has_rain, has_air = np.isfinite(rain), np.isfinite(air)
    return Weather(
        rain_mm=np.where(has_rain, rain, usual.at(usual.rain_mm, history.year_share)),
        pet_mm=potential_evaporation(history).pet_mm,
        air_c=np.where(has_air, air, usual.at(usual.air_c, history.year_share)),
        has_rain=has_rain,
        has_air=has_air,
    )


def year_share_ahead(year_share: Array, steps: int, step_minutes: int) -> Array:
    """Return where in the year the steps after each origin lie, shape (origins, steps)."""
    step = step_minutes / 1440 / 365.2425
    return (np.asarray(year_share)[:, None] + step * np.arange(1, steps + 1)) % 1


def air_to_come(
    usual: Usual, weather: Weather, origins: NDArray[np.intp], ahead_share: Array, a_day: int
) -> Array:
    """Return air where no forecast of it is: the last day's, on its way back to what is usual.

    Shape (origins, steps) [degrees C]; NaN where no air is on file at all.
    """
    sums = np.concatenate([[0.0], np.cumsum(weather.air_c)])
    begins = np.maximum(origins + 1 - a_day, 0)
    now = (sums[origins + 1] - sums[begins]) / (origins + 1 - begins)
    ahead = usual.at(usual.air_c, ahead_share)
    off = now - ahead[:, 0]
    days = np.arange(1, ahead_share.shape[1] + 1) / a_day
    air: Array = ahead + off[:, None] * AIR_KEEPS**days
    return air
