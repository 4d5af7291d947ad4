"""A weather run's rain and air laid on a record's own steps. A missing step stays missing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from guiding.gauges.hydrology.record import Array

NEARLY_WHOLE = 0.99  # of an interval; clocks in runs are to the second


def rain_on_steps(
    run_steps: Iterable[dict[str, Any]],
    edges: Sequence[tuple[datetime, datetime]],
    *,
    since: datetime,
) -> Array:
    """Return the rain [mm] of each interval, NaN where the run does not carry all of it.

    A run's longer step is shared out evenly over its time. Of an interval that has begun already
    only the part from `since` on is asked for: what fell before is not the forecast's to say.
    """
    carried = _carried(run_steps)
    out = np.full(len(edges), np.nan)
    for place, (begins, ends) in enumerate(edges):
        begins = max(begins, since)
        wanted = (ends - begins).total_seconds()
        held, rain = 0.0, 0.0
        for starts, stops, rain_mm in carried:
            shared = (min(ends, stops) - max(begins, starts)).total_seconds()
            if shared > 0:
                held += shared
                rain += rain_mm * shared / (stops - starts).total_seconds()
        if wanted > 0 and held >= NEARLY_WHOLE * wanted:
            out[place] = rain
    return out


def air_on_steps(
    run_steps: Iterable[dict[str, Any]], edges: Sequence[tuple[datetime, datetime]]
) -> Array:
    """Return the air [degrees C] of each interval, NaN where the run carries less than half of it.

    A run's step stands for all of its time.
    """
    carried = _whole_steps(run_steps, "air_c")
    out = np.full(len(edges), np.nan)
    for place, (begins, ends) in enumerate(edges):
        held, sums = 0.0, 0.0
        for starts, stops, air_c in carried:
            shared = (min(ends, stops) - max(begins, starts)).total_seconds()
            if shared > 0:
                held += shared
                sums += air_c * shared
        if held >= (ends - begins).total_seconds() / 2:
            out[place] = sums / held
    return out


def shared_out_from(
    run_steps: Iterable[dict[str, Any]], *, step_minutes: int
) -> tuple[datetime, float] | None:
    """Return from when on a run's totals are of more hours than a step, and of how many; or None.

    Such a total is shared out evenly inside the model only, and that is said.
    """
    longer = [
        (starts, (stops - starts).total_seconds() / 3600)
        for starts, stops, _ in _carried(run_steps)
        if stops - starts > timedelta(minutes=step_minutes)
    ]
    return longer[0] if longer else None


def _carried(run_steps: Iterable[dict[str, Any]]) -> list[tuple[datetime, datetime, float]]:
    """Return the steps that carry rain, in order; one that overlaps an earlier one is left out."""
    return _whole_steps(run_steps, "rain_mm")


def _whole_steps(
    run_steps: Iterable[dict[str, Any]], what: str
) -> list[tuple[datetime, datetime, float]]:
    steps = []
    for step in run_steps:
        if step.get(what) is None:
            continue
        starts = datetime.fromisoformat(step["starts_at"])
        stops = datetime.fromisoformat(step["ends_at"])
        if stops > starts:
            steps.append((starts, stops, float(step[what])))
    steps.sort(key=lambda step: step[:2])
    apart: list[tuple[datetime, datetime, float]] = []
    for one in steps:
        if not apart or one[0] >= apart[-1][1]:
            apart.append(one)
    return apart


def air_ahead_c(run_steps: Iterable[dict[str, Any]], *, since: datetime) -> float | None:
    """Return the run's mean air temperature over the next 48 hours, None where it carries none."""
    until = since + timedelta(hours=48)
    seen = [
        float(step["air_c"])
        for step in run_steps
        if step.get("air_c") is not None
        and since - timedelta(hours=1) <= datetime.fromisoformat(step["starts_at"]) < until
    ]
    return float(np.mean(seen)) if seen else None
