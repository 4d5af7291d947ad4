"""Water temperature in the fishing hours, measured or carried forward, and two days before."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from guiding.gauges.conditions.measured import DAY, Measured
from guiding.gauges.conditions.stage import age_hours
from guiding.gauges.conditions.values import Condition, Kind

# Common practice, no source: a temperature is not carried further than the river is forecast.
CARRIED_DAYS = 5
FEWEST_CHANGES = 10  # of the gauge's own, before they are called its habit
TWO_DAYS = timedelta(days=2)


def read_water(
    water: Measured, starts_at: datetime, ends_at: datetime, asked_at: datetime
) -> Condition:
    """Return the water temperature [degrees C] in the fishing hours.

    Hours that are over: the mean of what was measured in them. Hours that have begun: the newest
    reading while it is fresh. Hours to come: the mean of the same hours of the newest day on file,
    carried forward (inferred), and spread by how much this gauge has changed from day to day over
    as many days. Not carried from a stale reading, nor further than five days.
    """
    newest = water.newest
    if newest is None:
        return _unknown("not measured")
    if asked_at >= ends_at:
        mean = water.mean_during(starts_at, ends_at)
        if mean is None:
            return _unknown("not measured in these hours")
        return _observed(water, mean, starts_at + (ends_at - starts_at) / 2, asked_at)
    if not water.is_fresh(asked_at, is_slow=True):
        return _unknown("the newest reading is stale")
    is_of_now = not water.is_daily or asked_at < newest[0] + DAY
    if asked_at >= starts_at and is_of_now:
        return _observed(water, newest[1], newest[0], asked_at)
    return _carried(water, starts_at, ends_at, asked_at)


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
