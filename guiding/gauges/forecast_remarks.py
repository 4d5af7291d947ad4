"""What a forecast must say in words, what bars it, and the age and source of its inputs."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from guiding.gauges.hydrology.record import Input
from guiding.gauges.ice import Ice, ice_now
from guiding.gauges.known import COLD_HOURS, Known, Readings
from guiding.gauges.levels import level_source_words
from guiding.gauges.models import Fit, Gauge, Quantity, Reading, Series, WeatherRun
from guiding.gauges.rain_ahead import air_ahead_c, shared_out_from
from guiding.gauges.stuck import stuck_since, stuck_words

LATE_STEPS = 3
SILENT = {60: timedelta(hours=24), 1440: timedelta(days=3)}  # after this a level is stale
JUMP_M = 0.3  # between two readings (providers: proves nothing alone, treat as risen)
JUMP_LOOKED_FOR = {60: timedelta(hours=24), 1440: timedelta(days=3)}


def barred_by(known: Known) -> str:
    """Return why nothing at all can be said, or an empty text."""
    regimes = [
        (link.beat.name, link.beat.get_regime_display(), link.beat.is_natural)
        for link in known.gauge.beat_links.select_related("beat").order_by("beat__name")
    ]
    if regimes and not any(natural for _, _, natural in regimes):
        names = ", ".join(f"{name} ({regime})" for name, regime, _ in regimes)
        return (
            f"Not known: this gauge speaks only for water that rain alone does not move: {names}."
        )
    if known.last is None:
        return "Not known: no level has been read at this gauge yet."
    if _late_by(known) > SILENT[known.gauge.step_minutes]:
        return (
            f"Not known: the last level is {known.last[1]:.2f} m of {known.words(known.last[0])}, "
            f"too long ago to forecast from."
        )
    since = stuck_since(known.levels, known.rain, is_daily=known.steps.is_daily)
    if since is not None:
        return f"Not known: {stuck_words(since, known.last[0])}."
    if known.gauge.may_ice and (ice := _ice(known)).may_be:
        return ice.says
    return ""


def _late_by(known: Known) -> timedelta:
    """Return how long ago the last level stood; a day's mean stands until its day is over."""
    if known.last is None:
        return timedelta.max
    moment = known.last[0]
    if known.steps.is_daily and moment == known.steps.moment(known.steps.of(moment)):
        moment += timedelta(days=1)
    return known.at - moment


def _ice(known: Known) -> Ice:
    cold = known.over_at - timedelta(hours=COLD_HOURS)
    water = [value for moment, value in known.water if moment >= cold]
    measured = [value for moment, value in known.air if moment >= cold]
    ahead = None
    if known.fresh_run is not None:
        ahead = air_ahead_c(known.fresh_run.steps, since=known.at)
    return ice_now(
        water_c=water[-1] if water else None,
        air_mean_c=float(np.mean(measured)) if measured else ahead,
        air_is_forecast=not measured,
    )


def remarks(known: Known) -> list[str]:
    says = []
    step = timedelta(minutes=known.gauge.step_minutes)
    late = LATE_STEPS * step if not known.steps.is_daily else step
    if known.last and late < _late_by(known) <= SILENT[known.gauge.step_minutes]:
        says.append(
            f"The last level is late: {known.last[1]:.2f} m of {known.words(known.last[0])}."
        )
    jump_since = known.at - JUMP_LOOKED_FOR[known.gauge.step_minutes]
    newest = [reading for reading in known.levels[-200:] if reading[0] >= jump_since]
    for (_, before), (moment, after) in pairwise(newest):
        if abs(after - before) > JUMP_M:
            says.append(
                f"The level jumped from {before:.2f} m to {after:.2f} m by {known.words(moment)}: "
                f"treat the river as risen until somebody has looked."
            )
    if known.run is None:
        says.append("No weather forecast is on file.")
    elif known.fresh_run is None:
        says.append(
            f"The newest weather forecast is of {known.words(known.run.issued_at)}, too old to use."
        )
    return says + _suspects(known)


def _suspects(known: Known) -> list[str]:
    """Return a line for suspect levels: left out of the forecast, yet perhaps a real rise."""
    since = known.at - JUMP_LOOKED_FOR[known.gauge.step_minutes]
    left_out = Reading.objects.filter(
        series__gauge=known.gauge,
        series__quantity=Quantity.LEVEL,
        quality=Reading.Quality.SUSPECT,
        observed_at__range=(since, known.at),
    ).values_list("value", flat=True)
    if not left_out:
        return []
    what = "1 reading" if len(left_out) == 1 else f"{len(left_out)} readings"
    verb = "is" if len(left_out) == 1 else "are"
    span = "day" if not known.steps.is_daily else "three days"
    if known.last is not None and max(left_out) < known.last[1] - JUMP_M:
        # so far below the newest believed level it tells of the gauge, and nothing of a rise
        far = f"down to {min(left_out):.2f} m: the gauge may be at fault, somebody has to look."
    else:
        far = f"up to {max(left_out):.2f} m: treat the river as risen until somebody has looked."
    return [f"{what} of the last {span} {verb} marked suspect and left out, {far}"]


def other_water(gauge: Gauge) -> list[str]:
    """Return a line for each regulated or tidal beat beside natural ones.

    It belongs beside the gauge's forecast, not inside it: a natural beat's pack need not read it.
    """
    links = list(gauge.beat_links.select_related("beat").order_by("beat__name"))
    if not any(link.beat.is_natural for link in links):
        return []  # then nothing is forecast at all, and that is said
    return [
        f"For {link.beat} ({link.beat.get_regime_display()}) this forecast says nothing."
        for link in links
        if not link.beat.is_natural
    ]


def inputs_of(known: Known, made_from: str = "", fit: Fit | None = None) -> tuple[Input, ...]:
    """Return what a forecast was made from; `made_from` says in words by which model, if any."""
    sources = dict(Series.objects.filter(gauge=known.gauge).values_list("quantity", "source"))
    whose = known.gauge.source or f"gauge {known.gauge.name}"

    def given(what: str, readings: Readings, source: str) -> Input:
        if not readings:
            return Input(what=what, observed_at=None, age_hours=None, source="none on file")
        moment = readings[-1][0]
        return Input(what=what, observed_at=moment, age_hours=_age(known, moment), source=source)

    inputs = [
        given("level", known.levels, level_source_words(known.gauge)),
        given("rain", known.rain, sources.get(Quantity.RAIN) or whose),
    ]
    if known.run is None:
        inputs.append(given("weather run", [], ""))
    else:
        source = _run_source(known, known.run)
        issued = known.run.issued_at
        age = _age(known, issued)
        inputs.append(Input(what="weather run", observed_at=issued, age_hours=age, source=source))
    if known.gauge.may_ice or known.water_fit:
        water = sources.get(Quantity.WATER) or whose
        inputs.append(given("water temperature", known.water, water))
        inputs.append(given("air temperature", known.air, sources.get(Quantity.AIR) or whose))
    if made_from:
        fitted_at = fit.fitted_at if fit else None
        inputs.append(
            Input(
                what="river model",
                observed_at=fitted_at,
                age_hours=None if fitted_at is None else _age(known, fitted_at),
                source=made_from,
            )
        )
    return tuple(inputs)


def _run_source(known: Known, run: WeatherRun) -> str:
    if known.fresh_run is None:
        return f"{run.source}, too old to use"
    longer = shared_out_from(run.steps, step_minutes=known.gauge.step_minutes)
    if longer is None:
        return run.source
    since, hours = longer
    return (
        f"{run.source}; from {known.words(since)} on its rain is totals of {hours:g} hours, shared "
        f"out evenly over them inside the model only"
    )


def _age(known: Known, moment: datetime) -> float:
    return round((known.at - moment).total_seconds() / 3600, 2)
