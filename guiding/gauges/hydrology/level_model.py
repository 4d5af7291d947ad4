"""A fitted river model at work: from recent history and the rain to come to whole paths."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology import fitted, neighbours, rain_spells
from guiding.gauges.hydrology.fitted import LeadScore, LevelFit, pack_fit, unpack_fit
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.lead_regression import Standing, predict_leads
from guiding.gauges.hydrology.outlook import YEAR_DAYS, Outlook, beyond_the_record
from guiding.gauges.hydrology.past_errors import Learned, foreseen
from guiding.gauges.hydrology.record import DAY_MINUTES, Array
from guiding.gauges.hydrology.river import (
    River,
    Simulated,
    simulate_ahead,
    simulate_history,
    standing_of,
)

__all__ = [
    "LATE_STEPS",
    "MODEL",
    "WARM_UP_STEPS",
    "LeadScore",
    "LevelFit",
    "look_ahead",
    "pack_fit",
    "unpack_fit",
]

MODEL = "rain stores and like errors, 2"

# how much recent history look_ahead wants before its first step: a year fills the slow store
WARM_UP_STEPS = {60: 365 * 24, DAY_MINUTES: 365}
# how far beyond the leads asked for a fit reaches, so that a late level still speaks for all
LATE_STEPS = {60: 12, DAY_MINUTES: 2}
NO_RUN = (
    "Made without a rain forecast: the band is what this river did from like water in all weathers."
)
RUN_NOT_USED = "The rain forecast is not used: the fit was made for days without one."
NO_AIR = (
    "The air to come is not known for every step: what melts is reckoned from the last day's, on "
    "its way back to what is usual."
)
NO_RUN_YOUNG = (
    "Not known beyond 12 hours: there is no rain forecast, and less than a year of level is on "
    "file to show what other weather does."
)
PART_RUN_YOUNG = (
    "Not known beyond 12 hours: part of the rain forecast is missing, and less than a year of "
    "level is on file to show what other weather does."
)
NEAR_STEPS = {60: 12, DAY_MINUTES: 0}  # as far as is said where the rain cannot be spoken for


def look_ahead(
    fit: LevelFit,
    recent: History,
    *,
    steps: int,
    rain_ahead_mm: Array | None,
    air_ahead_c: Array | None,
    near_steps: int | None = None,
) -> Outlook:
    """Return whole paths of the steps after the last row of a recent history.

    Parameters
    ----------
    fit : LevelFit
    recent : History
        Up to the step before the first one asked for, `WARM_UP_STEPS` of it or less; the last
        level may be some steps back.
    steps : int
        How many steps to give; those beyond what was fitted are not known (NaN) and said.
    rain_ahead_mm : (steps,) or None
        Rain forecast [mm a step] of the steps after the last row, NaN where the run carries none.
        None: there is no run, and the band is the one trained without any.
    air_ahead_c : (steps,) or None
        Air temperature forecast [degrees C]; used where the fit holds a snow store.
    near_steps : int or None
        How many steps may stand where more rain is coming than any on file; None: 12 hours.

    Raises
    ------
    ValueError
        The fit is of another step or of another version of the model.
    """
    _refuse_stranger(fit, recent)
    begun = _begin(fit, recent)
    if isinstance(begun, str):
        return _nothing(begun)
    coming = _coming(fit, begun, steps, rain_ahead_mm)
    learned = fitted.learned_of(fit, coming.kind)
    if learned is None:
        return _nothing("Not known by the river model: " + coming.says[0])
    paths = _paths(begun, learned, coming, _air_ahead(begun, steps, air_ahead_c))
    says = [*_said_of_the_past(begun), *coming.says]
    wants_air = begun.river.is_snowy and coming.kind == fitted.WITH_RUN
    if wants_air and (air_ahead_c is None or not np.isfinite(air_ahead_c).all()):
        says.append(NO_AIR)
    paths = paths[:, begun.late : begun.late + steps]
    short = steps - paths.shape[1]
    if short:
        says.append(f"Nothing is said of the last {short} steps: the last level is too old.")
        paths = np.pad(paths, ((0, 0), (0, short)), constant_values=np.nan)
    if coming.unspoken:
        says.append(coming.unspoken)
        near = NEAR_STEPS[fit.step_minutes] if near_steps is None else near_steps
        paths[:, near:] = np.nan
    if not np.isfinite(paths).any():
        return Outlook(paths=None, says=tuple(says))
    return Outlook(paths=paths, says=(*says, *_said_of_paths(fit, recent, paths)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Begun:
    """A simulation up to now; `last` is where the last level is, `late` steps before its end."""

    river: River
    simulated: Simulated
    standing: Standing
    last: int
    late: int
    leads: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Coming:
    """The rain after the last level, (1 or paths, leads), and what must be said of it."""

    kind: str
    rain_mm: Array
    says: tuple[str, ...]
    unspoken: str = ""


def _refuse_stranger(fit: LevelFit, recent: History) -> None:
    if fit.model != MODEL:
        raise ValueError(f"the fit is of model {fit.model!r}; this is {MODEL!r}. Fit it again.")
    if fit.step_minutes != recent.step_minutes:
        raise ValueError(
            f"the history has steps of {recent.step_minutes} minutes; the fit has "
            f"{fit.step_minutes}."
        )


def _nothing(why: str) -> Outlook:
    return Outlook(paths=None, says=(why,))


def _begin(fit: LevelFit, recent: History) -> _Begun | str:
    """Return the simulation up to now, or why no forecast can begin from it."""
    known = np.flatnonzero(np.isfinite(recent.level_m))
    if not known.size:
        return "Not known: there is no level in the recent history."
    last = int(known[-1])
    late = len(recent.level_m) - 1 - last
    leads = fitted.leads_of(fit)
    if late >= leads:
        return f"Not known: the last level is {late} steps old, too old to begin from."
    level_m, floor_m = float(recent.level_m[last]), fit.parameters["floor_m"]
    if level_m <= floor_m:
        return (
            f"Not known: the level, {level_m:.2f} m, lies at or below {floor_m:.2f} m, the floor "
            f"of the fit; the gauge may have been moved."
        )
    river = fitted.river_of(fit)
    simulated = simulate_history(river, recent)
    at = np.array([last])
    if not rain_spells.is_known_behind(simulated.weather.has_rain, at, recent.steps_a_day)[0]:
        return (
            f"Not known by the river model: less than {rain_spells.ENOUGH_RAIN:.0%} of the rain of "
            f"the last {rain_spells.KNOWN_DAYS} days is on file."
        )
    return _Begun(
        river=river,
        simulated=simulated,
        standing=standing_of(simulated, at),
        last=last,
        late=late,
        leads=leads,
    )


def _coming(fit: LevelFit, begun: _Begun, steps: int, rain_ahead_mm: Array | None) -> _Coming:
    history, late = begun.simulated.history, begun.late
    asked = min(late + steps, begun.leads)
    rain = np.full(max(begun.leads, late + steps), np.nan)
    rain[:late] = history.rain_or_gaps[begun.last + 1 :]
    has_run = rain_ahead_mm is not None and bool(np.isfinite(rain_ahead_mm).any())
    is_young = fit.parameters["days"] < YEAR_DAYS
    if rain_ahead_mm is None or not has_run or fit.rain == "none":
        known = np.where(np.isfinite(rain), rain, 0)[None, : begun.leads]
        return _Coming(
            kind=fitted.WITHOUT_RUN,
            rain_mm=known,
            says=(NO_RUN if not has_run else RUN_NOT_USED,),
            unspoken=NO_RUN_YOUNG if is_young else "",
        )
    rain[late : late + steps] = rain_ahead_mm
    rain = rain[: begun.leads]
    # a run begins a little after it is issued
    missing = int(np.isnan(rain_ahead_mm[history.steps_a_day // 12 :]).sum())
    partly = (
        f"The rain forecast carries no rain for {missing} of the {steps} steps; they are taken as "
        f"unknown, not as dry."
    )
    unspoken = rain_spells.beyond_anything_seen(
        rain[late:], fit.arrays["most_mm"], history.steps_a_day
    )
    if missing and is_young:
        unspoken = unspoken or PART_RUN_YOUNG
    # what lies after the steps that are asked for touches none of them
    rain[asked:] = 0
    return _Coming(
        kind=fitted.WITH_RUN,
        rain_mm=_once_a_path(fit, begun, rain),
        says=(partly,) if missing else (),
        unspoken=unspoken,
    )


def _once_a_path(fit: LevelFit, begun: _Begun, rain: Array) -> Array:
    if np.isfinite(rain).all():
        return rain[None, :]
    paths = neighbours.how_many(len(fit.arrays["run_places"]))
    share = float(begun.simulated.history.year_share[begun.last])
    arrays = fit.arrays
    return rain_spells.filled(rain, arrays["spells_mm"], arrays["spells_share"], share, paths)


def _air_ahead(begun: _Begun, steps: int, air_ahead_c: Array | None) -> Array:
    air = np.full(max(begun.leads, begun.late + steps), np.nan)
    air[: begun.late] = begun.simulated.history.air_or_gaps[begun.last + 1 :]
    if air_ahead_c is not None:
        air[begun.late : begun.late + steps] = air_ahead_c
    return air[None, : begun.leads]


def _paths(begun: _Begun, learned: Learned, coming: _Coming, air_c: Array) -> Array:
    count = len(coming.rain_mm)
    ahead = simulate_ahead(
        begun.river,
        begun.simulated,
        np.full(count, begun.last),
        rain_mm=coming.rain_mm,
        air_c=np.broadcast_to(air_c, coming.rain_mm.shape),
    )
    predicted, like = foreseen(learned, begun.standing, ahead.middle())
    if count > 1:
        predicted = predict_leads(learned.regression, begun.standing.repeated(count), ahead)
    errors = neighbours.widened(learned.errors[np.sort(like[0])], learned.widening)
    # to the millimetre, as they are kept, so that what is issued is what is read back
    return np.round(begun.river.scale.level(predicted + errors), 3)


def _said_of_the_past(begun: _Begun) -> list[str]:
    simulated, says = begun.simulated, []
    history, weather = simulated.history, simulated.weather
    count = len(simulated.z)
    missing = int((~weather.has_rain[: begun.last + 1]).sum())
    if missing:
        says.append(
            f"Rain is missing for {missing} of the {count} steps behind; the mean of the time of "
            f"year stands in."
        )
    if begun.river.is_snowy:
        missing = int((~weather.has_air[: begun.last + 1]).sum())
        if missing:
            says.append(
                f"Air temperature is missing for {missing} of the {count} steps behind; the mean "
                f"of the time of year stands in."
            )
    if count < WARM_UP_STEPS[history.step_minutes] // 2:
        says.append(
            f"Only {count / history.steps_a_day:.0f} days lie behind; the stores begin as full as "
            f"is usual for the time of year."
        )
    if begun.late:
        says.append(f"The last level is {begun.late} steps old; the forecast begins from it.")
    if not begun.standing.is_whole[0]:
        says.append("A level just behind the last one is missing; its change is not known.")
    return says


def _said_of_paths(fit: LevelFit, recent: History, paths: Array) -> list[str]:
    lowest = min(fit.parameters["lowest_m"], float(np.nanmin(recent.level_m)))
    highest = max(fit.parameters["highest_m"], float(np.nanmax(recent.level_m)))
    return beyond_the_record(lowest, highest, paths)
