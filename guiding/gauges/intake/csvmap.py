"""A column map: which column of a file holds the time, which the values, and how they are written.

The rows themselves are read by csvrows.
"""

from __future__ import annotations

import codecs
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from guiding.gauges.intake.csvtimes import FOLDS, Clock, zone_named
from guiding.gauges.intake.csvunits import PLAIN_NAMES, QUANTITIES, Measure, measure_of

TIME_NAMES = ("time", "t", "datetime", "date_time", "date", "timestamp", "observed_at")
DELIMITERS = (",", ";", "\t", "|")
ENCODINGS = ("utf-8", "utf-16", "ascii", "iso8859-", "cp125", "cp437", "cp850", "mac-roman")
THOUSANDS = (".", ",", " ", "'")

FORM = """\
A column map is a TOML file. [time] stands once, [[value]] for each column that is wanted.

delimiter = ";"        , ; | or a tab; left out: found out from the first line
decimal = ","          , or . ; left out: .
thousands = "."        . , ' or a space; left out: none
missing = ["-9999", "---"]   what stands for no value; an empty cell always does
encoding = "cp1252"    left out: UTF-8 (or UTF-16 where the file begins with its mark)
header = true          false: no names in the first line, columns are given by position
skip = 0               lines above the header

[time]
column = "t"           a name, a position from 1, or two of them: ["date", "clock"]
zone = "UTC"           UTC, a fixed offset such as +01:00, or a name such as Europe/London;
                       left out: the river's own zone. An offset in the cell itself wins.
day_first = true       20.05.2026 18:30; left out: ISO 8601, 2026-05-20 18:30
format = "%Y%m%d%H"    instead of day_first, any other way
fold = "first"         which moment a time in the repeated hour of autumn is: first or second;
                       left out: such rows are rejected

[[value]]
column = "Q"           a name, or a position from 1
quantity = "flow"      level, flow, rain, water, air, visibility or turbidity
unit = "m3/s"          level: m, cm, mm, ft; flow: m3/s, l/s, mm/d, mm/h (with the gauge's
                       catchment_km2); rain: mm, in; water and air: C, F; visibility: cm, m;
                       turbidity: NTU, FNU
missing_below = 0.0    what reads lower is a fault of the instrument, and taken as missing;
                       left out: a value that cannot be makes its row bad

[only]                 rows to take, where a file holds more than one gauge
station = "Home"       column = "what stands in it"

Without a map the header must name the time (time, t, datetime, date_time, date, timestamp or
observed_at) and each value with its unit: level_m, level_cm, level_mm, level_ft, flow_m3s,
flow_ls, rain_mm, water_c, water_f, air_c, air_f, visibility_cm, visibility_m,
turbidity_ntu, turbidity_fnu.
"""

Column = str | int


class FileRefused(ValueError):
    """A file or its map that cannot be understood as a whole; nothing of it is stored."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueColumn:
    """One column of values."""

    column: Column
    measure: Measure
    missing_below: float | None = None  # in the file's own unit


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMap:
    """How a file is to be read. None: left to what the file itself shows."""

    time: tuple[Column, ...]
    clock: Clock
    values: tuple[ValueColumn, ...]
    delimiter: str | None = None
    decimal: str = "."
    thousands: str = ""
    missing: tuple[str, ...] = ()
    encoding: str | None = None
    has_header: bool = True
    skip: int = 0
    only: tuple[tuple[Column, str], ...] = ()


def read_map(document: dict[str, Any], *, river_zone: tzinfo, river_zone_words: str) -> ColumnMap:
    """Check a parsed map; FileRefused names everything in it that is not allowed."""
    reader = _MapReader(document)
    read = ColumnMap(
        time=reader.time_columns(),
        clock=reader.clock(river_zone, river_zone_words),
        values=reader.values(),
        delimiter=reader.one_of("delimiter", DELIMITERS, None),
        decimal=reader.one_of("decimal", (".", ","), ".") or ".",
        thousands=reader.one_of("thousands", THOUSANDS, "") or "",
        missing=reader.missing(),
        encoding=reader.encoding(),
        has_header=reader.yes_no(document, "header", True),
        skip=reader.skip(),
        only=reader.only(),
    )
    if read.decimal == read.thousands:
        reader.problems.append(f"decimal and thousands are both {read.decimal!r}")
    if read.delimiter is not None and read.delimiter == read.decimal == ",":
        reader.problems.append("delimiter and decimal are both a comma")
    if reader.problems:
        raise FileRefused("the map: " + "; ".join(reader.problems))
    return read


def plain_map(header: Sequence[str], *, river_zone: tzinfo, river_zone_words: str) -> ColumnMap:
    """Return the map of a file whose header says everything; else FileRefused with what it says."""
    names = [name.strip() for name in header]
    times = [name for name in names if name.casefold() in TIME_NAMES]
    values = tuple(
        ValueColumn(column=name, measure=Measure(quantity=quantity, unit=unit))
        for name in names
        if name.casefold() in PLAIN_NAMES
        for quantity, unit in [PLAIN_NAMES[name.casefold()]]
    )
    if len(times) != 1 or not values:
        met = ", ".join(repr(shortened(name, 30)) for name in names[:12])
        more = f" and {len(names) - 12} more" if len(names) > 12 else ""
        raise FileRefused(
            f"the first line names the columns {met}{more}; without a map it must name one time "
            f"({', '.join(TIME_NAMES)}) and values with their unit (such as level_m, flow_m3s, "
            "rain_mm, water_c, air_c). Give a map with --map: a [time] with its column and zone, "
            "and a [[value]] with column, quantity and unit for each."
        )
    quantities = [value.measure.quantity for value in values]
    if len(set(quantities)) < len(quantities):
        told = ", ".join(str(value.column) for value in values)
        raise FileRefused(f"the columns {told} give one quantity twice; choose with a map.")
    return ColumnMap(
        time=(times[0],),
        clock=Clock(zone=river_zone, zone_words=river_zone_words),
        values=values,
    )


def shortened(text: str, longest: int = 40) -> str:
    """Return a text that fits in a message."""
    return text if len(text) <= longest else text[: longest - 3] + "..."


class _MapReader:
    """Reads one document and collects what is wrong with it."""

    TOP = (
        *("delimiter", "decimal", "thousands", "missing", "encoding", "header", "skip"),
        *("time", "value", "only"),
    )

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.problems: list[str] = []
        self._known(document, self.TOP, "")
        self.time = self._table("time")
        self._known(self.time, ("column", "zone", "day_first", "format", "fold"), "[time] ")

    def _known(self, table: dict[str, Any], allowed: Sequence[str], where: str) -> None:
        self.problems += [
            f"{where}{key!r} is not known, allowed are {', '.join(allowed)}"
            for key in table
            if key not in allowed
        ]

    def _table(self, name: str) -> dict[str, Any]:
        found = self.document.get(name, {})
        if isinstance(found, dict):
            return found
        self.problems.append(f"{name} is {shortened(repr(found))}, it is a table [{name}]")
        return {}

    def _column(self, value: Any, where: str) -> Column:
        if isinstance(value, str) and value.strip():
            return value.strip()
        if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 10_000:
            return value
        self.problems.append(
            f"{where} column is {shortened(repr(value))}, allowed is a name or a position from 1"
        )
        return 1

    def time_columns(self) -> tuple[Column, ...]:
        found = self.time.get("column")
        if isinstance(found, list) and len(found) == 2:
            return tuple(self._column(column, "[time]") for column in found)
        return (self._column(found, "[time]"),)

    def clock(self, river_zone: tzinfo, river_zone_words: str) -> Clock:
        zone, words = river_zone, river_zone_words
        if "zone" in self.time:
            words = str(self.time["zone"])
            try:
                zone = zone_named(words)
            except ValueError as error:
                self.problems.append(f"[time] {error}")
        fold = self.time.get("fold")
        if fold is not None and str(fold) not in FOLDS:
            self.problems.append(f"[time] fold is {fold!r}, allowed are first and second")
        chosen = FOLDS.get(str(fold))
        return Clock(zone=zone, zone_words=words, written=self._written(), fold=chosen)

    def _written(self) -> str:
        day_first = self.yes_no(self.time, "day_first", False)
        pattern = self.time.get("format", "iso")
        if day_first and pattern != "iso":
            self.problems.append("[time] has both day_first and format, one is enough")
        if day_first:
            return "day first"
        if pattern == "iso":
            return "iso"
        sample = datetime(2026, 5, 20, 18, 30)  # noqa: DTZ001 - only to try the pattern
        try:
            if datetime.strptime(sample.strftime(pattern), pattern).date() == sample.date():  # noqa: DTZ007
                return str(pattern)
        except (TypeError, ValueError):
            pass
        self.problems.append(
            f"[time] format is {shortened(repr(pattern))}, allowed is iso or a pattern with year, "
            "month and day such as %d.%m.%Y %H:%M"
        )
        return "iso"

    def values(self) -> tuple[ValueColumn, ...]:
        found = self.document.get("value")
        rows = [found] if isinstance(found, dict) else found
        if not isinstance(rows, list) or not rows or not all(isinstance(r, dict) for r in rows):
            self.problems.append("no [[value]] with column, quantity and unit is there")
            return ()
        read = []
        for number, row in enumerate(rows, start=1):
            where = f"[[value]] {number}"
            self._known(row, ("column", "quantity", "unit", "missing_below"), f"{where} ")
            column = self._column(row.get("column"), where)
            try:
                measure = measure_of(str(row.get("quantity", "")), str(row.get("unit", "")))
            except ValueError as error:
                self.problems.append(f"{where} {error}")
                continue
            below = self._missing_below(row, where)
            read.append(ValueColumn(column=column, measure=measure, missing_below=below))
        quantities = [value.measure.quantity for value in read]
        for quantity in {q for q in quantities if quantities.count(q) > 1}:
            name = next(name for name, series in QUANTITIES.items() if series == quantity)
            self.problems.append(f"{name} is given by more than one column")
        return tuple(read)

    def _missing_below(self, row: dict[str, Any], where: str) -> float | None:
        found = row.get("missing_below")
        if found is None or (isinstance(found, int | float) and not isinstance(found, bool)):
            return found
        self.problems.append(f"{where} missing_below is {shortened(repr(found))}, it is a number")
        return None

    def one_of(self, key: str, allowed: Sequence[str], default: str | None) -> str | None:
        found = self.document.get(key, default)
        if found == default or found in allowed:
            return str(found) if found is not None else None
        told = ", ".join(repr(choice) for choice in allowed)
        self.problems.append(f"{key} is {shortened(repr(found))}, allowed are {told}")
        return default

    def yes_no(self, table: dict[str, Any], key: str, default: bool) -> bool:
        found = table.get(key, default)
        if isinstance(found, bool):
            return found
        self.problems.append(f"{key} is {shortened(repr(found))}, allowed are true and false")
        return default

    def skip(self) -> int:
        found = self.document.get("skip", 0)
        if isinstance(found, int) and not isinstance(found, bool) and 0 <= found <= 1000:
            return found
        self.problems.append(f"skip is {shortened(repr(found))}, allowed is 0 to 1000")
        return 0

    def missing(self) -> tuple[str, ...]:
        found = self.document.get("missing", [])
        codes = found if isinstance(found, list) else [found]
        if all(isinstance(c, str | int | float) and not isinstance(c, bool) for c in codes):
            return tuple(str(code).strip() for code in codes)
        self.problems.append(f"missing is {shortened(repr(found))}, it is a list of codes")
        return ()

    def encoding(self) -> str | None:
        found = self.document.get("encoding")
        if found is None:
            return None
        try:
            name = codecs.lookup(found).name
        except (LookupError, TypeError, ValueError):
            name = ""
        if name.startswith(ENCODINGS):
            return name
        self.problems.append(
            f"encoding is {shortened(repr(found))}, allowed are utf-8, utf-16, latin-1, cp1252, "
            "the other parts of iso8859 and cp125x, cp437, cp850 and mac-roman"
        )
        return None

    def only(self) -> tuple[tuple[Column, str], ...]:
        return tuple((name, str(value).strip()) for name, value in self._table("only").items())
