"""A small table as text -> rows with their line numbers; nothing is guessed, nothing passed over.

A schedule with one line lost is a wave nobody gets out for. So a file is taken whole or not at
all, and every line that is wrong is named.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import TypeVar

MOST_BYTES = 200_000
MOST_LINES = 3000
MOST_IN_A_LINE = 500
MOST_TOLD = 20
FIRST_YEAR, LAST_YEAR = 2000, 2100
DELIMITERS = (",", ";", "\t")

Value = TypeVar("Value")


class TableRefused(ValueError):
    """The text is not taken; `problems` names each with its line. Its own words are one line."""

    def __init__(self, problems: Sequence[str]) -> None:
        more = len(problems) - 1
        tail = f" (and {more} more {'problem' if more == 1 else 'problems'})" if more else ""
        super().__init__(f"{problems[0]}{tail}")
        self.problems = tuple(problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One row of the table: its number in the text, and its cells by column."""

    number: int
    cells: dict[str, str]


def text_of(data: bytes) -> str:
    """Return a file's text; TableRefused where it is too long, or no text in UTF-8."""
    if len(data) > MOST_BYTES:
        raise TableRefused([f"the file has more than {MOST_BYTES:,} bytes; send a shorter one."])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise TableRefused(
            [f"the file is not text in UTF-8 (byte {error.start}); save it as CSV in UTF-8."]
        ) from error
    if re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text):
        raise TableRefused(["the file holds control characters; it is no CSV text."])
    return text


def lines_of(text: str, *, needed: tuple[str, ...], allowed: tuple[str, ...]) -> list[Line]:
    """Return the rows under a header that names the columns, in any order and case.

    Empty lines, and lines that begin with #, are passed over; nothing else is.
    """
    numbered = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.startswith("#")
    ]
    if not numbered:
        raise TableRefused([f"nothing stands there; the first line names {', '.join(allowed)}."])
    if len(numbered) > MOST_LINES:
        raise TableRefused([f"{len(numbered):,} lines stand there; at most {MOST_LINES:,}."])
    for number, line in numbered:
        if len(line) > MOST_IN_A_LINE:
            raise TableRefused([f"line {number}: has more than {MOST_IN_A_LINE} characters."])
    delimiter = max(DELIMITERS, key=numbered[0][1].count)
    columns = _columns(*numbered[0], delimiter, needed, allowed)
    problems, rows = [], []
    for number, line in numbered[1:]:
        try:
            cells = _cells(line, delimiter)
        except ValueError as error:
            problems.append(f"line {number}: {error}")
            continue
        if len(cells) != len(columns):
            problems.append(
                f"line {number}: has {len(cells)} cells; the header names {len(columns)} columns."
            )
            continue
        rows.append(Line(number=number, cells=dict(zip(columns, cells, strict=True))))
    if problems:
        raise TableRefused(problems)
    if not rows:
        raise TableRefused(["a header stands there and no line under it."])
    return rows


def _columns(
    number: int, line: str, delimiter: str, needed: tuple[str, ...], allowed: tuple[str, ...]
) -> list[str]:
    try:
        columns = [cell.casefold() for cell in _cells(line, delimiter)]
    except ValueError as error:
        raise TableRefused([f"line {number}: {error}"]) from error
    problems = [
        f"line {number}: column {name!r} is not known; allowed are {', '.join(allowed)}."
        for name in columns
        if name not in allowed
    ]
    problems += [
        f"line {number}: column {name!r} is missing; the first line names {', '.join(allowed)}."
        for name in needed
        if name not in columns
    ]
    if len(set(columns)) < len(columns):
        problems.append(f"line {number}: a column stands there twice.")
    if problems:
        raise TableRefused(problems)
    return columns


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        cells = next(csv.reader([line], delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise ValueError(f"cannot be cut into columns ({error}).") from error
    return [cell.strip() for cell in cells]


def read_each(lines: Sequence[Line], read: Callable[[Line], Value]) -> list[tuple[Line, Value]]:
    """Return what each line says; TableRefused with every line that says nothing usable."""
    problems, good = [], []
    for line in lines:
        try:
            good.append((line, read(line)))
        except ValueError as error:
            problems.append(f"line {line.number}: {error}")
    if problems:
        raise TableRefused(problems)
    return good


def day_in(text: str) -> date:
    """Read a date, year first; any other way round is refused."""
    refused = ValueError(f"date is {text!r}; write it as 2026-11-26.")
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII):
        raise refused
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise refused from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f"date is {text!r}; allowed are the years {FIRST_YEAR} to {LAST_YEAR}.")
    return day


def clock_in(text: str, column: str, *, may_be_24: bool = False) -> time:
    """Read a clock time of 24 hours; 24:00, where an end may be it, is the next midnight."""
    refused = ValueError(f"{column} is {text!r}; write it as 07:30, by the 24-hour clock.")
    if may_be_24 and text == "24:00":
        return time(0, 0)
    if not re.fullmatch(r"\d{1,2}:\d\d(:00)?", text, re.ASCII):
        raise refused
    hour, minute = (int(part) for part in text.split(":")[:2])
    if hour > 23 or minute > 59:
        raise refused
    return time(hour, minute)


def plain_text(text: str, column: str, longest: int) -> str:
    """Read a short text."""
    if len(text) > longest:
        raise ValueError(f"{column} has {len(text)} characters; at most {longest}.")
    if any(not sign.isprintable() for sign in text):
        raise ValueError(f"{column} holds a control character.")
    return text
