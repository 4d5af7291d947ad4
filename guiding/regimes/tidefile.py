"""Lines of a tide table -> the tides of each day, or every line that is wrong."""

from __future__ import annotations

import math
from datetime import date

from guiding.regimes.linetable import (
    Line,
    TableRefused,
    clock_in,
    day_in,
    lines_of,
    read_each,
)
from guiding.regimes.tides import HIGHEST_TIDE_M, LOWEST_TIDE_M, Turn, turns_refusal

COLUMNS = ("date", "time", "height", "turn")
TURNS = {"high": True, "hw": True, "low": False, "lw": False}
FORM = (
    "A first line that names the columns: date, time, turn, and if you like height in metres. Then "
    "a line for each high or low water, by the table's own clock: 2026-11-26,06:12,high,4.8. A day "
    "stands there whole or not at all."
)

Days = dict[date, tuple[Turn, ...]]


def read_tide_table(text: str, *, twice_a_day: bool) -> Days:
    """Return the tides of every day that a text names, the earliest first.

    Raises
    ------
    TableRefused
        Naming each line that is wrong, or the day that is not whole. Nothing of such a text is
        taken.
    """
    lines = lines_of(text, needed=("date", "time", "turn"), allowed=COLUMNS)
    days: Days = {}
    last_line: dict[date, int] = {}
    for line, (day, turn) in read_each(lines, _turn):
        days[day] = (*days.get(day, ()), turn)
        last_line[day] = line.number
    problems = []
    for day, turns in days.items():
        days[day] = tuple(sorted(turns, key=lambda turn: turn.clock))
        why = turns_refusal(days[day], twice_a_day=twice_a_day)
        if why:
            problems.append(f"line {last_line[day]}: {day} is not whole: {why}.")
    if problems:
        raise TableRefused(problems)
    return days


def _turn(line: Line) -> tuple[date, Turn]:
    cells = line.cells
    kind = cells["turn"].casefold()
    if kind not in TURNS:
        raise ValueError(f"turn is {cells['turn']!r}; it is high or low.")
    return day_in(cells["date"]), Turn(
        clock=clock_in(cells["time"], "time"),
        is_high=TURNS[kind],
        height_m=height_in(cells.get("height", "")),
    )


def height_in(text: str) -> float | None:
    """Read a height in metres with a point; empty is not printed."""
    if not text:
        return None
    try:
        height_m = float(text)
    except ValueError:
        raise ValueError(f"height is {text!r}; write metres with a point, such as 4.8.") from None
    if not math.isfinite(height_m) or not LOWEST_TIDE_M <= height_m <= HIGHEST_TIDE_M:
        raise ValueError(
            f"height is {text}; a tide's height is {LOWEST_TIDE_M:g} to {HIGHEST_TIDE_M:g} m."
        )
    return height_m
