"""Rain told in parts of an hour becomes rain of whole hours; one with a part missing is none."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

Readings = Sequence[tuple[datetime, float]]
HOUR_MINUTES = 60


def hourly(
    rain: Readings, *, step_minutes: int, is_stamped_at_end: bool
) -> list[tuple[datetime, float]]:
    """Return rain [mm] by the moment its hour begins, oldest first.

    Steps are of an hour or less and divide it. Of two values for one part neither is believed.
    """
    if step_minutes <= 0 or HOUR_MINUTES % step_minutes:
        raise ValueError(f"step_minutes is {step_minutes}; it must divide an hour")
    step = timedelta(minutes=step_minutes)
    parts: dict[datetime, dict[datetime, set[float]]] = defaultdict(lambda: defaultdict(set))
    for moment, value in rain:
        begins = (moment - step if is_stamped_at_end else moment).astimezone(UTC)
        hour = begins.replace(minute=0, second=0, microsecond=0)
        parts[hour][begins].add(value)
    whole = []
    for hour, told in sorted(parts.items()):
        wanted = {hour + k * step for k in range(HOUR_MINUTES // step_minutes)}
        if set(told) == wanted and all(len(values) == 1 for values in told.values()):
            whole.append((hour, round(sum(value for (value,) in told.values()), 6)))
    return whole
