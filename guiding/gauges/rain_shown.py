"""Rain for the eye: what was measured, then what is forecast, each step as it was given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

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
    measured: Iterable[tuple[datetime, float]],
    run_steps: Iterable[Step],
    *,
    step_minutes: int,
    at: datetime,
) -> tuple[RainShown, ...]:
    """Return the rain to show, in order: whole steps only, none shared out, none twice.

    A measured step is known once it is over. A forecast step is shown where nothing measured
    overlaps it, the steps behind `at` included: until the gauge has spoken the forecast stands. Of
    two steps that overlap the earlier is kept. A run's step without rain is left out: not known.
    """
    step = timedelta(minutes=step_minutes)
    shown: list[RainShown] = []
    for moment, mm in sorted(measured):
        begins_after = not shown or moment >= shown[-1].ends_at
        if moment + step <= at and mm >= 0 and begins_after:
            shown.append(
                RainShown(starts_at=moment, ends_at=moment + step, mm=mm, known_as=MEASURED)
            )
    reached = shown[-1].ends_at if shown else None
    carried = [(starts, ends, mm) for starts, ends, mm in run_steps if mm is not None]
    for starts_at, ends_at, mm in sorted(carried):
        if ends_at > starts_at and (reached is None or starts_at >= reached):
            shown.append(RainShown(starts_at=starts_at, ends_at=ends_at, mm=mm, known_as=FORECAST))
            reached = ends_at
    return tuple(shown)


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
