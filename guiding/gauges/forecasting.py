"""Rows in, forecast out: issue what was known at a moment once, and keep it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
from django.db import transaction

from guiding.gauges.fits import FitUnreadable, fit_words, level_fit_of, water_fit_of
from guiding.gauges.forecast_remarks import barred_by, inputs_of, remarks
from guiding.gauges.hydrology import level_model, outlook
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.outlook import Outlook
from guiding.gauges.hydrology.record import (
    DAY_MINUTES,
    Array,
    ForecastRecord,
    MarkChance,
    WaterAhead,
)
from guiding.gauges.hydrology.spread import Spreads, spreads_of
from guiding.gauges.hydrology.water_temperature import WARM_UP_DAYS, water_ahead
from guiding.gauges.known import Known, known_at, with_long_past
from guiding.gauges.laid_out import history_of, river_record_of, water_record_of
from guiding.gauges.models import Fit, Forecast, Gauge
from guiding.gauges.rain_ahead import air_on_steps, rain_on_steps
from guiding.gauges.scoring import first_score_at
from guiding.gauges.skill import POOR, poor_remark, skill_of
from guiding.gauges.troubles import marks_suspended_words

AHEAD = {60: 120, 1440: 5}  # steps of five days
NEAR_HOURS = 12  # as far as is said where the rain cannot be spoken for
HORIZONS = (24, 48, 120)  # hours


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A forecast before it is stored, with what its score will need."""

    record: ForecastRecord
    fit: Fit | None
    spreads: Spreads | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Looked:
    outlook: Outlook
    model: str
    fit: Fit | None
    made_from: str  # in words, for the inputs
    level_m: Array


def issue_forecast(gauge: Gauge, *, at: datetime) -> Forecast:
    """Return the forecast of a gauge at a moment, stored; the one on file if nothing has changed.

    Only what was known then is looked at: readings observed and weather runs fetched by `at`, and
    the fit that was in force.
    """
    known = known_at(gauge, at)
    made = make_forecast(known)
    row = Forecast.from_record(
        made.record,
        gauge=gauge,
        fit=made.fit,
        weather_run=known.fresh_run,
        marks=[asdict(chance) for chance in mark_chances(known, made.record)],
        spreads=made.spreads.packed() if made.spreads else None,
        next_score_at=first_score_at(made.record) if made.spreads else None,
    )
    # one writer at a time looks and then adds, so that two at once do not issue it twice
    with transaction.atomic():
        Gauge.objects.select_for_update().get(pk=gauge.pk)
        last = newest_forecast(gauge, at)
        step = timedelta(minutes=gauge.step_minutes)
        if last and at - last.issued_at < step and _says_the_same(last, row):
            return last
        row.save()
    return row


def newest_forecast(gauge: Gauge, at: datetime) -> Forecast | None:
    """Return the newest forecast that had been issued by a moment, if there is one."""
    return Forecast.objects.filter(gauge=gauge).known_at(at).first()


def _says_the_same(one: Forecast, other: Forecast) -> bool:
    def inputs(row: Forecast) -> list[dict[str, Any]]:
        return [{k: v for k, v in i.items() if k != "age_hours"} for i in row.inputs]

    def says(row: Forecast) -> list[str]:
        # our record moves a little with every score; the river has not
        return [line for line in row.says if not line.startswith(POOR)]

    names = ("model", "fit_id", "weather_run_id", "quantiles", "water", "marks")
    same = all(getattr(one, name) == getattr(other, name) for name in names)
    return same and inputs(one) == inputs(other) and says(one) == says(other)


def make_forecast(known: Known) -> Made:
    """Return the forecast that what was known allows; quantiles None where it allows none."""
    ahead = AHEAD[known.gauge.step_minutes]
    first = known.first_step
    says = remarks(known)
    barred = barred_by(known)
    looked = _barred(barred) if barred else _look(known, first, ahead)
    paths = looked.outlook.paths
    low, middle, high = _quantiles(paths, ahead)
    record = ForecastRecord(
        issued_at=known.at,
        model=looked.model,
        step_minutes=known.gauge.step_minutes,
        times=tuple(known.steps.moment(first + k) for k in range(ahead)),
        q10=low,
        q50=middle,
        q90=high,
        paths=paths,
        inputs=inputs_of(known, looked.made_from, looked.fit),
        says=(*looked.outlook.says, *says, *_marks_say(known.gauge), *_record_says(known, paths)),
        water=_water(known, first, ahead, middle),
    )
    return Made(record=record, fit=looked.fit, spreads=_spreads(looked, known))


def _barred(why: str) -> _Looked:
    return _Looked(
        outlook=Outlook(paths=None, says=(why,)),
        model=outlook.MODEL,
        fit=None,
        made_from="",
        level_m=np.empty(0),
    )


def _marks_say(gauge: Gauge) -> list[str]:
    words = marks_suspended_words(gauge)
    return [words] if words else []


def _record_says(known: Known, paths: Array | None) -> list[str]:
    """Return that our own record here is poor, where it is and anything is forecast at all."""
    if paths is None:
        return []
    remark = poor_remark(skill_of(known.gauge, known.at), known.gauge)
    return [remark] if remark else []


def _look(known: Known, first: int, ahead: int) -> _Looked:
    """Look ahead with the fit in force, or with like windows of the river's own past without."""
    why = "none is fitted here yet"
    behind: tuple[str, ...] = ()
    if known.fit is not None:
        try:
            looked = _look_with_fit(known, known.fit, first, ahead)
        except FitUnreadable as error:
            why = f"the one on file cannot be used: {error}"
        else:
            if looked.outlook.paths is not None:
                return looked
            why, behind = "the one on file cannot speak now", looked.outlook.says
        known = with_long_past(known)
    return _look_at_like_windows(known, first, ahead, why, behind)


def _look_with_fit(known: Known, fit: Fit, first: int, ahead: int) -> _Looked:
    recent = _recent(known, first)
    found = level_model.look_ahead(
        level_fit_of(fit),
        recent,
        steps=ahead,
        rain_ahead_mm=_rain(known, first, ahead),
        air_ahead_c=_air(known, first, ahead),
        near_steps=_near(known, first),
    )
    return _Looked(
        outlook=found,
        model=fit.model,
        fit=fit,
        made_from=fit_words(fit),
        level_m=recent.level_m,
    )


def _recent(known: Known, first: int) -> History:
    return history_of(
        known.steps,
        levels=known.levels,
        rain=known.rain,
        air=known.air,
        first=known.steps.of(known.levels[0][0]),
        last=first - 1,
        latitude=known.gauge.latitude,
    )


def _look_at_like_windows(
    known: Known, first: int, ahead: int, why: str, behind: tuple[str, ...]
) -> _Looked:
    record = river_record_of(
        known.steps,
        levels=known.levels,
        rain=known.rain,
        first=known.steps.of(known.levels[0][0]),
        last=first - 1,
    )
    found = outlook.look_ahead(
        record,
        steps=ahead,
        near_steps=_near(known, first),
        rain_ahead=_rain(known, first, ahead),
    )
    return _Looked(
        outlook=Outlook(paths=found.paths, says=(*behind, *found.says)),
        model=outlook.MODEL,
        fit=None,
        made_from=f"{why}; like water in this river's own past stands in",
        level_m=record.level_m,
    )


def _near(known: Known, first: int) -> int:
    """Return how many steps may stand where the rain cannot be spoken for."""
    if not known.steps.is_daily:
        return NEAR_HOURS
    return int(known.steps.moment(first) <= known.at)


def _edges(known: Known, first: int, ahead: int) -> list[tuple[datetime, datetime]]:
    # the level at an hour comes after that hour's rain; a day's mean is of the day it rains on
    begin = first if known.steps.is_daily else first - 1
    return list(pairwise(known.steps.moment(begin + k) for k in range(ahead + 1)))


def _rain(known: Known, first: int, ahead: int) -> Array | None:
    run = known.fresh_run
    if run is None:
        return None
    edges = _edges(known, first, ahead)
    since = known.at if known.steps.is_daily else edges[0][0]
    return rain_on_steps(run.steps, edges, since=since)


def _air(known: Known, first: int, ahead: int) -> Array | None:
    run = known.fresh_run
    return None if run is None else air_on_steps(run.steps, _edges(known, first, ahead))


def _spreads(looked: _Looked, known: Known) -> Spreads | None:
    paths = looked.outlook.paths
    if paths is None:
        return None
    behind = np.flatnonzero(np.isfinite(looked.level_m))
    return spreads_of(
        paths,
        looked.level_m,
        step_minutes=known.gauge.step_minutes,
        late=len(looked.level_m) - 1 - int(behind[-1]),
    )


def _water(
    known: Known, first: int, ahead: int, level_m: tuple[float | None, ...]
) -> WaterAhead | None:
    """Return the water's temperature ahead, None where none was ever fitted here."""
    if known.water_fit is None:
        return None
    try:
        fit = water_fit_of(known.water_fit)
    except FitUnreadable as error:
        says: tuple[str, ...] = (f"The model of water temperature cannot be used: {error}.",)
        rows: list[tuple[float | None, ...]] = [(None,) * ahead] * 3
    else:
        steps = known.steps
        begin = first - WARM_UP_DAYS * DAY_MINUTES // known.gauge.step_minutes
        found = water_ahead(
            fit,
            water_record_of(
                steps,
                water=known.water,
                air=known.air,
                levels=known.levels,
                first=begin,
                last=first - 1,
            ),
            steps=ahead,
            air_ahead_c=_air(known, first, ahead),
            river_ahead=np.array([np.nan if level is None else level for level in level_m]),
        )
        says = found.says
        rows = [
            tuple(None if np.isnan(v) else round(float(v), 2) for v in row)
            for row in (found.q10, found.q50, found.q90)
        ]
    low, middle, high = rows
    return WaterAhead(
        model=known.water_fit.model,
        times=tuple(known.steps.moment(first + k) for k in range(ahead)),
        q10=low,
        q50=middle,
        q90=high,
        says=says,
    )


def _quantiles(paths: Array | None, ahead: int) -> list[tuple[float | None, ...]]:
    if paths is None:
        return [(None,) * ahead] * 3
    rows = np.quantile(paths, [0.1, 0.5, 0.9], axis=0)
    return [tuple(None if np.isnan(v) else round(float(v), 3) for v in row) for row in rows]


def mark_chances(known: Known, record: ForecastRecord) -> tuple[MarkChance, ...]:
    """Return, for each mark, the chance of passing it within 24, 48 and 120 h from whole paths.

    None at all where the gauge's levels became others and nobody has confirmed the marks.
    """
    if known.gauge.marks_suspended_since is not None:
        return ()
    out = []
    for mark in known.gauge.marks.select_related("beat"):
        rises = known.last is None or known.last[1] < mark.level_m
        chance = record.chance_above if rises else record.chance_below
        shares = []
        for hours in HORIZONS:
            # the last step may end up to a step short of five days from the moment of issue
            end = min(known.at + timedelta(hours=hours), record.ends_at)
            share = chance(mark.level_m, known.at, end)
            shares.append(None if share is None else round(share, 3))
        name = mark.get_kind_display()
        out.append(
            MarkChance(
                name=f"{name} ({mark.beat})" if mark.beat else name,
                level_m=mark.level_m,
                direction="rise_above" if rises else "fall_below",
                p24=shares[0],
                p48=shares[1],
                p120=shares[2],
            )
        )
    return tuple(out)
