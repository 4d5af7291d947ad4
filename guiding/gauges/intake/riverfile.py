"""A file of one river, t and a column a quantity -> rows in order of time, or one line why not.

The form in which records of rivers are passed on for trying models out: the header names the
columns by a letter or two, a gap is an empty cell, NaN or a row that is not there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.intake.csvtext import cells_of, delimiter_of, encoding_of, lines_of, unpacked
from guiding.gauges.intake.limits import MOST_RAIN_MM, Limits

MISSING = frozenset({"", "nan", "na", "n/a", "null", "none", "-", "--"})
FIRST_YEAR, LAST_YEAR = 1800, 2200
SHOWN = 40  # characters of a cell in a refusal
CAME_TWICE = "where the clocks go back an hour comes twice: write times in UTC or with their offset"

# what can stand in a column; the step is not known yet, so rain is bounded by the day
COLUMNS = {
    "P": Limits(what="rain P", unit="mm", low=0.0, high=MOST_RAIN_MM[1440]),
    "E": Limits(what="evaporation E", unit="mm", low=-10.0, high=60.0),
    "T": Limits(what="air temperature T", unit="degrees C", low=-60.0, high=60.0),
    "Q": Limits(what="flow Q", unit="", low=-1e7, high=1e7),
    "H": Limits(what="level H", unit="m", low=-100.0, high=9000.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverRows:
    """What a file holds, in order of time.

    `seconds` since 1970 in UTC; `written_s` the same by the clock that the file was written by
    (they differ where its times carry an offset). `values` has an array a column, NaN for a gap.
    `lines` are the lines that the rows stand in.
    """

    seconds: NDArray[np.int64]
    written_s: NDArray[np.int64]
    values: dict[str, NDArray[np.float64]]
    lines: NDArray[np.int64]
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    seconds: int
    written_s: int
    has_offset: bool
    line: int
    values: tuple[float, ...]


def read_river(data: bytes, wanted: Mapping[str, Limits] = COLUMNS) -> RiverRows:
    """Return the rows of a file, plain or gzip; columns that are not wanted are passed over.

    A time without an offset is taken as UTC. Rows in another order are sorted, and that is said.

    Raises
    ------
    FileRefused
        The file is none, has no column t, holds a time twice or a value that cannot be; the line
        is named.
    """
    text = unpacked(data)
    lines = lines_of(text, encoding_of(text, None), skip=0)
    _, header = next(lines, (0, ""))
    if not header:
        raise FileRefused("the file is empty; it begins with a header such as t,P,Q.")
    delimiter = delimiter_of(header)
    names = _names(cells_of(header, delimiter), wanted)
    rows = list(_rows(lines, delimiter, names, wanted))
    if not rows:
        raise FileRefused("the file has a header and no rows.")
    says = []
    if any(after.seconds < before.seconds for before, after in pairwise(rows)):
        rows.sort(key=lambda row: row.seconds)
        says.append("The rows are not in order of time; they were sorted.")
    _refuse_twice(rows)
    held = [name for name in names if name in wanted]
    table = np.array([row.values for row in rows], dtype=float).reshape(len(rows), len(held))
    values = {name: table[:, place] for place, name in enumerate(held)}
    says += _below_nought(values)
    return RiverRows(
        seconds=np.array([row.seconds for row in rows], dtype=np.int64),
        written_s=np.array([row.written_s for row in rows], dtype=np.int64),
        values=values,
        lines=np.array([row.line for row in rows], dtype=np.int64),
        says=tuple(says),
    )


def _below_nought(values: dict[str, NDArray[np.float64]]) -> list[str]:
    """Take a flow below nought as a fault of the instrument, and evaporation as dew; say both."""
    says = []
    for name, instead, words in (("Q", math.nan, "unknown"), ("E", 0.0, "0")):
        if name in values and (below := values[name] < 0).any():
            values[name][below] = instead
            says.append(f"{name} is below 0 in {int(below.sum())} rows; they are taken as {words}.")
    return says


def _names(names: Sequence[str], wanted: Mapping[str, Limits]) -> Sequence[str]:
    for name in ("t", *wanted):
        if names.count(name) > 1:
            raise FileRefused(f"the header names {name} {names.count(name)} times; once is right.")
    if "t" not in names:
        met = ", ".join(name[:SHOWN] for name in names[:12])
        raise FileRefused(f"the header names {met}; it must name t, the time of each row.")
    return names


def _rows(
    lines: Iterator[tuple[int, str]],
    delimiter: str,
    names: Sequence[str],
    wanted: Mapping[str, Limits],
) -> Iterator[_Row]:
    time_at = names.index("t")
    places = [(place, wanted[name]) for place, name in enumerate(names) if name in wanted]
    has_offset: bool | None = None
    for line, text in lines:
        try:
            cells = cells_of(text, delimiter)
        except FileRefused as refusal:
            raise FileRefused(f"line {line}: {refusal}") from refusal
        if len(cells) != len(names):
            raise FileRefused(
                f"line {line} has {len(cells)} cells; the header has {len(names)} columns."
            )
        moment = _moment(cells[time_at], line)
        if has_offset is None:
            has_offset = moment.tzinfo is not None
        if has_offset != (moment.tzinfo is not None):
            raise FileRefused(
                f"line {line}: {cells[time_at]!r} is written "
                f"{'without' if has_offset else 'with'} an offset, the rows above are not; all "
                "rows have one or none has."
            )
        yield _Row(
            seconds=_seconds(moment),
            written_s=_seconds(moment.replace(tzinfo=None)),
            has_offset=has_offset,
            line=line,
            values=tuple(_value(cells[place], limits, line) for place, limits in places),
        )


def _moment(text: str, line: int) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise FileRefused(
            f"line {line}: {text[:SHOWN]!r} is no time; write it as 2026-05-20 18:00."
        ) from error
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise FileRefused(
            f"line {line}: {text[:SHOWN]!r} is out of range; a record here lies in {FIRST_YEAR} to "
            f"{LAST_YEAR}."
        )
    return moment


def _seconds(moment: datetime) -> int:
    return math.floor((moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp())


def _value(text: str, limits: Limits, line: int) -> float:
    if text.lower() in MISSING:
        return math.nan
    try:
        # Python reads 1_000 as a number; in a file it is a slip
        value = float(text) if "_" not in text else math.nan
    except ValueError:
        value = math.nan
    if math.isnan(value):
        raise FileRefused(
            f"line {line}: {limits.what} is {text[:SHOWN]!r}; write a number, or nothing for a gap."
        )
    refusal = limits.refusal(value)
    if refusal:
        raise FileRefused(f"line {line}: {refusal}; a gap is an empty cell.")
    return value


def _refuse_twice(rows: Sequence[_Row]) -> None:
    for before, after in pairwise(rows):
        if before.seconds != after.seconds:
            continue
        hint = "" if after.has_offset else f"; {CAME_TWICE}"
        first, second = sorted((before.line, after.line))
        moment = datetime.fromtimestamp(after.written_s, UTC)
        raise FileRefused(
            f"line {second}: {moment:%Y-%m-%d %H:%M} stands in line {first} already{hint}."
        )
