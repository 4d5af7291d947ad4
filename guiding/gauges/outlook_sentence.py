"""The outlook in one breath: which way, when past which mark, what the rain may do; from paths."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from guiding.gauges.conditions.direction import direction_at, next_place
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.outlook_ahead import MAY, Ahead, at_words, known_ahead
from guiding.gauges.outlook_marks import beside_words, further_up_words, marks_words
from guiding.gauges.outlook_rain import lift_words, rain_not_known
from guiding.gauges.outlook_words import WIDE_M
from guiding.gauges.rain_shown import RainShown

NOT_KNOWN = "What the river will do is not known"


def outlook_sentence(
    record: ForecastRecord | None,
    levels: Sequence[tuple[datetime, float]],
    marks: Sequence[MarkLevel] | None,
    rain: Sequence[RainShown],
    at: datetime,
    zone: ZoneInfo,
) -> str:
    """Return what the river will do from now on, every part of it true of the forecast's paths.

    The direction is that of the next twelve hours or the day under way (conditions/direction.py).
    A mark is said to be passed by a moment where four paths in five lie beyond it at that moment. A
    lift is a rise of 10 cm above the lowest level before it. What is not known is said. `marks`
    None: they do not hold now, and nothing is said of them.
    """
    ahead = known_ahead(record, levels, at, zone)
    place = next_place(record, at) if record else None
    if record is None or ahead is None or place is None:
        return f"{NOT_KNOWN}."
    going = direction_at(record, place, ahead.level_m)
    if going is None:
        return f"{NOT_KNOWN}."
    said, upper = marks_words(ahead, marks, going.way)
    parts = [going.words, *said]
    if going.way > 0:
        parts += [*beside_words(ahead, upper), *_top(ahead)]
    else:
        parts += lift_words(ahead, rain, at, upper)
    parts += further_up_words(ahead, marks or ())
    parts += rain_not_known(ahead, rain, at)
    if not ahead.is_all:
        parts.append(f"After {at_words(ahead, ahead.times[-1])} it is not known.")
    return " ".join(parts)


def _top(ahead: Ahead) -> list[str]:
    """Return when a rising river stands highest, or that it may still rise at the end."""
    highest = ahead.paths.argmax(axis=1)
    last = ahead.paths.shape[1] - 1
    if (highest == last).mean() >= MAY:
        end = at_words(ahead, ahead.times[-1])
        return [f"It may still be rising at the end of this forecast, {end}."]
    first, until = (int(step) for step in np.quantile(highest, [0.1, 0.9], method="nearest"))
    low, high = np.quantile(ahead.paths.max(axis=1), [0.1, 0.9])
    digits = 1 if high - low >= WIDE_M else 2
    how_high = f"at {low:.{digits}f} to {high:.{digits}f} m"
    if ahead.day(first) == ahead.day(until):
        when = f"on {ahead.times[first].astimezone(ahead.zone):%A}"
    else:
        begin, end = (at_words(ahead, ahead.times[step]) for step in (first, until))
        when = f"between {begin} and {end}"
    return [f"Highest {when}, {how_high}, each four times in five."]
