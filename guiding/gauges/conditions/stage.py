"""Level and class in the fishing hours, from the record and the forecast."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.gauges.conditions.measured import DAY, HOUR, Measured, Sample
from guiding.gauges.conditions.values import Condition, Kind
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel, class_of

# A forecast of the river older than this is no forecast any more; common practice, no source.
OLDEST_FORECAST_HOURS = 48.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeHours:
    """The fishing hours as the gauge lives them, and the moment of asking."""

    starts_at: datetime
    ends_at: datetime
    asked_at: datetime

    @property
    def middle_at(self) -> datetime:
        """Return the middle of the hours."""
        return self.starts_at + (self.ends_at - self.starts_at) / 2

    @property
    def is_over(self) -> bool:
        """Say whether all of the hours lie behind."""
        return self.asked_at >= self.ends_at

    @property
    def has_begun(self) -> bool:
        """Say whether the hours have begun."""
        return self.asked_at >= self.starts_at

    @property
    def rest_starts_at(self) -> datetime:
        """Return where what is still to come of the hours begins."""
        return max(self.starts_at, self.asked_at)


def age_hours(asked_at: datetime, at: datetime) -> float:
    """Return an age in hours, to the tenth."""
    return round((asked_at - at) / HOUR, 1)


def steps_ahead(record: ForecastRecord | None, start: datetime, end: datetime) -> list[int]:
    """Return the steps of a forecast for [start, end], or none where it does not know them all."""
    if record is None or not record.times:
        return []
    step = timedelta(minutes=record.step_minutes)
    steps = record.steps_between(start, end)
    if not steps or end > record.ends_at or record.times[steps[0]] - start > step:
        return []
    quantiles = (record.q10, record.q50, record.q90)
    return [] if any(q[i] is None for q in quantiles for i in steps) else steps


def read_level(levels: Measured, record: ForecastRecord | None, hours: GaugeHours) -> Condition:
    """Return the level [m] in the fishing hours.

    Hours that are over: measured, at their middle, from the lowest to the highest measured. Hours
    that have begun: the newest reading while it is fresh; its spread takes in the forecast band of
    what is left. Else the forecast: the median in the middle of the hours, from the lowest 10 %
    to the highest 90 % quantile in them. Nothing beyond the forecast's end.
    """
    if hours.is_over:
        return _level_behind(levels, hours)
    ahead = _level_ahead(record, hours)
    newest = levels.newest
    if not (hours.has_begun and newest and levels.is_fresh(hours.asked_at)):
        return ahead
    moment, level_m = newest
    if levels.is_daily and hours.asked_at >= moment + DAY and ahead.number is not None:
        return ahead  # yesterday's mean speaks only where today's is not forecast
    return Condition(
        what="level",
        value=level_m,
        low=level_m if ahead.low is None else min(level_m, ahead.low),
        high=level_m if ahead.high is None else max(level_m, ahead.high),
        unit="m",
        kind=Kind.OBSERVED,
        at=moment,
        age_hours=age_hours(hours.asked_at, moment),
        source=levels.source,
    )


def _level_behind(levels: Measured, hours: GaugeHours) -> Condition:
    there = levels.during(hours.starts_at, hours.ends_at)
    if not there:
        return Condition(what="level", unit="m", source="no reading in these hours")
    moment, level_m = min(there, key=lambda sample: abs(sample[0] - hours.middle_at))
    return Condition(
        what="level",
        value=level_m,
        low=min(level for _, level in there),
        high=max(level for _, level in there),
        unit="m",
        kind=Kind.OBSERVED,
        at=moment,
        age_hours=age_hours(hours.asked_at, moment),
        source=levels.source,
    )


def _level_ahead(record: ForecastRecord | None, hours: GaugeHours) -> Condition:
    steps = steps_ahead(record, hours.rest_starts_at, hours.ends_at)
    if record is None or not steps:
        return Condition(what="level", unit="m", source="no forecast reaches these hours")
    middle = min(steps, key=lambda i: abs(record.times[i] - hours.middle_at))
    return Condition(
        what="level",
        value=record.q50[middle],
        low=min(v for i in steps if (v := record.q10[i]) is not None),
        high=max(v for i in steps if (v := record.q90[i]) is not None),
        unit="m",
        kind=Kind.FORECAST,
        at=record.issued_at,
        age_hours=age_hours(hours.asked_at, record.issued_at),
        source=f"river forecast, {record.model}",
    )


def read_class(level: Condition, marks: Sequence[MarkLevel]) -> Condition:
    """Return the class the level is in, known as the level is known."""
    if level.number is None:
        return Condition(what="level class", source=level.source)
    name = class_of(level.number, marks)
    if name is None:
        return Condition(what="level class", source="no marks on file for this gauge")
    return Condition(
        what="level class",
        value=name,
        kind=level.kind,
        at=level.at,
        age_hours=level.age_hours,
        source="the guide's marks",
    )


def read_class_now(levels: Measured, marks: Sequence[MarkLevel], asked_at: datetime) -> Condition:
    """Return the class of the newest level measured, whatever the fishing hours will bring.

    Older than the forecast may be, it tells nothing.
    """
    newest = levels.newest
    if newest is None or age_hours(asked_at, newest[0]) > OLDEST_FORECAST_HOURS:
        return Condition(what="level class now", source="no level of these days is on file")
    name = class_of(newest[1], marks)
    if name is None:
        return Condition(what="level class now", source="no marks on file for this gauge")
    return Condition(
        what="level class now",
        value=name,
        kind=Kind.OBSERVED,
        at=newest[0],
        age_hours=age_hours(asked_at, newest[0]),
        source=levels.source,
    )


def read_chances(
    level: Condition,
    levels: Measured,
    record: ForecastRecord | None,
    marks: Sequence[MarkLevel],
    hours: GaugeHours,
) -> tuple[tuple[str, float], ...]:
    """Return the chance of each class in the fishing hours, low water first; empty: not known.

    Of hours that are over: the share of what was measured. A given level is taken at its word.
    """
    if level.number is None or not marks:
        return ()
    if level.kind is Kind.GIVEN:
        return _shares([level.number], marks)
    if hours.is_over:
        return _shares([v for _, v in levels.during(hours.starts_at, hours.ends_at)], marks)
    if record is None or not steps_ahead(record, hours.rest_starts_at, hours.ends_at):
        return ()
    return record.class_chances(marks, hours.rest_starts_at, hours.ends_at)


def _shares(values: Sequence[float], marks: Sequence[MarkLevel]) -> tuple[tuple[str, float], ...]:
    counts = Counter(class_of(value, marks) for value in values)
    names = ("low", *(mark.kind for mark in sorted(marks, key=lambda mark: mark.level_m)))
    return tuple((name, counts[name] / len(values)) for name in names)


def joined(levels: Measured, record: ForecastRecord | None, asked_at: datetime) -> list[Sample]:
    """Return what was measured, followed by the forecast's medians as far as they are known."""
    run = [sample for sample in levels.samples if sample[0] <= asked_at]
    if record is None:
        return run
    # a day's mean stands at the day's beginning, so the day under way may be forecast as well
    after = run[-1][0] if run else record.issued_at - DAY
    for moment, level_m in zip(record.times, record.q50, strict=True):
        if level_m is None:
            break
        if moment > after:
            run.append((moment, level_m))
    return run
