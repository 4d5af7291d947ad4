"""A water file's document -> checked entries, or every problem in it with its place."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from guiding.gauges.waterfile.form import (
    DAM,
    GAUGE,
    RIVER,
    TABLES,
    TIDE_PLACE,
    WATER,
    Key,
    Table,
)

LONGEST_TEXT = 5000


class WaterFileRefused(ValueError):
    """The file cannot be loaded; `problems` names every one with its place."""

    def __init__(self, problems: list[str]) -> None:
        more = len(problems) - 1
        tail = f" (and {more} more {'problem' if more == 1 else 'problems'})" if more else ""
        super().__init__(problems[0] + tail)
        self.problems = tuple(problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One table of the file, checked: `values` by key, and the entries inside it by table.

    `given` names the keys that stand in the file; the other values are the form's defaults.
    """

    place: str
    values: dict[str, Any]
    given: frozenset[str]
    parts: dict[str, tuple[Entry, ...]]

    @property
    def name(self) -> str:
        """Return the entry's own name."""
        return str(self.values["name"])

    def inside(self, *path: str) -> Iterator[Entry]:
        """Yield the entries down a path of tables: inside("beat", "pool")."""
        for entry in self.parts.get(path[0], ()):
            if len(path) == 1:
                yield entry
            else:
                yield from entry.inside(*path[1:])


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterFile:
    """A whole file, checked."""

    river: Entry
    waters: tuple[Entry, ...]
    gauges: tuple[Entry, ...]
    dams: tuple[Entry, ...]
    tide_places: tuple[Entry, ...]


def read_water_file(document: dict[str, Any]) -> WaterFile:
    """Check each table and key of a parsed document against the form.

    Raises WaterFileRefused with every problem met. What holds between tables is checked by
    waterchecks.
    """
    problems: list[str] = []
    known = [table.name for table in TABLES]
    problems += [
        f"the file: {name!r} is not known; allowed are {', '.join(known)}"
        for name in document
        if name not in known
    ]
    rivers = _entries(RIVER, document.get("river"), "", problems)
    if "river" not in document:
        problems.append("the file: [river] is missing")
    elif len(rivers) != 1 and isinstance(document["river"], list):
        problems.append(f"the file: {len(rivers)} rivers; a file holds one")
    waters = _entries(WATER, document.get("water"), "", problems)
    gauges = _entries(GAUGE, document.get("gauge"), "", problems)
    dams = _entries(DAM, document.get("dam"), "", problems)
    tide_places = _entries(TIDE_PLACE, document.get("tide_place"), "", problems)
    if problems:
        raise WaterFileRefused(problems)
    return WaterFile(
        river=rivers[0], waters=waters, gauges=gauges, dams=dams, tide_places=tide_places
    )


def _entries(table: Table, found: Any, above: str, problems: list[str]) -> tuple[Entry, ...]:
    if found is None:
        return ()
    rows = [found] if isinstance(found, dict) else found
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        problems.append(f"{above or 'the file'}: {table.name} is {_met(found)}; it is a table")
        return ()
    return tuple(_entry(table, row, above, n, problems) for n, row in enumerate(rows, start=1))


def _entry(
    table: Table, row: dict[str, Any], above: str, number: int, problems: list[str]
) -> Entry:
    name = row.get("name")
    called = f" {name!r}" if isinstance(name, str) else ""
    place = f"{table.name} {number}{called}" if table is not RIVER else f"river{called}"
    place = f"{above}, {place}" if above else place
    allowed = [*(key.name for key in table.keys), *(part.name for part in table.parts)]
    problems += [
        f"{place}: {key!r} is not known; allowed are {', '.join(allowed)}"
        for key in row
        if key not in allowed
    ]
    values = {}
    for key in table.keys:
        if key.name not in row:
            values[key.name] = key.default
            if key.is_required:
                problems.append(f"{place}: {key.name} is missing; {key.allowed} is needed")
            continue
        try:
            values[key.name] = _value(key, row[key.name])
        except ValueError as error:
            problems.append(f"{place}: {key.name} {error}")
    if "order" in values and values["order"] is None:
        values["order"] = number
    parts = {part.name: _entries(part, row.get(part.name), place, problems) for part in table.parts}
    return Entry(place=place, values=values, given=frozenset(row), parts=parts)


def _met(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _value(key: Key, value: Any) -> Any:
    """Return a key's value as the row keeps it; ValueError says what was met."""
    refused = ValueError(f"is {_met(value)}; allowed is {key.allowed}")
    if key.kind == "text":
        return _text(key, value, refused)
    if key.kind in ("number", "count"):
        return _figure(key, value, refused)
    if key.kind == "yes_no":
        if not isinstance(value, bool):
            raise refused
        return value
    try:
        return READERS[key.kind](value)
    except (KeyError, ValueError, TypeError, OSError):
        raise refused from None


def _text(key: Key, value: Any, refused: ValueError) -> str:
    if not isinstance(value, str):
        raise refused
    text = value.strip()
    if key.choices and text not in key.choices:
        raise refused
    if key.is_required and not text:
        raise ValueError("is empty; it must say something")
    if re.search(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]", text.replace("\r\n", "\n")):
        raise ValueError(f"holds a control character: {_met(value)}")
    longest = key.longest or LONGEST_TEXT
    if len(text) > longest:
        raise ValueError(f"has {len(text)} characters; at most {longest} are allowed")
    if key.name == "page_url" and text and not re.fullmatch(r"https?://[^\s/]+\.[^\s]+", text):
        raise ValueError(f"is {_met(value)}; allowed is an address that begins with https://")
    return text


def _figure(key: Key, value: Any, refused: ValueError) -> float | int:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refused
    if key.kind == "count" and not isinstance(value, int):
        raise refused
    if isinstance(value, float) and not math.isfinite(value):
        raise refused
    if key.choices and value not in key.choices:
        raise refused
    if key.low is not None and (value < key.low or (value == key.low and not key.low_is_allowed)):
        raise refused
    if key.high is not None and value > key.high:
        raise refused
    return value if key.kind == "count" else float(value)


def _day(value: Any) -> date:
    if isinstance(value, datetime):
        raise ValueError("a moment, not a day")
    return value if isinstance(value, date) else date.fromisoformat(value)


def _clock(value: Any) -> time:
    clock = value if isinstance(value, time) else time.fromisoformat(value)
    if clock.tzinfo is not None or clock.second or clock.microsecond:
        raise ValueError("not a plain clock time")
    return clock


def _month_day(value: Any) -> str:
    if not re.fullmatch(r"\d\d-\d\d", value, re.ASCII):
        raise ValueError("not a month and day")
    date.fromisoformat(f"2024-{value}")  # a leap year, so that 02-29 is a day
    return str(value)


def _zone(value: Any) -> str:
    return ZoneInfo(value).key


READERS = {"day": _day, "clock": _clock, "month_day": _month_day, "zone": _zone}
