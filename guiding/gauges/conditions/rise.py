"""How fast the river rises in the fishing hours, and jumps that nobody has looked at."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from guiding.gauges.conditions.measured import HOUR, Measured, nearest
from guiding.gauges.conditions.stage import GaugeHours, age_hours, steps_ahead
from guiding.gauges.conditions.values import Condition, Kind
from guiding.gauges.hydrology.record import ForecastRecord

JUMP_M = 0.3  # between two samples: looked at before anybody believes it; common practice
LOOKED_BACK = timedelta(hours=24)  # for jumps, and for a rise that belongs to the hours to come
JUST_BEFORE = timedelta(hours=3)
SAME_M = 1e-9
UNSEEN_HOURS = "a daily record does not show how fast it rises within a day"
DAILY_RISE_SAYS_CM_H = 5.0  # a mean of the day this fast stops wading whatever its hours did


def read_rise(levels: Measured, record: ForecastRecord | None, hours: GaugeHours) -> Condition:
    """Return how fast the river may rise [cm an hour] in the fishing hours; below 0 it falls.

    The careful end is the value: of the forecast's whole paths, each path's fastest step in the
    hours, and of those the 90 % quantile (low: the 10 % quantile); without paths the fastest
    change of the 90 % quantile from step to step. What was measured in the three hours before
    counts besides, while the hours have begun or begin within a day: the larger of the two is
    returned. A daily record cannot show the fastest hour: a mean fall over the day is returned as
    it is, a mean rise under the wading stop is not known.
    """
    seen = _rise_seen(levels, hours)
    ahead = None if hours.is_over else _rise_ahead(levels, record, hours)
    if record is not None and ahead is not None:
        low, high = ahead
        value = round(high if seen is None else max(high, seen[1]), 2)
        if record.is_daily and 0 < value < DAILY_RISE_SAYS_CM_H:
            return Condition(what="rise", unit="cm/h", source=UNSEEN_HOURS)
        return Condition(
            what="rise",
            value=value,
            low=None if low is None else round(low, 2),
            high=value,
            unit="cm/h",
            kind=Kind.FORECAST,
            at=record.issued_at,
            age_hours=age_hours(hours.asked_at, record.issued_at),
            source=f"river forecast, {record.model}",
        )
    if seen is None or not hours.has_begun:
        return Condition(what="rise", unit="cm/h", source="no forecast reaches these hours")
    moment, rate = seen
    if levels.is_daily and 0 < rate < DAILY_RISE_SAYS_CM_H:
        return Condition(what="rise", unit="cm/h", source=UNSEEN_HOURS)
    return Condition(
        what="rise",
        value=round(rate, 2),
        unit="cm/h",
        kind=Kind.OBSERVED,
        at=moment,
        age_hours=age_hours(hours.asked_at, moment),
        source=levels.source,
    )


def _rise_seen(levels: Measured, hours: GaugeHours) -> tuple[datetime, float] | None:
    """Return the fastest measured change [cm an hour] in or just before the hours, and when."""
    if hours.is_over:
        since, until = hours.starts_at - JUST_BEFORE, hours.ends_at
    elif levels.is_fresh(hours.asked_at) and hours.starts_at - hours.asked_at <= LOOKED_BACK:
        since, until = hours.asked_at - JUST_BEFORE, hours.asked_at
    else:
        return None
    step = timedelta(hours=levels.step_hours)
    apart = max(step, HOUR)  # shorter steps are taken an hour apart: a centimetre is their grain
    rates = []
    for moment, level_m in levels.during(since, until):
        before = nearest(levels.samples, moment - apart, step / 2)
        if before is not None and moment <= until:
            rates.append((moment, (level_m - before) * 100 / (apart / HOUR)))
    return max(rates, key=lambda rate: rate[1]) if rates else None


def _rise_ahead(
    levels: Measured, record: ForecastRecord | None, hours: GaugeHours
) -> tuple[float | None, float] | None:
    """Return the 10 and 90 % quantiles of the fastest step [cm an hour] still to come."""
    steps = steps_ahead(record, hours.rest_starts_at, hours.ends_at)
    if record is None or not steps:
        return None
    step_hours = record.step_minutes / 60
    before = _level_at_issue(levels, record) if steps[0] == 0 else None
    steps = [steps[0] - 1, *steps] if steps[0] > 0 else steps
    if record.paths is not None and not np.isnan(record.paths[:, steps]).any():
        paths = record.paths[:, steps]
        if before is not None:
            paths = np.column_stack([np.full(len(paths), before), paths])
        if paths.shape[1] > 1:
            fastest = np.diff(paths, axis=1).max(axis=1) * 100 / step_hours
            low, high = np.quantile(fastest, [0.1, 0.9])
            return float(low), float(high)
    tops = [v for i in steps if (v := record.q90[i]) is not None]
    if before is not None:
        tops = [before, *tops]
    if len(tops) < 2:
        return None
    return None, max(b - a for a, b in pairwise(tops)) * 100 / step_hours


def _level_at_issue(levels: Measured, record: ForecastRecord) -> float | None:
    """Return the level a step before the forecast's first, where it was measured."""
    step = timedelta(minutes=record.step_minutes)
    return nearest(levels.samples, record.times[0] - step, step / 2)


def has_unseen_jump(levels: Measured, hours: GaugeHours) -> bool:
    """Say whether the record jumped lately and nobody has looked since.

    Up or down: a gauge that slipped reads low. A value under suspicion is a jump too. Lately: the
    day before the asking (two steps of a slower record), or before the hours that are over. Only
    a reading typed in afterwards, by somebody who stood there, settles it.
    """
    until = min(hours.asked_at, hours.ends_at)
    since = until - max(LOOKED_BACK, 2 * timedelta(hours=levels.step_hours))
    looked_at = max((t for t in levels.typed_at if t <= until), default=None)
    jumps = [
        later[0]
        for earlier, later in pairwise(levels.samples)
        if abs(later[1] - earlier[1]) > JUMP_M + SAME_M and later[0] not in levels.typed_at
    ]
    return any(
        since <= moment <= until and (looked_at is None or looked_at < moment)
        for moment in (*jumps, *levels.suspect_at)
    )
