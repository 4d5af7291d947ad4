"""Whether a gauge stands still although it rained: it may be stuck, and then tells nothing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

# Common practice, no source: a living river does not read the very same for two days (a daily
# record: four) while so much rain falls on it.
STILL_FOR = timedelta(hours=48)
STILL_FOR_DAILY = timedelta(days=4)
RAIN_MM = 10.0
SAME_M = 1e-6

Readings = Sequence[tuple[datetime, float]]


def stuck_since(levels: Readings, rain: Readings, *, is_daily: bool) -> datetime | None:
    """Return since when the newest level [m] has stood still through rain [mm], or None.

    Both are oldest first, aware moments. Without rain on file nothing can be told, and None is no
    word that the gauge is well.
    """
    if not levels:
        return None
    newest_at, newest_m = levels[-1]
    since = newest_at
    for moment, level_m in reversed(levels):
        if abs(level_m - newest_m) > SAME_M:
            break
        since = moment
    if newest_at - since < (STILL_FOR_DAILY if is_daily else STILL_FOR):
        return None
    fell_mm = sum(value for moment, value in rain if since <= moment <= newest_at)
    return since if fell_mm >= RAIN_MM else None


def stuck_words(since: datetime, newest_at: datetime) -> str:
    """Return why such a gauge is not believed."""
    days = (newest_at - since) / timedelta(days=1)
    return (
        f"the gauge has not moved for {days:.0f} days although it rained: it may be stuck, "
        "so look at the water"
    )
