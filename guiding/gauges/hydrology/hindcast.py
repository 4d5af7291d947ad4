"""The whole model on a history it has never seen: fitted on the first part, tried on the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology import fitted, neighbours, rain_spells
from guiding.gauges.hydrology.air_dressing import air_that_came, degraded_air
from guiding.gauges.hydrology.fitted import LeadScore, LevelFit
from guiding.gauges.hydrology.history import History, Positions
from guiding.gauges.hydrology.lead_scores import Outcome, lead_score, outcome
from guiding.gauges.hydrology.level_fit import fit_level
from guiding.gauges.hydrology.level_model import WARM_UP_STEPS, look_ahead
from guiding.gauges.hydrology.past_errors import foreseen
from guiding.gauges.hydrology.peers import at, falling, staying, tried_origins
from guiding.gauges.hydrology.rain_dressing import degraded_rain
from guiding.gauges.hydrology.recession import fit_recession
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.river import (
    Simulated,
    simulate_ahead,
    simulate_history,
    standing_of,
)
from guiding.gauges.hydrology.weather import usual_weather, year_share_ahead

RAINS = ("true", "degraded", "none")
AT_ONCE = 200  # origins whose paths are held in memory together
FIT_SHARE = 0.9  # of the work, as told


@dataclass(frozen=True, slots=True, kw_only=True)
class HindcastReport:
    """What came of it: a row a lead for the model and for each peer; seconds as the clock said.

    `fit_s` is the whole fit, `forecast_s` one forecast as it would be issued, warm-up included;
    both None where no clock was given.
    """

    leads: tuple[LeadScore, ...]
    persistence: tuple[LeadScore, ...]
    recession: tuple[LeadScore, ...]
    fit_s: float | None
    forecast_s: float | None


def hindcast_level(
    history: History,
    *,
    train_until: int,
    rain: str,
    leads: Sequence[int],
    origins: int,
    seed: int,
    tell: Callable[[str, float], None],
    clock: Callable[[], float] | None = None,
) -> HindcastReport:
    """Fit on the steps before a position, forecast from origins after it, and score.

    Parameters
    ----------
    history : History
    train_until : int
        Position of the first step that nothing is fitted on.
    rain : {"true", "degraded", "none"}
        The rain that forecasts are given, and that the band is trained on; air, where a snow store
        wants it, likewise.
    leads : sequence of int
        Steps ahead at which to score.
    origins : int
        How many origins, spread evenly over the rest of the history.
    seed : int
        Of the fit and of the degraded rain.
    tell : callable
        Told what is being done and how far the whole has come, 0 to 1.
    clock : callable or None
        Returns seconds; pure code has no clock of its own.

    Notes
    -----
    The stores run through the whole history, each step from the rain up to it, so that at every
    origin they stand as they would have stood then. A moment at which look_ahead would say nothing
    (level below the floor of the fit, too little rain on file behind) is not scored. Where it would
    say nothing of rain beyond anything on file, the paths are scored all the same: leaving out the
    worst floods would flatter.

    Raises
    ------
    TooLittle
        The training part is too short.
    ValueError
        The split or a lead leaves nothing to score.
    """
    if rain not in RAINS:
        raise ValueError(f"rain is {rain!r}; it is one of {', '.join(RAINS)}.")
    training = history.span(0, train_until)
    tried = tried_origins(history.level_m, train_until, leads, origins)
    began = clock() if clock else 0.0
    fit = fit_level(
        training,
        rain=rain,
        seed=seed,
        steps=max(leads),
        tell=lambda what, share: tell(what, FIT_SHARE * share),
    )
    fit_s = clock() - began if clock else None
    tell("forecasting", FIT_SHARE)
    river = fitted.river_of(fit)
    simulated = simulate_history(river, history)
    is_said = np.isfinite(simulated.z[tried]) & rain_spells.is_known_behind(
        simulated.weather.has_rain, tried, history.steps_a_day
    )
    tried = tried[is_said]
    if not tried.size:
        raise ValueError(
            "no moment after the split has a level and the rain of ten days behind it."
        )
    steps = fitted.leads_of(fit)
    rain_ahead = _rain_ahead(simulated, tried, steps, rain, train_until, seed)
    air_ahead = _air_ahead(history, tried, steps, rain, seed)
    return HindcastReport(
        leads=_scored(fit, simulated, tried, (rain_ahead, air_ahead), leads, train_until),
        persistence=tuple(staying(history.level_m, tried, train_until, lead) for lead in leads),
        recession=_fallen(history, tried, train_until, leads),
        fit_s=fit_s,
        forecast_s=None
        if clock is None
        else _one_forecast_s(fit, history, tried, rain_ahead, clock),
    )


def _rain_ahead(
    simulated: Simulated, tried: Positions, steps: int, rain: str, train_until: int, seed: int
) -> Array:
    """Return the rain each forecast is given; a step without any on file takes the usual."""
    history = simulated.history
    if rain == "none":
        return np.zeros((tried.size, steps))
    if rain == "degraded":
        ahead = degraded_rain(
            history.rain_or_gaps,
            tried,
            steps=steps,
            step_minutes=history.step_minutes,
            draw_before=train_until,
            seed=seed,
        )
    else:
        ahead = at(history.rain_or_gaps, tried[:, None] + np.arange(1, steps + 1))
    share = year_share_ahead(history.year_share[tried], steps, history.step_minutes)
    usual = usual_weather(history.span(0, train_until))
    return np.where(np.isfinite(ahead), ahead, usual.at(usual.rain_mm, share))


def _air_ahead(
    history: History, tried: Positions, steps: int, rain: str, seed: int
) -> Array | None:
    """Return the air each forecast is given, as sure as its rain: none where there is no run."""
    if rain == "none":
        return None
    if rain == "true":
        return air_that_came(history.air_or_gaps, tried, steps)
    return degraded_air(
        history.air_or_gaps, tried, steps=steps, step_minutes=history.step_minutes, seed=seed
    )


def _scored(
    fit: LevelFit,
    simulated: Simulated,
    tried: Positions,
    ahead: tuple[Array, Array | None],
    leads: Sequence[int],
    train_until: int,
) -> tuple[LeadScore, ...]:
    river, level_m = fitted.river_of(fit), simulated.history.level_m
    kind = fitted.WITHOUT_RUN if fit.rain == "none" else fitted.WITH_RUN
    learned = fitted.learned_of(fit, kind)
    if learned is None:
        raise ValueError(f"the fit holds no past errors of kind {kind!r}.")
    parts: dict[int, list[Outcome]] = {lead: [] for lead in leads}
    for first in range(0, tried.size, AT_ONCE):
        some = slice(first, first + AT_ONCE)
        origins = tried[some]
        standing = standing_of(simulated, origins)
        air_c = None if ahead[1] is None else ahead[1][some]
        coming = simulate_ahead(river, simulated, origins, rain_mm=ahead[0][some], air_c=air_c)
        predicted, like = foreseen(learned, standing, coming)
        for lead, kept in parts.items():
            errors = learned.errors[:, lead - 1][like]
            widened = neighbours.widened(errors[:, :, None], learned.widening[lead - 1 : lead])
            members = river.scale.level(predicted[:, lead - 1, None] + widened[:, :, 0])
            kept.append(outcome(at(level_m, origins + lead), level_m[origins], members))
    learned_from = level_m[:train_until]
    return tuple(
        lead_score(lead, kept, learned_from[lead:] - learned_from[:-lead])
        for lead, kept in parts.items()
    )


def _fallen(
    history: History, tried: Positions, train_until: int, leads: Sequence[int]
) -> tuple[LeadScore, ...]:
    fall = fit_recession(history.level_m[:train_until], history.step_minutes)
    if fall is None:
        return ()
    return tuple(falling(history.level_m, tried, train_until, lead, fall) for lead in leads)


def _one_forecast_s(
    fit: LevelFit,
    history: History,
    tried: Positions,
    rain_ahead: Array,
    clock: Callable[[], float],
) -> float:
    """Return the seconds of one forecast as it would be issued, from a year of history."""
    row = tried.size // 2
    end = int(tried[row]) + 1
    recent = history.span(max(0, end - WARM_UP_STEPS[history.step_minutes]), end)
    steps = rain_ahead.shape[1]
    began = clock()
    look_ahead(
        fit,
        recent,
        steps=steps,
        rain_ahead_mm=None if fit.rain == "none" else rain_ahead[row],
        air_ahead_c=None,
    )
    return clock() - began
