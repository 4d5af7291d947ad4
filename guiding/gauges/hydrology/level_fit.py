"""Fit the river model to a gauge's history. Loads scipy: commands and chores only, never pages."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from guiding.gauges.hydrology import fitted, rain_spells
from guiding.gauges.hydrology.air_dressing import air_that_came, degraded_air
from guiding.gauges.hydrology.calibration import calibrate, ratio_to_gauge
from guiding.gauges.hydrology.catchment import run_past
from guiding.gauges.hydrology.fitted import LeadScore, LevelFit
from guiding.gauges.hydrology.history import History, Positions, RainRuns
from guiding.gauges.hydrology.lead_regression import standing_at
from guiding.gauges.hydrology.level_model import LATE_STEPS, MODEL
from guiding.gauges.hydrology.past_errors import Learned
from guiding.gauges.hydrology.pseudo_flow import pseudo_flow_of
from guiding.gauges.hydrology.rain_dressing import degraded_rain
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.rehearsal import Rehearsed, taught
from guiding.gauges.hydrology.river import River, Simulated, simulate_ahead, usual_start
from guiding.gauges.hydrology.snow import needs_snow
from guiding.gauges.hydrology.weather import usual_weather, weather_of, year_share_ahead

RAINS = ("archive", "degraded", "none", "true")
SEASON_DAYS = 90  # less on file than this cannot speak for a season
YEAR_DAYS = 365  # of first steps that fill the stores
CALIBRATED_DAYS = 4 * 366  # the latest of an hourly history that the stores are searched on
MOST_ORIGINS = 3_000
SETTLED_DAYS = 30  # no forecast is rehearsed before these
# an archive of runs this long and with this many speaks for every season (common practice, no
# source)
ENOUGH_RUNS = 250
ENOUGH_RUN_DAYS = 365
SEARCH_SHARE = 0.85  # of the work, as told


class TooLittle(ValueError):
    """The history holds less than a fit can be made from; the text says what is missing."""


def fit_level(
    history: History, *, rain: str, seed: int, steps: int, tell: Callable[[str, float], None]
) -> LevelFit:
    """Return the river model fitted to a whole history.

    Parameters
    ----------
    history : History
    rain : {"archive", "degraded", "none", "true"}
        What the band is trained on: the archive of runs (`history.runs`; with too few of them the
        stand-in is used, and the fit's `rain` says "degraded"), rain on file made as uncertain as
        a forecast, no rain forecast at all, or the rain that fell (for trying the model out only).
    seed : int
        The same history and seed give the same fit.
    steps : int
        How many steps ahead it is fitted for.
    tell : callable
        Told what is being done and how far the whole has come, 0 to 1.

    Notes
    -----
    A band for days without a rain forecast is trained beside the other.

    Raises
    ------
    TooLittle
        Less than a season of levels with rain is on file, or too few unbroken windows.
    """
    if rain not in RAINS:
        raise ValueError(f"rain is {rain!r}; it is one of {', '.join(RAINS)}.")
    _refuse_too_little(history)
    leads = steps + LATE_STEPS[history.step_minutes]
    tell("searching the stores", 0.0)
    river, simulated = _fitted_river(
        history, seed, lambda share: tell("searching the stores", SEARCH_SHARE * share)
    )
    tell("making past forecasts again", SEARCH_SHARE)
    kinds: dict[str, tuple[Learned, tuple[LeadScore, ...]]] = {}
    trained_on = rain
    if rain != "none":
        origins, rain_ahead, trained_on = _rain_to_train_on(simulated, rain, leads, seed)
        air_ahead = _air_to_train_on(history, origins, leads, rain, seed)
        found = _rehearse(river, simulated, origins, rain_ahead, air_ahead)
        if found is not None:
            kinds[fitted.WITH_RUN] = found
    tell("making past forecasts again, without rain", (1 + SEARCH_SHARE) / 2)
    origins = _origins(simulated, leads)
    found = _rehearse(river, simulated, origins, np.zeros((origins.size, leads)), None)
    if found is not None:
        kinds[fitted.WITHOUT_RUN] = found
    wanted = fitted.WITHOUT_RUN if rain == "none" else fitted.WITH_RUN
    if wanted not in kinds:
        raise TooLittle(
            "the history holds too few unbroken windows to learn from: levels without a gap for "
            f"{leads} steps, with rain on file, are needed many times over."
        )
    arrays = fitted.river_arrays(river) | rain_spells.spell_arrays(history, leads)
    for kind, (learned, _) in kinds.items():
        arrays |= fitted.learned_arrays(kind, learned)
    tell("fitted", 1.0)
    return LevelFit(
        step_minutes=history.step_minutes,
        model=MODEL,
        parameters=fitted.parameters_of(river) | _span_of(history),
        rain=trained_on,
        scores=kinds[wanted][1],
        arrays=arrays,
    )


def _span_of(history: History) -> dict[str, float]:
    return {
        "days": float(np.isfinite(history.level_m).sum() / history.steps_a_day),
        "lowest_m": float(np.nanmin(history.level_m)),
        "highest_m": float(np.nanmax(history.level_m)),
    }


def _refuse_too_little(history: History) -> None:
    if history.rain_mm is None:
        raise TooLittle("no rain is on file; the river model learns what rain does to the level.")
    both = np.isfinite(history.level_m) & np.isfinite(history.rain_mm)
    days = both.sum() / history.steps_a_day
    if days < SEASON_DAYS:
        raise TooLittle(
            f"{days:.0f} days of level with rain are on file, less than a season; "
            f"{SEASON_DAYS} are the least."
        )


def _fitted_river(
    history: History, seed: int, tell: Callable[[float], None]
) -> tuple[River, Simulated]:
    usual = usual_weather(history)
    weather = weather_of(history, usual)
    scale = pseudo_flow_of(history.level_m)
    z = scale.scaled(scale.flow(history.level_m))
    since = 0
    if history.steps_a_day > 1:
        since = max(0, len(z) - CALIBRATED_DAYS * history.steps_a_day)
    spin = min(YEAR_DAYS * history.steps_a_day, len(z) - since)
    catchment = calibrate(
        scale,
        weather.since(since),
        z[since:],
        step_minutes=history.step_minutes,
        spin=spin,
        is_snowy=needs_snow(weather.rain_mm, history.air_c),
        seed=seed,
        tell=tell,
    )
    spin = min(YEAR_DAYS * history.steps_a_day, len(z))
    past = run_past(catchment, weather, spin=spin)
    ratio = float(ratio_to_gauge(scale, past.flow_mm, z)[0])
    river = River(
        scale=scale,
        catchment=catchment,
        ratio=ratio,
        usual=usual,
        start=usual_start(past, history.year_share),
    )
    return river, Simulated(
        history=history, weather=weather, past=past, z=z, m=scale.scaled(past.flow_mm * ratio)
    )


def _origins(simulated: Simulated, leads: int) -> Positions:
    """Return the moments to forecast again: level and most of the rain behind are known."""
    history = simulated.history
    count = len(simulated.z)
    settled = min(SETTLED_DAYS * history.steps_a_day, count // 3)
    places = np.arange(settled, count - leads)
    known = np.isfinite(simulated.z[places]) & rain_spells.is_known_behind(
        simulated.weather.has_rain, places, history.steps_a_day
    )
    places = places[known]
    return places[:: max(1, -(-places.size // MOST_ORIGINS))]


def _rain_to_train_on(
    simulated: Simulated, rain: str, leads: int, seed: int
) -> tuple[Positions, Array, str]:
    """Return the moments, the rain each forecast would have had, and what kind of rain it is."""
    history = simulated.history
    origins = _origins(simulated, leads)
    if rain == "archive":
        archive = _archive(simulated, history.runs, leads)
        if archive is not None:
            return *archive, "archive"
        rain = "degraded"
    if rain == "true":
        rain_ahead = history.rain_or_gaps[origins[:, None] + np.arange(1, leads + 1)]
    else:
        try:
            rain_ahead = degraded_rain(
                history.rain_or_gaps,
                origins,
                steps=leads,
                step_minutes=history.step_minutes,
                draw_before=len(history.level_m),
                seed=seed,
            )
        except ValueError as error:
            raise TooLittle(str(error)) from error
    known = np.isfinite(rain_ahead).all(axis=1)
    return origins[known], rain_ahead[known], rain


def _air_to_train_on(
    history: History, origins: Positions, leads: int, rain: str, seed: int
) -> Array:
    """Return the air each forecast would have had; archives of runs keep the rain alone."""
    air_c = history.air_or_gaps
    if rain == "true":
        return air_that_came(air_c, origins, leads)
    return degraded_air(air_c, origins, steps=leads, step_minutes=history.step_minutes, seed=seed)


def _archive(
    simulated: Simulated, runs: RainRuns | None, leads: int
) -> tuple[Positions, Array] | None:
    """Return the archive's moments and rain where there are enough of them, else None.

    What a run did not carry is taken as the mean of the time of year. Of several runs from one
    moment the last is taken.
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
    rain = np.full((origins.size, leads), np.nan)
    held = min(leads, runs.rain_mm.shape[1])
    rain[:, :held] = runs.rain_mm[rows, :held]
    share = year_share_ahead(history.year_share[origins], leads, history.step_minutes)
    usual = usual_weather(history)
    return origins, np.where(np.isfinite(rain), rain, usual.at(usual.rain_mm, share))


def _rehearse(
    river: River,
    simulated: Simulated,
    origins: Positions,
    rain_ahead: Array,
    air_ahead: Array | None,
) -> tuple[Learned, tuple[LeadScore, ...]] | None:
    if not origins.size:
        return None
    ahead = np.arange(1, rain_ahead.shape[1] + 1)
    step_minutes = simulated.history.step_minutes
    rehearsed = Rehearsed(
        origins=origins,
        standing=standing_at(simulated.z, simulated.m, origins, step_minutes),
        m_ahead=simulate_ahead(river, simulated, origins, rain_mm=rain_ahead, air_c=air_ahead),
        z_ahead=simulated.z[origins[:, None] + ahead],
    )
    return taught(river, rehearsed, simulated.history.level_m, step_minutes)
