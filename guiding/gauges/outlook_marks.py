"""When the river passes the guide's marks, in words; every one of them true of the paths."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from guiding.gauges.hydrology.record import Array, MarkLevel
from guiding.gauges.outlook_ahead import MAY, MOSTLY, Ahead, at_words, first_step
from guiding.gauges.outlook_words import chance_words

# Every number here is common practice, no source.
EARLY = 0.1
WORTH_A_WORD = 0.05
LONGEST_SEEN = 40  # letters of what is seen at a mark that fit into a sentence
OVER_BANK = "over_bank"
CLOCK_H = 3  # moments are said at the next third hour of the clock


def marks_words(
    ahead: Ahead, marks: Sequence[MarkLevel] | None, way: int
) -> tuple[list[str], MarkLevel | None]:
    """Return when the next mark is passed, and the mark above if a rise to it must be said too."""
    if not marks:
        return ([] if marks is None else ["No mark is on file."]), None
    reached = [mark for mark in marks if mark.level_m <= ahead.level_m]
    lower = max(reached, key=lambda mark: mark.level_m, default=None)
    above = [mark for mark in marks if mark.level_m > ahead.level_m]
    upper = min(above, key=lambda mark: mark.level_m, default=None)
    falls = 0.0 if lower is None else (ahead.paths < lower.level_m).any(axis=1).mean()
    rises = 0.0 if upper is None else (ahead.paths >= upper.level_m).any(axis=1).mean()
    if max(falls, rises) < WORTH_A_WORD:
        return [_stays(ahead, lower, upper)], None
    if lower is not None and falls >= WORTH_A_WORD and (falls >= rises or way < 0):
        return [_passes(ahead, lower, is_rise=False)], upper if rises >= MAY else None
    return beside_words(ahead, upper), None


def beside_words(ahead: Ahead, upper: MarkLevel | None) -> list[str]:
    return [] if upper is None else [_passes(ahead, upper, is_rise=True)]


def further_up_words(ahead: Ahead, marks: Sequence[MarkLevel]) -> list[str]:
    """Return the highest mark that may well be passed beyond the next one: never left unsaid.

    Over the bank is said from one path in twenty on, any other mark from one in five.
    """
    above = sorted((m for m in marks if m.level_m > ahead.level_m), key=lambda m: -m.level_m)
    for mark in above[:-1]:
        share = float((ahead.paths >= mark.level_m).any(axis=1).mean())
        if share >= (WORTH_A_WORD if mark.kind == OVER_BANK else MAY):
            name = "" if mark.name in mark.seen else f" ({mark.name})"
            return [f"{mark.level_m:.2f} m or more{name} {ahead.until}: {chance_words(share)}."]
    return []


def _mark_words(mark: MarkLevel) -> str:
    seen = f" ({mark.seen})" if mark.seen and len(mark.seen) <= LONGEST_SEEN else ""
    return f"{mark.level_m:.2f} m{seen}"


def _stays(ahead: Ahead, lower: MarkLevel | None, upper: MarkLevel | None) -> str:
    inside = np.ones(ahead.paths.shape, dtype=bool)
    limits = []
    if lower is not None:
        inside &= ahead.paths >= lower.level_m
        limits.append(f"at or above {_mark_words(lower)}")
    if upper is not None:
        inside &= ahead.paths < upper.level_m
        limits.append(f"below {_mark_words(upper)}")
    share = float(inside.all(axis=1).mean())
    until = at_words(ahead, ahead.times[-1])
    return f"It stays {' and '.join(limits)} until {until}: {chance_words(share)}."


def _passes(ahead: Ahead, mark: MarkLevel, *, is_rise: bool) -> str:
    beyond = ahead.paths >= mark.level_m if is_rise else ahead.paths < mark.level_m
    way = "At or above" if is_rise else "Below"
    shares = beyond.mean(axis=0)
    step = first_step(shares, MOSTLY)
    if step is None:
        share = float(beyond.any(axis=1).mean())
        return f"{way} {_mark_words(mark)} at some time {ahead.until}: {chance_words(share)}."
    moment, share = _on_the_clock(ahead, shares, step)
    words = f"{way} {_mark_words(mark)} by {ahead.by(moment)}, {_times_words(share)}"
    if is_rise:
        ever = np.maximum.accumulate(beyond, axis=1).mean(axis=0)
        early = first_step(ever, EARLY)
        if early is not None and ahead.times[early] < ahead.times[step]:
            words += f", and one time in ten already by {ahead.by(ahead.times[early])}"
    return f"{words}."


def _on_the_clock(ahead: Ahead, shares: Array, step: int) -> tuple[datetime, float]:
    """Return the next third hour of the clock from a step on where the share still holds."""
    moment = ahead.times[step]
    if ahead.is_daily:
        return moment, float(shares[step])
    for later in range(step, min(step + CLOCK_H, len(ahead.times))):
        local = ahead.times[later].astimezone(ahead.zone)
        if shares[later] < MOSTLY:
            break
        if local.hour % CLOCK_H == 0 and local.minute == 0:
            return ahead.times[later], float(shares[later])
    return moment, float(shares[step])


def _times_words(share: float) -> str:
    """Return a large share of paths as rods say it."""
    if share >= 0.95:
        return "almost certain"
    return "nine times in ten" if share >= 0.9 else "four times in five"
