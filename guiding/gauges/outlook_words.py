"""What the river will do in the fishing hours, in one sentence and a little more below it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel

STEADY_M = 0.02  # a smaller change is no more than the gauge's own flutter (common practice)
NARROW_M = 0.05  # a band that stays this near to the level now is called steady
WIDE_M = 0.4  # from this width of band a second decimal would be false


def river_sentence(
    record: ForecastRecord | None,
    levels: Sequence[tuple[datetime, float]],
    marks: Sequence[MarkLevel],
    start: datetime,
    end: datetime,
    zone: ZoneInfo,
) -> tuple[str, str]:
    """Return one sentence on the level in [start, end], and the detail that belongs under it.

    For clients as well as the guide: levels and what is seen there, no class names.
    """
    day = f"{start.astimezone(zone):%A}"
    last = _last_words(levels, zone)
    if record is None:
        return f"What the river will do on {day} is not known: nothing was forecast.", last
    says = " ".join(record.says)
    steps = record.steps_between(start, end)
    place = steps[len(steps) // 2] if steps else None
    values = None if place is None else _at(record, place)
    if place is None or values is None:
        return f"What the river will do on {day} is not known.", _joined(last, says)
    low, middle, high = values
    digits = 1 if high - low >= WIDE_M else 2
    when = _when(record, record.times[place], zone)
    change = _change(levels, low, middle, high)
    sentence = (
        f"{change}Most likely {middle:.{digits}f} m {when}, four times in five between "
        f"{low:.{digits}f} and {high:.{digits}f} m."
    )
    return sentence, _joined(last, *_passing(record, levels, marks, start, end), says)


def chance_words(share: float) -> str:
    """Return a chance in words and a round number; a share of paths is never certainty."""
    for least, words in (
        (0.95, "almost certain, over 95 %"),
        (0.65, "likely"),
        (0.55, "more likely than not"),
        (0.45, "as likely as not"),
        (0.35, "less likely than not"),
        (0.05, "unlikely"),
    ):
        if share >= least:
            return words if "%" in words else f"{words}, about {5 * round(share * 20)} %"
    return "very unlikely, under 5 %"


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


def _change(
    levels: Sequence[tuple[datetime, float]], low: float, middle: float, high: float
) -> str:
    """Return where the level is going, as firmly as the whole band allows."""
    if not levels:
        return ""
    now = levels[-1][1]
    if low > now + STEADY_M:
        return "Rising. "
    if high < now - STEADY_M:
        return "Falling. "
    if abs(middle - now) >= STEADY_M:
        return "Probably rising. " if middle > now else "Probably falling. "
    return "Steady. " if max(high - now, now - low) < NARROW_M else "Little change likely. "


def _last_words(levels: Sequence[tuple[datetime, float]], zone: ZoneInfo) -> str:
    if not levels:
        return "No level has been read."
    moment, level_m = levels[-1]
    return f"Last on file: {level_m:.2f} m, {moment.astimezone(zone):%A %d %B, %H:%M}."


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
    return " ".join(part for part in parts if part)
