"""The outlook in one breath: which way, when past which mark, what the rain may do; from paths."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.outlook_ahead import LIKELY, MAY, MOSTLY, Ahead, at_words, known_ahead
from guiding.gauges.outlook_marks import beside_words, further_up_words, marks_words
from guiding.gauges.outlook_rain import lift_words, rain_not_known
from guiding.gauges.outlook_words import STEADY_M, WIDE_M
from guiding.gauges.rain_shown import RainShown

# Every number here is common practice, no source.
DIRECTION_H = 12
STAYS_M = 0.05  # a level that stays this near is called steady

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

    The direction is that of the next twelve hours or the next day. A mark is said to be passed by
    a moment where four paths in five lie beyond it at that moment. A lift is a rise of 10 cm above
    the lowest level before it. What is not known is said. `marks` None: they do not hold now, and
    nothing is said of them.
    """
    ahead = known_ahead(record, levels, at, zone)
    if ahead is None:
        return f"{NOT_KNOWN}."
    way, words = _direction(ahead)
    said, upper = marks_words(ahead, marks, way)
    parts = [words, *said]
    if way > 0:
        parts += [*beside_words(ahead, upper), *_top(ahead)]
    else:
        parts += lift_words(ahead, rain, at, upper)
    parts += further_up_words(ahead, marks or ())
    parts += rain_not_known(ahead, rain, at)
    if not ahead.is_all:
        parts.append(f"After {at_words(ahead, ahead.times[-1])} it is not known.")
    return " ".join(parts)


def _direction(ahead: Ahead) -> tuple[int, str]:
    """Return 1 for rising, -1 for falling, 0 for neither, and the words."""
    step = 0 if ahead.is_daily else min(DIRECTION_H, len(ahead.times)) - 1
    change = ahead.paths[:, step] - ahead.level_m
    for way, share, word in (
        (1, (change >= STEADY_M).mean(), "rising"),
        (-1, (change <= -STEADY_M).mean(), "falling"),
    ):
        if share >= LIKELY:
            return way, f"{word.capitalize()}." if share >= MOSTLY else f"Probably {word}."
    middle = float(np.median(change))
    if abs(middle) >= STEADY_M:  # the same word that the forecast of a day would choose
        return 0, f"Probably {'rising' if middle > 0 else 'falling'} slowly."
    near = (np.abs(change) < STAYS_M).mean()
    if near >= MOSTLY:
        return 0, "Steady."
    return 0, "Little change likely." if near >= LIKELY else "It may rise or fall."


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
