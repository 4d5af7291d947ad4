"""Readings that a river can hardly have: pointed out, never deleted, and never believed alone.

A flood rises and stays up; a spike comes back at once. A flagged rise still counts as risen until
somebody has looked (`gauges/forecast_remarks.py`), and a gauge that stands still through rain is
judged where the record is read (`gauges/stuck.py`).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

# Common practice, no source: how far from its neighbours a value must lie to be looked at.
FLOOR = {"level_m": 0.10, "water_c": 2.0, "air_c": 5.0}
FLOW_SHARE = 0.2
AROUND = 3  # values on either side: seven with its own
SPREADS = 5.0  # median absolute deviations
BACK_WITHIN = 2  # values
GAP_STEPS = 3  # neighbours further apart than this are none

Readings = Sequence[tuple[datetime, float]]


def spikes(readings: Readings, quantity: str) -> set[datetime]:
    """Return the moments whose value leaves its neighbours and is back within two values.

    The newest value cannot be judged yet, as what follows it is not known. Rain comes in spikes.
    """
    if quantity not in FLOOR and quantity != "flow_m3s":
        return set()
    found = set()
    for run in _unbroken(readings):
        values = [value for _, value in run]
        for place in range(AROUND, len(values) - 1):
            near = values[place - AROUND : place + AROUND + 1]
            middle = median(near)
            least = FLOW_SHARE * abs(middle) if quantity == "flow_m3s" else FLOOR[quantity]
            allowed = max(SPREADS * median(abs(v - middle) for v in near), least)
            is_off = abs(values[place] - middle) > allowed
            after = values[place + 1 : place + 1 + BACK_WITHIN]
            if is_off and any(abs(value - middle) <= allowed for value in after):
                found.add(run[place][0])
    return found


def usual_gap(moments: Sequence[datetime]) -> timedelta | None:
    """Return the commonest distance between moments in order, None under three of them."""
    gaps = [b - a for a, b in pairwise(moments) if b > a]
    if len(gaps) < 2:
        return None
    return max(sorted(set(gaps)), key=gaps.count)


def _unbroken(readings: Readings) -> list[list[tuple[datetime, float]]]:
    """Part readings where the record has a hole."""
    gap = usual_gap([moment for moment, _ in readings])
    runs: list[list[tuple[datetime, float]]] = []
    for moment, value in readings:
        if not runs or (gap and moment - runs[-1][-1][0] > GAP_STEPS * gap):
            runs.append([])
        runs[-1].append((moment, value))
    return runs
