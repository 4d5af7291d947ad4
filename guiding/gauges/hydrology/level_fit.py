"""Fit the river model to a gauge's history. Loads scipy: commands and chores only, never pages."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from guiding.gauges.hydrology import fitted, rain_spells
from guiding.gauges.hydrology.fitted import LeadScore, LevelFit
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.level_model import LATE_STEPS, MODEL
from guiding.gauges.hydrology.past_errors import Learned
from guiding.gauges.hydrology.rehearsal import Rehearsed, taught
from guiding.gauges.hydrology.river import River, Simulated, simulate_ahead, standing_of
from guiding.gauges.hydrology.river_fit import fit_river
from guiding.gauges.hydrology.training_weather import Given, given

RAINS = ("archive", "degraded", "none", "true")
SEASON_DAYS = 90  # less on file than this cannot speak for a season
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
    river, simulated = fit_river(
        history,
        seed=seed,
        tell=lambda share: tell("searching the stores", SEARCH_SHARE * share),
    )
    kinds: dict[str, tuple[Learned, tuple[LeadScore, ...]]] = {}
    trained_on = rain
    if rain != "none":
        tell("making past forecasts again", SEARCH_SHARE)
        with_run = _given(simulated, rain, leads, seed)
        trained_on = with_run.rain
        if (found := _rehearse(river, simulated, with_run)) is not None:
            kinds[fitted.WITH_RUN] = found
    tell("making past forecasts again, without rain", (1 + SEARCH_SHARE) / 2)
    without = _given(simulated, "none", leads, seed)
    if (found := _rehearse(river, simulated, without)) is not None:
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


def _given(simulated: Simulated, rain: str, leads: int, seed: int) -> Given:
    try:
        return given(simulated, rain, leads, seed)
    except ValueError as error:
        raise TooLittle(str(error)) from error


def _rehearse(
    river: River, simulated: Simulated, with_what: Given
) -> tuple[Learned, tuple[LeadScore, ...]] | None:
    if not with_what.origins.size:
        return None
    history, origins = simulated.history, with_what.origins
    leads = np.arange(1, with_what.rain_mm.shape[1] + 1)
    rehearsed = Rehearsed(
        origins=origins,
        standing=standing_of(simulated, origins),
        ahead=simulate_ahead(
            river, simulated, origins, rain_mm=with_what.rain_mm, air_c=with_what.air_c
        ),
        z_ahead=simulated.z[origins[:, None] + leads],
    )
    return taught(river, rehearsed, history.level_m, history.step_minutes)
