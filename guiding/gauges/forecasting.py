"""Rows in, forecast out: issue what was known at a moment once, and keep it."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
from django.db import transaction

from guiding.gauges.forecast_remarks import barred_by, inputs_of, remarks
from guiding.gauges.hydrology.bands import RiverRecord
from guiding.gauges.hydrology.outlook import MODEL, Outlook, look_ahead
from guiding.gauges.hydrology.record import Array, ForecastRecord, MarkChance
from guiding.gauges.known import Known, known_at
from guiding.gauges.models import Forecast, Gauge
from guiding.gauges.rain_ahead import rain_on_steps

AHEAD = {60: 120, 1440: 5}  # steps of five days
NEAR_HOURS = 12  # as far as is said where the rain cannot be spoken for
HORIZONS = (24, 48, 120)  # hours


def issue_forecast(gauge: Gauge, *, at: datetime) -> Forecast:
    """Return the forecast of a gauge at a moment, stored; the one on file if nothing has changed.

    Only what was known then is looked at: readings observed and weather runs fetched by `at`.
    """
    known = known_at(gauge, at)
    record = make_record(known)
    row = Forecast.from_record(
        record,
        gauge=gauge,
        weather_run=known.fresh_run,
        marks=[asdict(chance) for chance in mark_chances(known, record)],
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

    names = ("model", "weather_run_id", "quantiles", "marks", "says")
    same = all(getattr(one, name) == getattr(other, name) for name in names)
    return same and inputs(one) == inputs(other)


def make_record(known: Known) -> ForecastRecord:
    """Return the forecast that what was known allows; quantiles None where it allows none."""
    ahead = AHEAD[known.gauge.step_minutes]
    first = known.first_step
    says = remarks(known)
    barred = barred_by(known)
    outlook = Outlook(paths=None, says=(barred,)) if barred else _look(known, first, ahead)
    low, middle, high = _quantiles(outlook.paths, ahead)
    return ForecastRecord(
        issued_at=known.at,
        model=MODEL,
        step_minutes=known.gauge.step_minutes,
        times=tuple(known.steps.moment(first + k) for k in range(ahead)),
        q10=low,
        q50=middle,
        q90=high,
        paths=outlook.paths,
        inputs=inputs_of(known),
        says=(*outlook.says, *says),
    )


def _look(known: Known, first: int, ahead: int) -> Outlook:
    steps = known.steps
    begin = steps.of(known.levels[0][0])
    last = first - 1
    rain = steps.laid_out(known.rain, begin, last) if known.rain else None
    record = RiverRecord(
        step_minutes=steps.step_minutes,
        level_m=steps.laid_out(known.levels, begin, last),
        rain_mm=rain,
        year_share=steps.year_share(begin, last - begin + 1),
    )
    near = NEAR_HOURS if not steps.is_daily else int(steps.moment(first) <= known.at)
    return look_ahead(record, steps=ahead, near_steps=near, rain_ahead=_rain(known, first, ahead))


def _rain(known: Known, first: int, ahead: int) -> Array | None:
    run = known.fresh_run
    if run is None:
        return None
    # the level at an hour comes after that hour's rain; a day's mean is of the day it rains on
    begin = first if known.steps.is_daily else first - 1
    moments = [known.steps.moment(begin + k) for k in range(ahead + 1)]
    since = known.at if known.steps.is_daily else moments[0]
    return rain_on_steps(run.steps, list(pairwise(moments)), since=since)


def _quantiles(paths: Array | None, ahead: int) -> list[tuple[float | None, ...]]:
    if paths is None:
        return [(None,) * ahead] * 3
    rows = np.quantile(paths, [0.1, 0.5, 0.9], axis=0)
    return [tuple(None if np.isnan(v) else round(float(v), 3) for v in row) for row in rows]


def mark_chances(known: Known, record: ForecastRecord) -> tuple[MarkChance, ...]:
    """Return, for each mark, the chance of passing it within 24, 48 and 120 h from whole paths."""
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
