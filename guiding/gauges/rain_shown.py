"""Rain for the eye: what was measured, then what is forecast, each step as it was given."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from guiding.gauges.steps import Steps

MEASURED, FORECAST = "measured", "forecast"


@dataclass(frozen=True, slots=True, kw_only=True)
class RainShown:
    """The rain [mm] of one step as it came; a step that is not here is not known."""

    starts_at: datetime
    ends_at: datetime
    mm: float
    known_as: str  # measured or forecast

    @property
    def middle_at(self) -> datetime:
        """Return the middle of the step; the step counts to the day that it lies in."""
        return self.starts_at + (self.ends_at - self.starts_at) / 2


Step = tuple[datetime, datetime, float | None]  # from, to, mm


def rain_shown(
    measured: Iterable[Step], run_steps: Iterable[Step], *, at: datetime
) -> tuple[RainShown, ...]:
    """Return the rain to show, in order: whole steps only, none shared out, none twice.

    A measured step is known once it is over. A forecast step is shown where nothing measured
    overlaps it, the steps behind `at` included: until the gauge has spoken the forecast stands. Of
    two steps that overlap the earlier is kept. A step without rain is left out: not known.
    """
    over = (step for step in measured if step[1] <= at)
    shown = _apart(over, MEASURED, since=None)
    return (*shown, *_apart(run_steps, FORECAST, since=shown[-1].ends_at if shown else None))


def _apart(
    steps: Iterable[Step], known_as: str, *, since: datetime | None
) -> tuple[RainShown, ...]:
    """Return the steps that carry rain and begin where the one before has ended."""
    carried = [(starts, ends, mm) for starts, ends, mm in steps if mm is not None]
    kept: list[RainShown] = []
    for starts_at, ends_at, mm in sorted(carried):
        is_free = since is None or starts_at >= since
        if is_free and ends_at > starts_at and mm >= 0:
            kept.append(RainShown(starts_at=starts_at, ends_at=ends_at, mm=mm, known_as=known_as))
            since = ends_at
    return tuple(kept)


def measured_steps(
    readings: Sequence[tuple[datetime, float]], steps: Steps, *, since: datetime, at: datetime
) -> list[Step]:
    """Return measured rain on the record's own steps: what came more often is summed.

    A step of which a part never came is left out, for the sum of the rest is not its rain.
    """
    first, last = steps.begun(since), steps.begun(at)
    sums = steps.summed(readings, first, last)
    return [
        (steps.moment(first + k), steps.moment(first + k + 1), float(mm))
        for k, mm in enumerate(sums)
        if np.isfinite(mm)
    ]


def steps_of(rows: Iterable[dict[str, Any]]) -> list[Step]:
    """Return the rain of a stored run's steps."""
    return [
        (
            datetime.fromisoformat(row["starts_at"]),
            datetime.fromisoformat(row["ends_at"]),
            row.get("rain_mm"),
        )
        for row in rows
    ]
