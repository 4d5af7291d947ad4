"""Which past moments are forecast again, and the rain and air each forecast would have had."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology import rain_spells
from guiding.gauges.hydrology.air_dressing import air_that_came, degraded_air
from guiding.gauges.hydrology.history import Positions, RainRuns
from guiding.gauges.hydrology.rain_dressing import degraded_rain
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.river import Simulated
from guiding.gauges.hydrology.weather import usual_weather, year_share_ahead

MOST_MOMENTS = 4_500  # neighbouring hours tell the same story twice
MOST_DRAWS = 3  # of the stand-in for a rain forecast, from one moment
SETTLED_DAYS = 30  # no forecast is made again before these
# an archive of runs this long and with this many speaks for every season (common practice, no
# source)
ENOUGH_RUNS = 250
ENOUGH_RUN_DAYS = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What past forecasts would have been given.

    `origins` (moments,) in order, a moment once or several times; `rain_mm` (moments, leads);
    `air_c` likewise, None for forecasts that were given none; `rain` says what rain it is.
    """

    origins: Positions
    rain_mm: Array
    air_c: Array | None
    rain: str


def given(simulated: Simulated, rain: str, leads: int, seed: int) -> Given:
    """Return the past moments and what a forecast from each would have been given.

    Too small an archive gives way to the stand-in, and `rain` says so.

    Raises
    ------
    ValueError
        No unbroken stretch of rain is on file to make the stand-in from.
    """
    history = simulated.history
    origins = moments(simulated, leads)
    if rain == "none":
        dry = np.zeros((origins.size, leads))
        return Given(origins=origins, rain_mm=dry, air_c=None, rain=rain)
    if rain == "true":
        fell = history.rain_or_gaps[origins[:, None] + np.arange(1, leads + 1)]
        air = air_that_came(history.air_or_gaps, origins, leads)
        return _where_known(Given(origins=origins, rain_mm=fell, air_c=air, rain=rain))
    if rain == "archive" and (kept := _archive(simulated, history.runs, leads, seed)) is not None:
        return kept
    return _stand_in(simulated, origins, leads, seed)


def moments(simulated: Simulated, leads: int) -> Positions:
    """Return the moments to forecast again: level and most of the rain behind are known."""
    history = simulated.history
    count = len(simulated.z)
    settled = min(SETTLED_DAYS * history.steps_a_day, count // 3)
    places = np.arange(settled, count - leads)
    known = np.isfinite(simulated.z[places]) & rain_spells.is_known_behind(
        simulated.weather.has_rain, places, history.steps_a_day
    )
    places = places[known]
    return places[:: max(1, -(-places.size // MOST_MOMENTS))]


def _where_known(all_of: Given) -> Given:
    known = np.isfinite(all_of.rain_mm).all(axis=1)
    return Given(
        origins=all_of.origins[known],
        rain_mm=all_of.rain_mm[known],
        air_c=None if all_of.air_c is None else all_of.air_c[known],
        rain=all_of.rain,
    )


def _stand_in(simulated: Simulated, origins: Positions, leads: int, seed: int) -> Given:
    """Return the rain that fell made as uncertain as a forecast, drawn up to three times."""
    history = simulated.history
    draws = max(1, min(MOST_DRAWS, MOST_MOMENTS // max(origins.size, 1)))
    origins = np.repeat(origins, draws)
    rain = degraded_rain(
        history.rain_or_gaps,
        origins,
        steps=leads,
        step_minutes=history.step_minutes,
        draw_before=len(history.level_m),
        seed=seed,
    )
    air = _stand_in_air(simulated, origins, leads, seed)
    return _where_known(Given(origins=origins, rain_mm=rain, air_c=air, rain="degraded"))


def _stand_in_air(simulated: Simulated, origins: Positions, leads: int, seed: int) -> Array:
    history = simulated.history
    return degraded_air(
        history.air_or_gaps,
        origins,
        steps=leads,
        step_minutes=history.step_minutes,
        seed=seed,
    )


def _archive(simulated: Simulated, runs: RainRuns | None, leads: int, seed: int) -> Given | None:
    """Return what the archive of runs gave, where there are enough of them, else None.

    What a run did not carry is taken as the mean of the time of year. Of several runs from one
    moment the last is taken. Archives keep rain alone: air is the stand-in.
    """
    if runs is None or not len(runs.origins):
        return None
    history = simulated.history
    newest = {int(origin): row for row, origin in enumerate(runs.origins)}
    origins = np.array(sorted(newest), dtype=np.intp)
    rows = np.array([newest[int(origin)] for origin in origins])
    usable = (origins >= 0) & (origins < len(simulated.z) - leads)
    usable[usable] &= np.isfinite(simulated.z[origins[usable]])
    usable[usable] &= rain_spells.is_known_behind(
        simulated.weather.has_rain, origins[usable], history.steps_a_day
    )
    origins, rows = origins[usable], rows[usable]
    if origins.size < ENOUGH_RUNS:
        return None
    if origins[-1] - origins[0] < ENOUGH_RUN_DAYS * history.steps_a_day:
        return None
    every = -(-origins.size // MOST_MOMENTS)
    origins, rows = origins[::every], rows[::every]
    rain = np.full((origins.size, leads), np.nan)
    held = min(leads, runs.rain_mm.shape[1])
    rain[:, :held] = runs.rain_mm[rows, :held]
    share = year_share_ahead(history.year_share[origins], leads, history.step_minutes)
    usual = usual_weather(history)
    return Given(
        origins=origins,
        rain_mm=np.where(np.isfinite(rain), rain, usual.at(usual.rain_mm, share)),
        air_c=_stand_in_air(simulated, origins, leads, seed),
        rain="archive",
    )
