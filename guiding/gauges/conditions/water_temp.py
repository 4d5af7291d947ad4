"""Water temperature in the fishing hours: measured, forecast or carried; and two days before."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from guiding.gauges.conditions.measured import DAY, Measured
from guiding.gauges.conditions.stage import age_hours, steps_ahead
from guiding.gauges.conditions.values import Condition, Kind
from guiding.gauges.hydrology.record import ForecastRecord

# Common practice, no source: a temperature is not carried further than the river is forecast.
CARRIED_DAYS = 5
FEWEST_CHANGES = 10  # of the gauge's own, before they are called its habit
TWO_DAYS = timedelta(days=2)


def read_water(
    water: Measured,
    starts_at: datetime,
    ends_at: datetime,
    asked_at: datetime,
    record: ForecastRecord | None = None,
) -> Condition:
    """Return the water temperature [degrees C] in the fishing hours.

    Hours that are over: the mean of what was measured in them. Hours that have begun: the newest
    reading while it is fresh. Hours to come: the forecast with its band, where one was issued that
    reaches them; else the mean of the same hours of the newest day on file, carried forward
    (inferred), and spread by how much this gauge has changed from day to day over as many days.
    Not carried from a stale reading, nor further than five days. Where no water temperature is on
    file nothing speaks for it.

    `record` is the river forecast whose `water` may be used, None where none may.
    """
    newest = water.newest
    if newest is None:
        return _unknown("not measured")
    if asked_at >= ends_at:
        mean = water.mean_during(starts_at, ends_at)
        if mean is None:
            return _unknown("not measured in these hours")
        return _observed(water, mean, starts_at + (ends_at - starts_at) / 2, asked_at)
    is_fresh = water.is_fresh(asked_at, is_slow=True)
    is_of_now = not water.is_daily or asked_at < newest[0] + DAY
    if is_fresh and asked_at >= starts_at and is_of_now:
        return _observed(water, newest[1], newest[0], asked_at)
    ahead = _forecast(record, max(starts_at, asked_at), ends_at, asked_at)
    if ahead is not None:
        return ahead
    if not is_fresh:
        return _unknown("the newest reading is stale")
    return _carried(water, starts_at, ends_at, asked_at)


def _forecast(
    record: ForecastRecord | None, starts_at: datetime, ends_at: datetime, asked_at: datetime
) -> Condition | None:
    """Return the forecast of the hours: the mean of the medians, and the widest of the band."""
    ahead = None if record is None else record.water
    if record is None or ahead is None:
        return None
    # the steps of the water stand beside those of the level
    steps = steps_ahead(
        replace(record, times=ahead.times, q10=ahead.q10, q50=ahead.q50, q90=ahead.q90, paths=None),
        starts_at,
        ends_at,
    )
    if not steps:
        return None
    middle = [value for i in steps if (value := ahead.q50[i]) is not None]
    of_the_day = ", mean of the day" if record.is_daily else ""
    return Condition(
        what="water",
        value=round(sum(middle) / len(middle), 2),
        low=min(value for i in steps if (value := ahead.q10[i]) is not None),
        high=max(value for i in steps if (value := ahead.q90[i]) is not None),
        unit="degrees C",
        kind=Kind.FORECAST,
        at=record.issued_at,
        age_hours=age_hours(asked_at, record.issued_at),
        source=f"water forecast, {ahead.model}{of_the_day}",
    )


def water_says(water: Condition, record: ForecastRecord | None) -> tuple[str, ...]:
    """Return what must be said of a water temperature that is forecast."""
    if water.kind is not Kind.FORECAST or record is None or record.water is None:
        return ()
    return tuple(f"Water temperature: {text}" for text in record.water.says)


def read_water_two_days_ago(
    water: Measured, starts_at: datetime, ends_at: datetime, asked_at: datetime
) -> Condition:
    """Return the mean water temperature [degrees C] of the same hours two days earlier."""
    start, end = starts_at - TWO_DAYS, ends_at - TWO_DAYS
    mean = water.mean_during(start, min(end, asked_at)) if start < asked_at else None
    if mean is None:
        why = "not measured" if start < asked_at else "not measured yet"
        return _unknown(why, "water two days ago")
    middle_at = min(start + (end - start) / 2, asked_at)
    return _observed(water, mean, middle_at, asked_at, "water two days ago")


def _carried(
    water: Measured, starts_at: datetime, ends_at: datetime, asked_at: datetime
) -> Condition:
    newest_at, newest_c = water.samples[-1]
    # the newest day whose same hours are measured; a lone reading is carried from its own hour
    base_c, days = newest_c, max(1, -((newest_at - starts_at) // DAY))
    for back in range(1, days + 2):
        mean = water.mean_during(starts_at - back * DAY, ends_at - back * DAY)
        if mean is not None and ends_at - back * DAY <= asked_at:
            base_c, days = mean, back
            break
    if days > CARRIED_DAYS:
        return _unknown("too far ahead to carry a reading forward")
    changes = _changes(water, starts_at, ends_at, days)
    low = high = None
    if len(changes) >= FEWEST_CHANGES:
        down, up = np.quantile(changes, [0.1, 0.9])
        low, high = base_c + min(0.0, float(down)), base_c + max(0.0, float(up))
    return Condition(
        what="water",
        value=round(base_c, 2),
        low=None if low is None else round(low, 2),
        high=None if high is None else round(high, 2),
        unit="degrees C",
        kind=Kind.INFERRED,
        at=newest_at,
        age_hours=age_hours(asked_at, newest_at),
        source=f"{water.source}, carried forward {days} day{'s' if days > 1 else ''}".lstrip(", "),
    )


def _changes(water: Measured, starts_at: datetime, ends_at: datetime, days: int) -> list[float]:
    """Return every change over so many days between the same hours, as far as the record goes."""
    span = (starts_at - water.samples[0][0]) // DAY
    means = {
        back: mean
        for back in range(1, span + 1)
        if (mean := water.mean_during(starts_at - back * DAY, ends_at - back * DAY)) is not None
    }
    return [mean - means[back + days] for back, mean in means.items() if back + days in means]


def _observed(
    water: Measured, value: float, at: datetime, asked_at: datetime, what: str = "water"
) -> Condition:
    return Condition(
        what=what,
        value=round(value, 2),
        unit="degrees C",
        kind=Kind.OBSERVED,
        at=at,
        age_hours=age_hours(asked_at, at),
        source=water.source,
    )


def _unknown(why: str, what: str = "water") -> Condition:
    return Condition(what=what, unit="degrees C", source=why)
