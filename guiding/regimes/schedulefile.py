"""Lines of a schedule -> the releases of each day, or every line that is wrong."""

from __future__ import annotations

from datetime import date

from guiding.regimes.linetable import (
    Line,
    TableRefused,
    clock_in,
    day_in,
    lines_of,
    plain_text,
    read_each,
)
from guiding.regimes.releases import Release

NONE = "none"
COLUMNS = ("date", "from", "to", "flow")
LONGEST_FLOW = 60
MOST_A_DAY = 24
FORM = (
    "A first line that names the columns: date, from, and if you like to and flow. Then a line for "
    "each release, by the river's clock: 2026-11-26,10:00,14:00,10 m3/s. An end at or before the "
    "start is on the next day; an empty end is not known. A day on which none is planned: "
    "2026-11-27,none. A day that the file does not name stays not known."
)

Days = dict[date, tuple[Release, ...]]


def read_schedule(text: str) -> Days:
    """Return the releases of every day that a text names; an empty tuple: none is planned.

    Raises
    ------
    TableRefused
        Naming each line that is wrong. Nothing of such a text is taken.
    """
    lines = lines_of(text, needed=("date", "from"), allowed=COLUMNS)
    days: Days = {}
    first: dict[tuple[date, Release | None], int] = {}
    problems = []
    for line, (day, release) in read_each(lines, _release):
        before = first.setdefault((day, release), line.number)
        if before != line.number:
            problems.append(f"line {line.number}: says what line {before} said.")
            continue
        is_none_said = (day, None) in first
        if is_none_said and any(on == day and what for on, what in first):
            problems.append(
                f"line {line.number}: {day} has a release and none; one of the two is wrong."
            )
        days[day] = (*days.get(day, ()), *([release] if release else []))
        if len(days[day]) > MOST_A_DAY:
            problems.append(f"line {line.number}: {day} has more than {MOST_A_DAY} releases.")
    if problems:
        raise TableRefused(problems)
    return {day: tuple(sorted(found, key=lambda r: r.starts)) for day, found in days.items()}


def _release(line: Line) -> tuple[date, Release | None]:
    cells = line.cells
    day, starts, ends = day_in(cells["date"]), cells["from"], cells.get("to", "")
    flow = plain_text(cells.get("flow", ""), "flow", LONGEST_FLOW)
    if starts.casefold() == NONE:
        if ends or flow:
            raise ValueError(f"from is {starts!r}, and {ends or flow!r} stands beside it.")
        return day, None
    if not starts:
        raise ValueError("from is empty; write a clock time, or none where none is planned.")
    return day, Release(
        starts=clock_in(starts, "from"),
        ends=clock_in(ends, "to", may_be_24=True) if ends else None,
        flow=flow,
    )
