"""What a beat's further gauges make of its conditions: a level worked out, a rise on its way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.stand_in import StandIn
from guiding.gauges.conditions.upstream import UpstreamRise
from guiding.gauges.conditions.values import Condition, Conditions, Kind


def as_worked_out(conditions: Conditions, stand_in: StandIn) -> Conditions:
    """Return conditions that were read from levels worked out, marked so, with their spread.

    What somebody gave stays as it was given. A forecast keeps its own middle, and its high end
    takes in the level worked out: it was made without it.
    """
    level, classed = conditions.level, conditions.level_class
    first_at = stand_in.worked_out[0][0]
    if level.kind is Kind.OBSERVED and level.at is not None and level.at >= first_at:
        level = _widened(level, stand_in)
        classed = replace(classed, kind=Kind.INFERRED) if classed.value else classed
    elif level.kind is Kind.FORECAST and level.high is not None:
        high = max(level.high, round(stand_in.newest_m + stand_in.spread_m, 3))
        level = replace(level, high=high)
    rise = conditions.rise
    if rise.kind is Kind.OBSERVED and rise.number is not None:
        off = stand_in.step_spread_m * 100 / max(stand_in.measured.step_hours, 1.0)
        value = round(rise.number + off, 2)  # the careful end is the value
        low = round(rise.number - off, 2)
        rise = _inferred(rise, stand_in.source, value=value, low=low, high=value)
    now = conditions.class_now
    return replace(
        conditions,
        level=level,
        level_class=classed,
        class_now=replace(now, kind=Kind.INFERRED) if now.value else now,
        rise=rise,
        says=(stand_in.says, *conditions.says),
    )


def _widened(level: Condition, stand_in: StandIn) -> Condition:
    value = level.number or 0.0
    low = value if level.low is None else level.low
    high = value if level.high is None else level.high
    return _inferred(
        level,
        stand_in.source,
        value=value,
        low=round(min(low, value - stand_in.spread_m), 3),
        high=round(max(high, value + stand_in.spread_m), 3),
    )


def with_upstream(
    conditions: Conditions, rises: Sequence[UpstreamRise], zone: ZoneInfo
) -> Conditions:
    """Return conditions that tell of rises on their way here, the soonest first.

    One that comes within the fishing hours is counted into how fast the river may rise, where that
    is known at all: it only ever makes it faster.
    """
    if not rises:
        return conditions
    ordered = tuple(sorted(rises, key=lambda rise: rise.arrives_at))
    coming = [rise for rise in ordered if rise.arrives_at <= conditions.ends_at]
    fastest = max(coming, key=lambda rise: rise.rate_here_cm_h, default=None)
    rise = conditions.rise
    if fastest is not None and rise.number is not None:
        value = round(fastest.rate_here_cm_h, 2)
        if value > (rise.number if rise.high is None else rise.high):
            source = f"the rise at {fastest.gauge} upstream, by its ratio of {fastest.ratio:.2f}"
            rise = _inferred(rise, source, value=value, high=value)
    return replace(
        conditions,
        rise=rise,
        upstream=ordered,
        says=(*(one.words(zone, conditions.asked_at) for one in ordered), *conditions.says),
    )


def _inferred(condition: Condition, source: str, **changes: Any) -> Condition:
    return replace(condition, kind=Kind.INFERRED, source=source, **changes)
