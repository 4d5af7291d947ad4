"""One river's stores, snow included: run over its past, and from any moment of it into a future."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.gr4 import Filling, Stores, simulate
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.snow import thaw_members
from guiding.gauges.hydrology.weather import Weather


@dataclass(frozen=True, slots=True, kw_only=True)
class Snow:
    """The snow store of each member, arrays of shape (members,).

    `melt_mm` a degree and day, `patchy_mm` the pack below which it melts the less, `warmer_c` how
    much warmer the catchment is than where the air is measured.
    """

    melt_mm: Array
    patchy_mm: Array
    warmer_c: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Catchment:
    """The stores of one river, or of several tried at once; `snow` None where none is needed."""

    step_minutes: int
    stores: Stores
    snow: Snow | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """How full the stores are before the first step, each (members,); `pack_mm` of snow."""

    production: Array
    routing: Array
    pack_mm: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What the stores did over a history, every array of shape (steps, members)."""

    flow_mm: Array
    production: Array
    routing: Array
    effective_mm: Array
    pack_mm: Array


def run_past(
    catchment: Catchment, weather: Weather, *, spin: int = 0, start: Start | None = None
) -> Past:
    """Return what the stores did, after a run over the first `spin` steps to fill them."""
    stores = catchment.stores
    members = len(stores.x1_mm)

    def fed(values: Array) -> Array:
        return np.concatenate([values[:spin], values])[:, None]

    rain = fed(weather.rain_mm)
    packs = np.zeros((len(rain), members))
    if catchment.snow is not None:
        snow = catchment.snow
        thawed = thaw_members(
            rain,
            fed(weather.air_c) + snow.warmer_c,
            catchment.step_minutes,
            melt_mm=snow.melt_mm,
            patchy_mm=snow.patchy_mm,
            pack_mm=np.zeros(members) if start is None else start.pack_mm,
        )
        rain, packs = thawed.water_mm, thawed.pack_mm
    filling = None
    if start is not None:
        filling = Filling(
            production=start.production,
            routing=start.routing,
            effective_mm=np.zeros((0, members)),
        )
    run = simulate(stores, catchment.step_minutes, rain, fed(weather.pet_mm), filling)
    return Past(
        flow_mm=run.flow_mm[spin:],
        production=run.production[spin:],
        routing=run.routing[spin:],
        effective_mm=run.effective_mm[spin:],
        pack_mm=packs[spin:],
    )


def run_ahead(
    catchment: Catchment,
    past: Past,
    origins: NDArray[np.intp],
    *,
    rain_mm: Array,
    pet_mm: Array,
    air_c: Array,
) -> Array:
    """Return the flow [mm a step] after each origin, shape (origins, steps).

    Parameters
    ----------
    catchment : Catchment
        Of one member.
    past : Past
        Of one member.
    origins : (origins,)
        Positions in the past whose fillings are begun from.
    rain_mm, pet_mm, air_c : (origins, steps)
        The weather after each origin; `air_c` is used with a snow store only.
    """
    count = len(origins)
    rain = rain_mm.T
    if catchment.snow is not None:
        snow = catchment.snow
        rain = thaw_members(
            rain,
            air_c.T + snow.warmer_c,
            catchment.step_minutes,
            melt_mm=np.repeat(snow.melt_mm, count),
            patchy_mm=np.repeat(snow.patchy_mm, count),
            pack_mm=past.pack_mm[origins, 0],
        ).water_mm
    stores = catchment.stores
    tail = origins[None, :] - np.arange(stores.tail)[::-1, None]
    on_way = np.where(tail >= 0, past.effective_mm[np.maximum(tail, 0), 0], 0)
    many = Stores(
        x1_mm=np.repeat(stores.x1_mm, count),
        x2_mm=np.repeat(stores.x2_mm, count),
        x3_mm=np.repeat(stores.x3_mm, count),
        x4_steps=np.repeat(stores.x4_steps, count),
    )
    filling = Filling(
        production=past.production[origins, 0],
        routing=past.routing[origins, 0],
        effective_mm=on_way,
    )
    return simulate(many, catchment.step_minutes, rain, pet_mm.T, filling).flow_mm.T
