"""What the river will do in the fishing hours, in one sentence and a little more below it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.direction import direction_at
from guiding.gauges.hydrology.record import DAY_MINUTES, ForecastRecord, MarkLevel

WIDE_M = 0.4  # from this width of band a second decimal would be false


def river_sentence(
    record: ForecastRecord | None,
    levels: Sequence[tuple[datetime, float]],
    marks: Sequence[MarkLevel],
    start: datetime,
    end: datetime,
    zone: ZoneInfo,
    *,
    step_minutes: int = 60,
) -> tuple[str, str]:
    """Return one sentence on the level in [start, end], and the detail that belongs under it.

    For clients as well as the guide: levels and what is seen there, no class names.
    """
    day = f"{start.astimezone(zone):%A}"
    is_daily = record.is_daily if record else step_minutes >= DAY_MINUTES
    last = last_words(levels, zone, is_daily=is_daily)
    if record is None:
        return f"What the river will do on {day} is not known: nothing was forecast.", last
    place = _middle_step(record, start, end)
    values = None if place is None else _at(record, place)
    if place is None or values is None:
        return f"What the river will do on {day} is not known.", _joined(last, *record.says)
    going = direction_at(record, place, levels[-1][1]) if levels else None
    sentence = _joined(going.words if going else "", _likely(record, place, values, zone))
    passing = _passing(record, levels, marks, start, end)
    return sentence, _joined(last, *passing, *record.says)


def likely_words(record: ForecastRecord | None, at: datetime, zone: ZoneInfo) -> str:
    """Return the likely level at a moment with its band, or an empty text."""
    place = None if record is None else _middle_step(record, at, at + timedelta(hours=1))
    values = None if record is None or place is None else _at(record, place)
    if record is None or place is None or values is None:
        return ""
    return _likely(record, place, values, zone)


def _middle_step(record: ForecastRecord, start: datetime, end: datetime) -> int | None:
    steps = record.steps_between(start, end)
    return steps[len(steps) // 2] if steps else None


def _likely(
    record: ForecastRecord, place: int, values: tuple[float, float, float], zone: ZoneInfo
) -> str:
    low, middle, high = values
    digits = 1 if high - low >= WIDE_M else 2
    when = _when(record, record.times[place], zone)
    return (
        f"Most likely {middle:.{digits}f} m {when}, four times in five between "
        f"{low:.{digits}f} and {high:.{digits}f} m."
    )


def _percent(share: float) -> int:
    return 5 * math.floor(share * 20 + 0.5)


def percent_words(share: float) -> str:
    """Return a share of paths as a round number, which is never nought and never certainty."""
    if share < 0.05:
        return "under 5 %"
    return "over 95 %" if share >= 0.95 else f"about {_percent(share)} %"


def chance_words(share: float) -> str:
    """Return a chance in words and a round number; a share of paths is never certainty.

    The word is chosen by the number that stands beside it, so that one number has one word.
    """
    if share < 0.05:
        return f"very unlikely, {percent_words(share)}"
    if share >= 0.95:
        return f"almost certain, {percent_words(share)}"
    for least, words in (
        (65, "likely"),
        (55, "more likely than not"),
        (50, "as likely as not"),
        (35, "less likely than not"),
        (5, "unlikely"),
    ):
        if _percent(share) >= least:
            return f"{words}, {percent_words(share)}"
    raise ValueError(f"share is {share}; it is 0 to 1.")


def age_words(age_hours: float | None) -> str:
    """Return an age: minutes under two hours, hours under two days, then days."""
    if age_hours is None:
        return ""
    if age_hours < 0:
        return "to come"
    if age_hours < 2:
        return f"{age_hours * 60:.0f} min"
    if age_hours < 48:
        return f"{age_hours:.0f} h"
    return f"{age_hours / 24:.0f} days"


def _at(record: ForecastRecord, place: int) -> tuple[float, float, float] | None:
    low, middle, high = record.q10[place], record.q50[place], record.q90[place]
    if low is None or middle is None or high is None:
        return None
    return low, middle, high


def _when(record: ForecastRecord, moment: datetime, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    return f"on {local:%A}" if record.is_daily else f"at {local:%H:%M} on {local:%A}"


def last_words(levels: Sequence[tuple[datetime, float]], zone: ZoneInfo, *, is_daily: bool) -> str:
    """Return the newest level and its moment; of a day's mean, the day."""
    if not levels:
        return "No level has been read."
    moment, level_m = levels[-1]
    local = moment.astimezone(zone)
    if is_daily:
        return f"Last on file: {level_m:.2f} m, mean of {local:%A %d %B}."
    return f"Last on file: {level_m:.2f} m, {local:%A %d %B, %H:%M}."


def _passing(
    record: ForecastRecord,
    levels: Sequence[tuple[datetime, float]],
    marks: Sequence[MarkLevel],
    start: datetime,
    end: datetime,
) -> list[str]:
    """Return a line for each mark that the river may well pass, from the level it has now."""
    if not levels:
        return []
    said = []
    for mark in sorted(marks, key=lambda mark: mark.level_m):
        rises = levels[-1][1] < mark.level_m
        chance = record.chance_above if rises else record.chance_below
        share = chance(mark.level_m, start, end)
        if share is not None and share >= 0.05:
            seen = f" ({mark.seen})" if mark.seen else ""
            way = "At or above" if rises else "Below"
            said.append(
                f"{way} {mark.level_m:.2f} m{seen} at some time in those hours: "
                f"{chance_words(share)}."
            )
    return said


def _joined(*parts: str) -> str:
    """Return what is said, each thing once."""
    return " ".join(dict.fromkeys(part for part in parts if part))
