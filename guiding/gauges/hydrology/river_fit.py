"""Fit a river's simulations to its history. Loads scipy: commands and chores only, never pages."""

from __future__ import annotations

from collections.abc import Callable

from guiding.gauges.hydrology.calibration import calibrate, ratio_to_gauge
from guiding.gauges.hydrology.catchment import run_past
from guiding.gauges.hydrology.evaporation import latitude_of
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.pseudo_flow import pseudo_flow_of
from guiding.gauges.hydrology.record import DAY_MINUTES
from guiding.gauges.hydrology.river import River, Sim, Simulated, beside_the_gauge, usual_start
from guiding.gauges.hydrology.snow import needs_snow
from guiding.gauges.hydrology.weather import usual_weather, weather_of

YEAR_DAYS = 365  # of first steps that fill the stores
SEARCHED_DAYS = 4 * 366  # the latest of an hourly history that the stores are searched on
# two simulations of the same stores, one judged over all leads, one on the nearest: together they
# forecast better than either alone on the rivers they were tried on
JUDGED_ON = {
    60: ((6, 24, 48, 96), (6,)),
    DAY_MINUTES: ((1, 2, 3, 5), (1,)),
}


def fit_river(
    history: History, *, seed: int, tell: Callable[[float], None]
) -> tuple[River, Simulated]:
    """Return the simulations of a river fitted to its history, and what they did over it.

    An hourly history of more than four years is searched on its latest four; all of it is
    simulated. The first year is run over twice, so that the stores are filled when it begins
    (half a year while they are searched).
    """
    latitude, _ = latitude_of(history)
    usual = usual_weather(history)
    weather = weather_of(history, usual)
    scale = pseudo_flow_of(history.level_m)
    z = scale.scaled(scale.flow(history.level_m))
    year = YEAR_DAYS * history.steps_a_day
    since = 0
    if history.steps_a_day > 1:
        since = max(0, len(z) - SEARCHED_DAYS * history.steps_a_day)
    searches = JUDGED_ON[history.step_minutes]
    sims, pasts, ended = [], [], None
    for number, leads in enumerate(searches):

        def told(share: float, done: int = number) -> None:
            tell((done + share) / len(searches))

        catchment, ended = calibrate(
            scale,
            weather.since(since),
            z[since:],
            step_minutes=history.step_minutes,
            spin=min(year // 2, len(z) - since),
            leads=leads,
            is_snowy=needs_snow(weather.rain_mm, history.air_c),
            seed=seed,
            tell=told,
            before=ended,
        )
        past = run_past(catchment, weather, spin=min(year, len(z)))
        ratio = float(ratio_to_gauge(scale, past.flow_mm, z)[0])
        start = usual_start(past, history.year_share)
        sims.append(Sim(catchment=catchment, ratio=ratio, start=start))
        pasts.append(past)
    river = River(latitude=latitude, scale=scale, usual=usual, sims=tuple(sims))
    return river, beside_the_gauge(river, history, weather, tuple(pasts))
