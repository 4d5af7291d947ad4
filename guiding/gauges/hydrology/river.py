"""A river as it was fitted: stores, scale and what is usual; its simulation beside its gauge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.catchment import (
    Catchment,
    Past,
    Start,
    run_ahead,
    run_past,
)
from guiding.gauges.hydrology.history import History, Positions
from guiding.gauges.hydrology.pseudo_flow import PseudoFlow
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.weather import (
    Usual,
    Weather,
    air_to_come,
    means_by_month,
    month_of,
    weather_of,
    year_share_ahead,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class River:
    """What a forecast needs of a river besides its past errors.

    `ratio` brings simulated flow to the gauge's pseudo-flow. `start` holds how full the stores
    usually are by twelfth of the year, arrays of shape (12,).
    """

    scale: PseudoFlow
    catchment: Catchment
    ratio: float
    usual: Usual
    start: Start


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulated:
    """A river's simulation over a history: z of the gauge (steps,), m of the stores (steps, 1)."""

    history: History
    weather: Weather
    past: Past
    z: Array
    m: Array


def usual_start(past: Past, year_share: Array) -> Start:
    """Return how full the stores of a run usually are by twelfth of the year."""
    month = month_of(year_share)
    return Start(
        production=means_by_month(past.production[:, 0], month),
        routing=means_by_month(past.routing[:, 0], month),
        pack_mm=means_by_month(past.pack_mm[:, 0], month),
    )


def simulate_history(river: River, history: History, *, spin: int | None = None) -> Simulated:
    """Return the simulation over a history.

    `spin` first steps are run over twice to fill the stores; None begins with what is usual for
    the time of year.
    """
    weather = weather_of(history, river.usual)
    start = None
    if spin is None:
        month = month_of(history.year_share[:1])
        usual = river.start
        start = Start(
            production=usual.production[month],
            routing=usual.routing[month],
            pack_mm=usual.pack_mm[month],
        )
    past = run_past(river.catchment, weather, spin=spin or 0, start=start)
    return Simulated(
        history=history,
        weather=weather,
        past=past,
        z=river.scale.scaled(river.scale.flow(history.level_m)),
        m=river.scale.scaled(past.flow_mm * river.ratio),
    )


def simulate_ahead(
    river: River,
    simulated: Simulated,
    origins: Positions,
    *,
    rain_mm: Array,
    air_c: Array | None = None,
) -> Array:
    """Return m after each origin, shape (origins, steps, 1).

    Parameters
    ----------
    river, simulated : River, Simulated
    origins : (origins,)
        Positions in the history; the stores begin as they were there.
    rain_mm : (origins, steps)
        Rain after each origin, known at every step.
    air_c : (origins, steps) or None
        Air after each origin, NaN where not known; the last day's on its way back to what is usual
        stands in. Evaporation is that of the time of year.
    """
    history, usual = simulated.history, river.usual
    steps = rain_mm.shape[1]
    ahead = year_share_ahead(history.year_share[origins], steps, history.step_minutes)
    air = np.zeros(rain_mm.shape)
    if river.catchment.snow is not None:
        air = air_to_come(usual, simulated.weather, origins, ahead, history.steps_a_day)
        if air_c is not None:
            air = np.where(np.isfinite(air_c), air_c, air)
    flow = run_ahead(
        river.catchment,
        simulated.past,
        origins,
        rain_mm=rain_mm,
        pet_mm=usual.at(usual.pet_mm, ahead),
        air_c=air,
    )
    return river.scale.scaled(flow * river.ratio)[:, :, None]
