"""A river as it was fitted: stores, scale and what is usual; its simulation beside its gauge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from guiding.gauges.hydrology.catchment import (
    Catchment,
    Past,
    Start,
    run_ahead,
    run_past,
)
from guiding.gauges.hydrology.history import History, Positions
from guiding.gauges.hydrology.lead_regression import Ahead, Standing, ground_at, standing_at
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
class Sim:
    """One simulation of a river.

    `ratio` brings its flow to the gauge's pseudo-flow. `start` holds how full its stores usually
    are by twelfth of the year, arrays of shape (12,).
    """

    catchment: Catchment
    ratio: float
    start: Start


@dataclass(frozen=True, slots=True, kw_only=True)
class River:
    """What a forecast needs of a river besides its past errors; the first simulation leads.

    `latitude` [degrees] is the one it was fitted with, assumed where none is on file.
    """

    latitude: float
    scale: PseudoFlow
    usual: Usual
    sims: tuple[Sim, ...]

    @property
    def is_snowy(self) -> bool:
        """Say whether there is a snow store."""
        return any(sim.catchment.snow is not None for sim in self.sims)


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulated:
    """A river over a history: z of the gauge (steps,), m of the simulations (steps, sims)."""

    history: History
    weather: Weather
    pasts: tuple[Past, ...]
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


def simulate_history(river: River, history: History) -> Simulated:
    """Return the simulation over a history, begun as full as is usual for the time of year."""
    # a part of a year cannot tell north from south again
    history = replace(history, latitude=river.latitude)
    month = month_of(history.year_share[:1])
    weather = weather_of(history, river.usual)
    pasts = []
    for sim in river.sims:
        start = Start(
            production=sim.start.production[month],
            routing=sim.start.routing[month],
            pack_mm=sim.start.pack_mm[month],
        )
        pasts.append(run_past(sim.catchment, weather, start=start))
    return beside_the_gauge(river, history, weather, tuple(pasts))


def beside_the_gauge(
    river: River, history: History, weather: Weather, pasts: tuple[Past, ...]
) -> Simulated:
    """Return runs of a river's stores on the scale of its gauge."""
    flows = [past.flow_mm * sim.ratio for sim, past in zip(river.sims, pasts, strict=True)]
    return Simulated(
        history=history,
        weather=weather,
        pasts=pasts,
        z=river.scale.scaled(river.scale.flow(history.level_m)),
        m=river.scale.scaled(np.concatenate(flows, axis=1)),
    )


def standing_of(simulated: Simulated, origins: Positions) -> Standing:
    """Return how gauge, simulations and ground stand at some positions."""
    history, first = simulated.history, simulated.pasts[0]
    ground = ground_at(
        simulated.weather.rain_mm,
        np.concatenate([first.production, first.routing], axis=1),
        history.year_share,
        origins,
        history.step_minutes,
    )
    return standing_at(simulated.z, simulated.m, origins, history.step_minutes, ground)


def simulate_ahead(
    river: River,
    simulated: Simulated,
    origins: Positions,
    *,
    rain_mm: Array,
    air_c: Array | None = None,
) -> Ahead:
    """Return what each origin is to expect: m of every simulation, and the rain that it is from.

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
    if river.is_snowy:
        air = air_to_come(usual, simulated.weather, origins, ahead, history.steps_a_day)
        if air_c is not None:
            air = np.where(np.isfinite(air_c), air_c, air)
    pet_mm = usual.at(usual.pet_mm, ahead)
    flows = [
        sim.ratio
        * run_ahead(sim.catchment, past, origins, rain_mm=rain_mm, pet_mm=pet_mm, air_c=air)
        for sim, past in zip(river.sims, simulated.pasts, strict=True)
    ]
    return Ahead(
        m=river.scale.scaled(np.stack(flows, axis=2)),
        rain_mm=rain_mm,
        step_minutes=history.step_minutes,
    )
