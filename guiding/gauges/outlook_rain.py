"""What the rain ahead may do to a river that falls or stands, and what of it is not known."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np

from guiding.gauges.hydrology.record import MarkLevel
from guiding.gauges.outlook_ahead import LIKELY, MAY, Ahead, first_step
from guiding.gauges.outlook_marks import beside_words
from guiding.gauges.outlook_words import percent_words
from guiding.gauges.rain_shown import FORECAST, RainShown

# Every number here is common practice, no source.
LIFT_M = 0.10
WET_DAY_MM = 2.0


def lift_words(
    ahead: Ahead, rain: Sequence[RainShown], at: datetime, upper: MarkLevel | None
) -> list[str]:
    """Return what rain ahead may do to a river that falls or stands, up to the mark above."""
    with_now = np.column_stack([np.full(len(ahead.paths), ahead.level_m), ahead.paths])
    lowest = np.minimum.accumulate(with_now, axis=1)[:, 1:]
    lifted = np.maximum.accumulate(ahead.paths - lowest >= LIFT_M, axis=1).mean(axis=0)
    share = float(lifted[-1])
    wet = {day: mm for day, mm in _by_day(ahead, rain, at).items() if mm >= WET_DAY_MM}
    step = first_step(lifted, MAY)
    lift = f"{LIFT_M * 100:.0f} cm or more: {percent_words(share)}"
    if step is None:
        said = beside_words(ahead, upper)
        if wet and ahead.is_all and not rain_not_known(ahead, rain, at):
            day = max(wet, key=lambda day: wet[day])
            words = f"Rain on {day:%A} ({wet[day]:.0f} mm) is unlikely to lift it by"
            said.append(f"{words} {lift}.")
        return said
    if upper is not None:
        reaches = float((ahead.paths >= upper.level_m).any(axis=1).mean())
        lift += f"; {upper.level_m:.2f} m or more: {percent_words(reaches)}"
    day = ahead.day(step)
    before = {wet_day: mm for wet_day, mm in wet.items() if wet_day <= day}
    verb = "will probably" if share >= LIKELY else "may"
    if before:
        wettest = max(before, key=lambda day: before[day])
        return [f"Rain on {wettest:%A} {verb} lift it again ({lift})."]
    return [f"It {verb} rise again from {day:%A} on ({lift})."]


def _by_day(ahead: Ahead, rain: Sequence[RainShown], at: datetime) -> dict[date, float]:
    """Return the rain forecast for each of the river's days, each step where its middle lies."""
    days: dict[date, float] = {}
    for step in rain:
        if step.known_as == FORECAST and at < step.ends_at and step.starts_at < ahead.ends_at:
            day = step.middle_at.astimezone(ahead.zone).date()
            days[day] = days.get(day, 0.0) + step.mm
    return days


def rain_not_known(ahead: Ahead, rain: Sequence[RainShown], at: datetime) -> list[str]:
    """Return from when on the rain ahead is not known; a dry forecast is said as well."""
    coming = [s for s in rain if s.known_as == FORECAST and s.ends_at > at]
    if not coming:
        return ["The rain to come is not known."]
    reached = max(coming[0].starts_at, at)
    holes = coming[0].starts_at - at > timedelta(hours=2)
    for step in coming:
        holes |= step.starts_at > reached and step.starts_at < ahead.ends_at
        reached = max(reached, step.ends_at)
    says = []
    if holes:
        says.append("Part of the rain forecast is missing.")
    if ahead.ends_at - reached > timedelta(hours=6):
        says.append(f"After {_at_hour(ahead, reached)} the rain is not known.")
    if not says and sum(_by_day(ahead, rain, at).values()) < WET_DAY_MM:
        says.append("Little or no rain is forecast.")
    return says


def _at_hour(ahead: Ahead, moment: datetime) -> str:
    return f"{moment.astimezone(ahead.zone):%A %H:%M}"
