"""The bytes of a file and a column map -> rows with their lines, and the lines that are bad.

A row is good or bad as a whole: where one cell is impossible (a shifted column, a decimal comma
that split a number) its neighbours are not to be trusted either.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from itertools import pairwise

from guiding.gauges.intake.csvmap import (
    Column,
    ColumnMap,
    FileRefused,
    plain_map,
    shortened,
)
from guiding.gauges.intake.csvtext import cells_of, delimiter_of, encoding_of, lines_of
from guiding.gauges.intake.csvtimes import moment_of
from guiding.gauges.intake.csvunits import to_ours
from guiding.gauges.intake.limits import Limits, moment_refusal

MOST_ROWS = 1_000_000
MOST_BAD = 100_000
MOST_BAD_FIRST = 1_000  # bad rows with no good one among them: it is not the file it was said to be
SPACES = {"\N{NO-BREAK SPACE}", "\N{NARROW NO-BREAK SPACE}", "\N{THIN SPACE}"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One good row: `values` in the order of the table's quantities, None where one is missing."""

    line: int
    observed_at: datetime
    values: tuple[float | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BadRow:
    """One row that is refused, and why."""

    line: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RowTable:
    """What a file holds, and what was understood of it, a line each."""

    quantities: tuple[str, ...]
    rows: tuple[Row, ...]
    bad: tuple[BadRow, ...]
    empty: int  # rows with a moment and no value at all
    passed_over: int  # rows that [only] does not take
    understood: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeFacts:
    """What must be known of a gauge and its river to read a file for it."""

    zone: tzinfo
    zone_words: str
    catchment_km2: float | None
    limits: Mapping[str, Limits]
    at: datetime


def read_rows(data: bytes, mapping: ColumnMap | None, gauge: GaugeFacts) -> RowTable:
    """Read a whole file; FileRefused where it cannot be understood at all.

    Without a map the header must say everything. A moment that comes twice with the same values is
    kept twice (it is counted as repeated later); with another value the later row is bad.
    """
    encoding = encoding_of(data, mapping.encoding if mapping else None)
    lines = lines_of(data, encoding, mapping.skip if mapping else 0)
    first = next(lines, None)
    if first is None:
        raise FileRefused("the file holds no line.")
    delimiter = (mapping.delimiter if mapping else None) or delimiter_of(first[1])
    header = cells_of(first[1], delimiter)
    if mapping is None:
        mapping = plain_map(header, river_zone=gauge.zone, river_zone_words=gauge.zone_words)
    layout = _layout(header, mapping, gauge)
    reading = _Reading(layout=layout, delimiter=delimiter, gauge=gauge)
    if not mapping.has_header:
        reading.take(*first)
    for line, text in lines:
        reading.take(line, text)
    return reading.table(header, encoding)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """Where one value stands and how it becomes ours."""

    place: int
    convert: Callable[[float], float]
    limits: Limits
    missing_below: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """Where everything stands, by position from 0."""

    mapping: ColumnMap
    time: tuple[int, ...]
    values: tuple[_Cell, ...]
    only: tuple[tuple[int, str], ...]
    width: int
    number: re.Pattern[str]
    missing: frozenset[str]
    missing_numbers: frozenset[float]


def _layout(header: list[str], mapping: ColumnMap, gauge: GaugeFacts) -> _Layout:
    def position(column: Column) -> int:
        return _position(column, header, mapping.has_header)

    values = []
    for value in mapping.values:
        try:
            convert = to_ours(value.measure, gauge.catchment_km2)
        except ValueError as error:
            raise FileRefused(str(error)) from error
        below = -math.inf if value.missing_below is None else value.missing_below
        values.append(
            _Cell(
                place=position(value.column),
                convert=convert,
                limits=gauge.limits[value.measure.quantity],
                missing_below=below,
            )
        )
    numbers = [_plain_number(code, mapping.decimal) for code in mapping.missing]
    return _Layout(
        mapping=mapping,
        time=tuple(position(column) for column in mapping.time),
        values=tuple(values),
        only=tuple((position(column), value) for column, value in mapping.only),
        width=len(header),
        number=_number_pattern(mapping),
        missing=frozenset(("", *mapping.missing)),
        missing_numbers=frozenset(number for number in numbers if number is not None),
    )


def _position(column: Column, header: list[str], has_header: bool) -> int:
    met = ", ".join(repr(shortened(name, 30)) for name in header[:12])
    if isinstance(column, int):
        if column > len(header):
            raise FileRefused(f"column {column} is wanted; the file has {len(header)}: {met}.")
        return column - 1
    if not has_header:
        raise FileRefused(f"column {column!r} has a name, but the map says header = false.")
    exact = [place for place, name in enumerate(header) if name == column]
    folded = [place for place, name in enumerate(header) if name.casefold() == column.casefold()]
    found = exact or folded
    if not found:
        raise FileRefused(f"column {column!r} is missing; the file has {met}.")
    if len(found) > 1:
        places = ", ".join(str(place + 1) for place in found)
        raise FileRefused(
            f"column {column!r} stands more than once, at positions {places}; name one by position."
        )
    return found[0]


def _number_pattern(mapping: ColumnMap) -> re.Pattern[str]:
    """Return the one way a number may be written; float() alone would take nan, inf and 1_000."""
    decimal = re.escape(mapping.decimal)
    whole = r"\d+"
    if mapping.thousands:
        whole = rf"(?:\d{{1,3}}(?:{re.escape(mapping.thousands)}\d{{3}})+|\d+)"
    return re.compile(rf"[+-]?(?:{whole}(?:{decimal}\d*)?|{decimal}\d+)(?:[eE][+-]?\d+)?", re.ASCII)


def _plain_number(text: str, decimal: str) -> float | None:
    try:
        return float(text.replace(decimal, "."))
    except ValueError:
        return None


class _Reading:
    """One pass over the lines."""

    def __init__(self, *, layout: _Layout, delimiter: str, gauge: GaugeFacts) -> None:
        self.layout = layout
        self.delimiter = delimiter
        self.gauge = gauge
        self.rows: list[Row] = []
        self.bad: list[BadRow] = []
        self.empty = 0
        self.below = 0  # values that the map says are faults of the instrument
        self.passed_over = 0
        self.seen: dict[datetime, Row] = {}

    def take(self, line: int, text: str) -> None:
        """Read one line into a row, or keep why it is bad."""
        try:
            row = self._row(line, text)
        except ValueError as error:
            self.bad.append(BadRow(line=line, why=str(error).rstrip(".")))
            if len(self.bad) >= (MOST_BAD if self.rows else MOST_BAD_FIRST):
                raise FileRefused(
                    f"{len(self.bad):,} rows are bad and {len(self.rows):,} good so far; "
                    f"line {self.bad[0].line}: {self.bad[0].why}."
                ) from error
            return
        if row is None:
            return
        if len(self.rows) >= MOST_ROWS:
            raise FileRefused(f"the file holds more than {MOST_ROWS:,} rows; split it.")
        self.rows.append(row)

    def _row(self, line: int, text: str) -> Row | None:
        layout = self.layout
        if "\x00" in text:
            raise ValueError("the line holds a NUL byte")
        cells = cells_of(text, self.delimiter)
        if any(place >= len(cells) or cells[place] != value for place, value in layout.only):
            self.passed_over += 1
            return None
        if len(cells) > layout.width and any(cells[layout.width :]):
            hint = "; is a decimal comma among them?" if self.delimiter == "," else ""
            raise ValueError(f"{len(cells)} fields where the first line has {layout.width}{hint}")
        needed = max(*layout.time, *(cell.place for cell in layout.values))
        if needed >= len(cells):
            raise ValueError(f"{len(cells)} fields where {needed + 1} are needed")
        written = " ".join(cells[place] for place in layout.time)
        observed_at = moment_of(written, layout.mapping.clock)
        late = moment_refusal(observed_at, self.gauge.at)
        if late:
            raise ValueError(late)
        values = tuple(self._value(cells[cell.place], cell) for cell in layout.values)
        row = Row(line=line, observed_at=observed_at, values=values)
        self._check_twice(row)
        if all(value is None for value in values):
            self.empty += 1
            return None
        return row

    def _value(self, text: str, cell: _Cell) -> float | None:
        layout = self.layout
        if text in layout.missing:
            return None
        mapping = layout.mapping
        plain = text
        if mapping.thousands == " ":
            plain = "".join(" " if letter in SPACES else letter for letter in text)
        if not layout.number.fullmatch(plain):
            raise ValueError(self._not_a_number(text, cell.limits))
        plain = plain.replace(mapping.thousands, "") if mapping.thousands else plain
        number = float(plain.replace(mapping.decimal, "."))
        if number in layout.missing_numbers:
            return None
        if number < cell.missing_below:
            self.below += 1
            return None
        value = cell.convert(number)
        why = cell.limits.refusal(value)
        if why:
            raise ValueError(why if math.isfinite(value) else f"{shortened(text)}: {why}")
        return value

    def _not_a_number(self, cell: str, limits: Limits) -> str:
        hint = ""
        if self.layout.mapping.decimal == "." and re.fullmatch(r"[+-]?\d+,\d+", cell, re.ASCII):
            hint = '; with a decimal comma, say decimal = "," in the map'
        return f"{limits.what} is {shortened(cell)!r}, which is not a number{hint}"

    def _check_twice(self, row: Row) -> None:
        before = self.seen.setdefault(row.observed_at, row)
        if before is row:
            return
        for one, other in zip(before.values, row.values, strict=True):
            if None not in (one, other) and one != other:
                raise ValueError(
                    f"the moment of line {before.line} again, with another value "
                    f"({other:g}, there {one:g})"
                )
        if None in before.values:
            both = zip(before.values, row.values, strict=True)
            values = tuple(other if one is None else one for one, other in both)
            self.seen[row.observed_at] = replace(before, values=values)

    def table(self, header: list[str], encoding: str) -> RowTable:
        """Return what was read, with what was understood."""
        return RowTable(
            quantities=tuple(value.measure.quantity for value in self.layout.mapping.values),
            rows=tuple(self.rows),
            bad=tuple(self.bad),
            empty=self.empty,
            passed_over=self.passed_over,
            understood=tuple(self._understood(header, encoding)),
        )

    def _understood(self, header: list[str], encoding: str) -> Iterator[str]:
        mapping = self.layout.mapping
        name = encoding.removesuffix("-sig").upper()
        yield f"text in {name}, columns cut at {self.delimiter!r}, decimal {mapping.decimal!r}"
        written = {"iso": "year first", "day first": "day first"}
        how = written.get(mapping.clock.written, mapping.clock.written)
        times = " and ".join(str(column) for column in mapping.time)
        yield f"time: column {times}, {how}, {mapping.clock.zone_words} where none is written"
        for value in mapping.values:
            below = value.missing_below
            fault = "" if below is None else f", taken as missing below {below:g}"
            yield f"{value.measure.words}: column {value.column}{fault}"
        if self.below:
            yield f"{self.below} values lie below and are taken as missing"
        used = {*self.layout.time, *(cell.place for cell in self.layout.values)}
        used |= {place for place, _ in self.layout.only}
        left = [
            shortened(name or "(no name)", 30) for i, name in enumerate(header) if i not in used
        ]
        if left and mapping.has_header:
            yield f"not used: {', '.join(left[:12])}"
        yield from _span_words([row.observed_at for row in self.rows])


def _span_words(moments: list[datetime]) -> Iterator[str]:
    if not moments:
        return
    yield f"from {min(moments):%Y-%m-%d %H:%M} to {max(moments):%Y-%m-%d %H:%M} UTC"
    step = usual_step(moments)
    if step is not None:
        yield f"most often {step / timedelta(minutes=1):g} minutes apart"


def usual_step(moments: Iterable[datetime]) -> timedelta | None:
    """Return the step that moments most often have, or None with fewer than two of them."""
    steps = Counter(later - earlier for earlier, later in pairwise(sorted(set(moments))))
    return steps.most_common(1)[0][0] if steps else None
