"""What is left where a river model cannot be fitted, tried out: like windows, and how it falls."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from guiding.gauges.hydrology import scores
from guiding.gauges.hydrology.bands import RiverRecord, shifted
from guiding.gauges.hydrology.hindcast import HindcastReport
from guiding.gauges.hydrology.history import History, Positions
from guiding.gauges.hydrology.level_model import LeadScore
from guiding.gauges.hydrology.outlook import FEWEST_DAYS, look_ahead
from guiding.gauges.hydrology.peers import (
    BAND,
    at,
    crps_of_staying,
    falling,
    staying,
    tried_origins,
)
from guiding.gauges.hydrology.rain_dressing import degraded_rain
from guiding.gauges.hydrology.recession import fit_recession
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

MOST_ORIGINS = 200  # each is a forecast of its own, made from the record as it would have stood
RECENT_DAYS = 12  # of rain before an origin, which is what windows are compared by
RECENT_LEVELS = {60: 25, DAY_MINUTES: 2}  # as many levels: too few to be a window to learn from
NEAR_STEPS = {60: 12, DAY_MINUTES: 1}  # how far it speaks where the past cannot


def hindcast_floor(
    history: History,
    *,
    train_until: int,
    rain: str,
    leads: Sequence[int],
    origins: int,
    seed: int,
    clock: Callable[[], float] | None = None,
) -> HindcastReport:
    """Try the outlook of like windows from origins after a position; it learns from before it.

    Parameters are those of hindcast_level. At most 200 origins are tried. Where it says nothing
    at a lead there is no score, and `n` counts what it did say.

    Raises
    ------
    ValueError
        Nothing is left to score, or too little to learn even this from.
    """
    level = history.level_m
    days = float(np.isfinite(level[:train_until]).sum()) / history.steps_a_day
    fall = fit_recession(level[:train_until], history.step_minutes)
    if days < FEWEST_DAYS:
        raise ValueError(
            f"{days:.0f} days of level lie before the split; {FEWEST_DAYS} are the least."
        )
    if fall is None:
        raise ValueError(
            f"the {days:.0f} days of level before the split hold too few unbroken falls to learn "
            "from."
        )
    tried = tried_origins(level, train_until, leads, min(origins, MOST_ORIGINS))
    steps = max(leads)
    ahead = _rain_ahead(history, tried, steps, rain, train_until, seed)
    began = clock() if clock else 0.0
    middles = np.full((tried.size, steps), np.nan)
    low, high, crps = middles.copy(), middles.copy(), middles.copy()
    for row, origin in enumerate(tried):
        outlook = look_ahead(
            _record_at(history, train_until, int(origin), steps),
            steps=steps,
            near_steps=NEAR_STEPS[history.step_minutes],
            rain_ahead=None if ahead is None else ahead[row],
        )
        if outlook.paths is None:
            continue
        low[row], high[row] = np.quantile(outlook.paths, BAND, axis=0)
        middles[row] = outlook.paths.mean(axis=0)  # what squared errors ask for
        seen = at(level, origin + 1 + np.arange(steps))
        crps[row] = scores.crps_ensemble(seen, outlook.paths.T)
    forecast_s = (clock() - began) / tried.size if clock else None
    return HindcastReport(
        leads=tuple(
            _score(level, tried, train_until, lead, middles, (low, high), crps) for lead in leads
        ),
        persistence=tuple(staying(level, tried, train_until, lead) for lead in leads),
        recession=tuple(falling(level, tried, train_until, lead, fall) for lead in leads),
        fit_s=0.0 if clock else None,
        forecast_s=forecast_s,
    )


def _rain_ahead(
    history: History, tried: Positions, steps: int, rain: str, train_until: int, seed: int
) -> Array | None:
    if rain == "none" or history.rain_mm is None:
        return None
    if rain == "degraded":
        return degraded_rain(
            history.rain_mm,
            tried,
            steps=steps,
            step_minutes=history.step_minutes,
            draw_before=train_until,
            seed=seed,
        )
    return at(history.rain_mm, tried[:, None] + 1 + np.arange(steps))


def _record_at(history: History, train_until: int, origin: int, steps: int) -> RiverRecord:
    """Return the training part, a gap that no window can cross, and the last days up to now."""
    begins = max(train_until, origin + 1 - RECENT_DAYS * history.steps_a_day)
    recent = np.arange(begins, origin + 1)
    gap = np.full(steps + 1, train_until - 1)
    places = np.concatenate([np.arange(train_until), gap, recent])
    learned = train_until + gap.size

    level = history.level_m[places].copy()
    level[train_until:learned] = np.nan
    level[learned : max(learned, places.size - RECENT_LEVELS[history.step_minutes])] = np.nan
    rain = history.rain_mm
    if rain is not None:
        # here the rain of the hour that begins at a level's moment stands beside it
        rain = shifted(rain, 1) if history.step_minutes != DAY_MINUTES else rain
        rain = rain[places].copy()
        rain[train_until:learned] = np.nan
        if history.step_minutes != DAY_MINUTES:
            rain[[train_until - 1, -1]] = np.nan  # what fell after the split, and after now
    return RiverRecord(
        step_minutes=history.step_minutes,
        level_m=level,
        rain_mm=rain,
        year_share=history.year_share[places],
    )


def _score(
    level: Array,
    tried: Positions,
    train_until: int,
    lead: int,
    middles: Array,
    band: tuple[Array, Array],
    crps: Array,
) -> LeadScore:
    seen = at(level, tried + lead)
    said = np.isfinite(middles[:, lead - 1]) & np.isfinite(seen)
    score = scores.mean_known(crps[said, lead - 1])
    stays = scores.mean_known(crps_of_staying(level, tried, train_until, lead)[said])
    middle = middles[:, lead - 1]
    return LeadScore(
        lead=lead,
        n=int(said.sum()),
        rmse=scores.rmse(seen[said], middle[said]),
        pi=scores.persistence_index(seen[said], middle[said], level[tried][said]),
        crps=score,
        crpss=scores.crpss(score, stays),
        cover80=scores.coverage(seen[said], band[0][said, lead - 1], band[1][said, lead - 1]),
    )
