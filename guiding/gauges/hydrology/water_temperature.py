"""Water temperature ahead: what a fit makes of recent water, and of air and river to come."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.water_fits import MODEL as MODEL
from guiding.gauges.hydrology.water_fits import TooLittle as TooLittle
from guiding.gauges.hydrology.water_fits import WaterFit as WaterFit
from guiding.gauges.hydrology.water_leads import Carried, LeadModel, Past, Places, carry, months_of
from guiding.gauges.hydrology.water_learning import fit_water as fit_water
from guiding.gauges.hydrology.water_terms import Drivers, drivers_of
from guiding.gauges.hydrology.water_terms import WaterRecord as WaterRecord

WARM_UP_DAYS = 180  # how much of the past `recent` should hold, for the slow mean of the air
OLDEST_DAYS = 30  # a water older than this says nothing of the days ahead
AIR_BEHIND_DAYS, AIR_BEHIND_SHARE = 30, 0.8  # of the air before the forecast must be on file
SURE_DAYS = 730  # fitted on less, it is said
FREEZES_C = 0.0
YEAR_DAYS = 365.2425


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterOutlook:
    """Quantiles of the next steps [degrees C], shape (steps,), NaN where not known."""

    q10: Array
    q50: Array
    q90: Array
    says: tuple[str, ...]


def carry_all(fit: WaterFit, record: WaterRecord, origins: Places, lead: int) -> Carried:
    """Return forecasts from many origins for one lead, air and river ahead as the record has them.

    Nothing of the water after an origin is looked at. Each takes the model that knows most of what
    the record has there.
    """
    drivers = drivers_of(record, fit.terms)
    months = months_of(record.year_share[origins + lead])
    out = np.full((3, origins.size), np.nan)
    for model in fit.models:
        past = _past(model, record, drivers)
        one = None if past is None else carry(model, past, origins, lead, months)
        if one is not None:
            out = np.where(np.isnan(out[1]), np.stack([one.low, one.middle, one.high]), out)
    out[:, ~np.isin(months, fit.months)] = np.nan
    low, middle, high = np.maximum(out, FREEZES_C)
    return Carried(low=low, middle=middle, high=high)


def _past(model: LeadModel, record: WaterRecord, drivers: Drivers) -> Past | None:
    """Return the record as one model sees it; None where the record lacks what the model takes."""
    if (model.has_air and drivers.air is None) or (model.has_river and drivers.river is None):
        return None
    chosen = drivers.without(air=model.has_air, river=model.has_river)
    return Past.of(record.water_c, chosen, model.rows, record.steps_a_day)


def water_ahead(
    fit: WaterFit,
    recent: WaterRecord,
    *,
    steps: int,
    air_ahead_c: Array | None,
    river_ahead: Array | None,
) -> WaterOutlook:
    """Return the water of the next steps after `recent`.

    Parameters
    ----------
    fit : WaterFit
    recent : WaterRecord
        Up to the step before the first one asked for, `WARM_UP_DAYS` of it if there are as many;
        the last water may be some steps back.
    steps : int
        How many steps to give.
    air_ahead_c : (steps,) or None
        Forecast of the air [degrees C], NaN where it carries none.
    river_ahead : (steps,) or None
        Median forecast of what `fit.river` names: level [m], or flow in the unit of
        `recent.flow`. NaN where not known.

    Notes
    -----
    Each step takes the model that knows most of what is there for it. Fresh water is not below 0:
    where the sum is, 0 is given, and that is said.
    """
    known = np.flatnonzero(np.isfinite(recent.water_c))
    late = recent.water_c.size - 1 - int(known[-1]) if known.size else 0
    if not known.size or late > OLDEST_DAYS * recent.steps_a_day:
        nothing = np.full(steps, np.nan)
        why = f"Not known: no water temperature is on file of the last {OLDEST_DAYS} days."
        return WaterOutlook(q10=nothing, q50=nothing, q90=nothing, says=(why,))
    record = _joined(fit, recent, steps, air_ahead_c, river_ahead)
    drivers = drivers_of(record, fit.terms)
    months = months_of(record.year_share)[recent.water_c.size :]
    out, used = np.full((3, steps), np.nan), np.full(steps, -1, dtype=np.intp)
    origin = known[-1:]
    for i, model in enumerate(fit.models):
        past = _past(model, record, drivers)
        if past is None:
            continue
        for step in np.flatnonzero(used < 0):
            one = carry(model, past, origin, late + 1 + int(step), months[step : step + 1])
            if np.isfinite(one.middle[0]):
                out[:, step] = one.low[0], one.middle[0], one.high[0]
                used[step] = i
    out[:, ~np.isin(months, fit.months)] = np.nan
    low, middle, high = floored = np.round(np.maximum(out, FREEZES_C), 2)
    says = [*_says(fit, recent, late, used, floored), *_beyond(fit, middle, air_ahead_c)]
    if (out < FREEZES_C).any():
        says.append(
            "Water does not get colder than 0 degrees C: where the sum did, 0 is given, and there "
            "may be ice."
        )
    return WaterOutlook(q10=low, q50=middle, q90=high, says=tuple(says))


def _joined(
    fit: WaterFit,
    recent: WaterRecord,
    steps: int,
    air_ahead_c: Array | None,
    river_ahead: Array | None,
) -> WaterRecord:
    """Return the record with what is forecast behind it, the water ahead not known."""
    nothing = np.full(steps, np.nan)

    def longer(behind: Array | None, ahead: Array | None) -> Array | None:
        if behind is None:
            return None
        return np.concatenate([behind, nothing if ahead is None else ahead])

    last = recent.year_share[-1]
    share = (last + np.arange(1, steps + 1) / recent.steps_a_day / YEAR_DAYS) % 1
    air_c = recent.air_c
    if air_c is not None:
        behind = air_c[-AIR_BEHIND_DAYS * recent.steps_a_day :]
        air_c = air_c if np.isfinite(behind).mean() >= AIR_BEHIND_SHARE else None
    return replace(
        recent,
        water_c=np.concatenate([recent.water_c, nothing]),
        year_share=np.concatenate([recent.year_share, share]),
        air_c=longer(air_c, air_ahead_c),
        flow=longer(recent.flow, river_ahead if fit.river == "flow" else None),
        level_m=longer(recent.level_m, river_ahead if fit.river == "level" else None),
    )


def _says(fit: WaterFit, recent: WaterRecord, late: int, used: Places, out: Array) -> list[str]:
    """Return what must be said in words wherever a value is shown."""
    says = []
    a_day = recent.steps_a_day
    if late >= a_day:
        says.append(
            f"The water was last measured {_days(late / a_day)} before: the forecast starts there."
        )
    if fit.days < SURE_DAYS:
        says.append(
            f"Learned from {fit.days:.0f} days of water temperature, less than two years: another "
            "year may differ."
        )
    says += _inputs_say(fit, used, a_day)
    if np.isnan(out[1]).any():
        says.append(
            "Not known for part of the days ahead: no water temperature is on file for that time "
            "of the year."
        )
    return says


def _inputs_say(fit: WaterFit, used: Places, a_day: int) -> list[str]:
    says = []
    spoken = used >= 0
    for name, has, what in (
        ("air", [model.has_air for model in fit.models], "air temperature"),
        ("river", [model.has_river for model in fit.models], "level of the river"),
    ):
        without = spoken & ~np.array([*has, False])[used]
        if not without.any():
            continue
        if not any(has):
            says.append(f"Made without the {what}: too little is on file. The band is wider.")
            continue
        first = int(np.flatnonzero(without)[0])
        since = "" if first == 0 else f" after {_days(first / a_day)}"
        says.append(f"Made without the {what}{since}: the {name} is not known. The band is wider.")
    return says


def _beyond(fit: WaterFit, middle: Array, air_ahead_c: Array | None) -> list[str]:
    """Return what must be said where the forecast leaves what the fit has seen."""
    says = []
    for values, (low, high), what in (
        (middle, fit.water_c, "The water forecast"),
        (air_ahead_c, fit.air_c or (-np.inf, np.inf), "The air forecast"),
    ):
        if values is None or not np.isfinite(values).any():
            continue
        if np.nanmax(values) > high:
            says.append(
                f"{what} reaches {np.nanmax(values):.1f} degrees C, more than anything it was "
                f"learned from ({high:.1f})."
            )
        if np.nanmin(values) < low:
            says.append(
                f"{what} falls to {np.nanmin(values):.1f} degrees C, less than anything it was "
                f"learned from ({low:.1f})."
            )
    return says


def _days(days: float) -> str:
    hours = round(days * 24)
    if hours % 24:
        return f"{hours} h"
    return "a day" if hours == 24 else f"{hours // 24} days"
