"""A gauge's rows laid on its own steps, as the models read them: gaps stay gaps."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

import numpy as np

from guiding.gauges.hydrology.bands import RiverRecord
from guiding.gauges.hydrology.history import History, RainRuns
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.water_temperature import WaterRecord
from guiding.gauges.steps import Steps

Readings = Iterable[tuple[datetime, float]]


def history_of(
    steps: Steps,
    *,
    levels: Readings,
    rain: Readings,
    air: Readings,
    first: int,
    last: int,
    latitude: float | None,
    runs: RainRuns | None = None,
) -> History:
    """Return levels, rain and air from step `first` to `last` as the river model takes them.

    Rain carries the moment it begins: hourly it stands with the level that comes after it.
    """
    behind = 0 if steps.is_daily else 1
    return History(
        step_minutes=steps.step_minutes,
        level_m=steps.laid_out(levels, first, last),
        rain_mm=_or_none(steps.summed(rain, first - behind, last - behind)),
        air_c=_or_none(steps.averaged(air, first - behind, last - behind)),
        pet_mm=None,
        year_share=steps.year_share(first, last - first + 1),
        latitude=latitude,
        runs=runs,
    )


def river_record_of(
    steps: Steps, *, levels: Readings, rain: Readings, first: int, last: int
) -> RiverRecord:
    """Return levels and rain as the outlook from like windows takes them: each where it begins."""
    return RiverRecord(
        step_minutes=steps.step_minutes,
        level_m=steps.laid_out(levels, first, last),
        rain_mm=_or_none(steps.summed(rain, first, last)),
        year_share=steps.year_share(first, last - first + 1),
    )


def water_record_of(
    steps: Steps, *, water: Readings, air: Readings, levels: Readings, first: int, last: int
) -> WaterRecord:
    """Return water, air and level as the model of water temperature takes them."""
    settle = steps.averaged if steps.is_daily else steps.laid_out
    return WaterRecord(
        step_minutes=steps.step_minutes,
        water_c=settle(water, first, last),
        year_share=steps.year_share(first, last - first + 1),
        air_c=_or_none(settle(air, first, last)),
        flow=None,
        level_m=_or_none(steps.laid_out(levels, first, last)),
        begins_hour=float(steps.moment(first).hour),
    )


def _or_none(values: Array) -> Array | None:
    return values if np.isfinite(values).any() else None
