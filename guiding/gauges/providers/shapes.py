"""Documents as agencies send them: what is missed is named, and nothing is guessed."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime, tzinfo
from typing import Any

SHOWN = 40  # letters of a met value in a message


class ShapeChanged(ValueError):
    """The document is not in the known shape; the message names the key that was missed."""


def json_of(data: bytes) -> Any:
    """Return the JSON value in these bytes; ShapeChanged where there is none."""
    try:
        text = data.decode("utf-8-sig")
        document = json.loads(
            text,
            parse_constant=_number_text,
            parse_float=_number_text,
            object_pairs_hook=_named_once,
        )
        # a NUL or half a letter is JSON, but no database keeps it
        if "\\u0000" in json.dumps(document, ensure_ascii=False).encode().decode():
            raise ValueError("it holds a NUL")
    except ShapeChanged:
        raise
    except (UnicodeDecodeError, RecursionError, ValueError) as error:
        if data.lstrip()[:1] == b"<":
            raise ShapeChanged("the file is not JSON but a web page") from error
        raise ShapeChanged(f"the file is not JSON: {str(error)[:120]}") from error
    return document


def object_of(value: Any, where: str) -> dict[str, Any]:
    """Return a value that must be an object."""
    if not isinstance(value, dict):
        raise ShapeChanged(f"{where} is not an object but {_kind(value)}")
    return value


def list_of(value: Any, where: str) -> list[Any]:
    """Return a value that must be a list."""
    if not isinstance(value, list):
        raise ShapeChanged(f"{where} is not a list but {_kind(value)}")
    return value


def object_in(parent: dict[str, Any], key: str, where: str) -> dict[str, Any]:
    """Return the object under a key."""
    return object_of(_under(parent, key, where), f"{where}.{key}")


def list_in(parent: dict[str, Any], key: str, where: str) -> list[Any]:
    """Return the list under a key."""
    return list_of(_under(parent, key, where), f"{where}.{key}")


def text_in(parent: dict[str, Any], key: str, where: str) -> str:
    """Return the text under a key, which may not be empty."""
    value = _under(parent, key, where)
    if not isinstance(value, str) or not value:
        raise ShapeChanged(f"{where}.{key} is {shown(value)}; a text is what is known")
    return value


def moment_in(
    parent: dict[str, Any], key: str, where: str, *, zone: tzinfo | None = None
) -> datetime:
    """Return the moment under a key in UTC; `zone` is what the agency declares for naive ones."""
    if key not in parent:
        raise ShapeChanged(f"{where}.{key} is missing; a moment in UTC is what is known")
    try:
        return moment_of(parent[key], zone=zone)
    except ValueError as error:
        raise ShapeChanged(f"{where}.{key} is {error}; a moment in UTC is what is known") from error


def moment_of(value: Any, *, zone: tzinfo | None = None) -> datetime:
    """Return a moment in UTC.

    One without a zone is refused, unless the agency declares one; where it does, one with a zone is
    taken at its own word.
    """
    try:
        if not isinstance(value, str):
            raise ValueError("not a text")
        moment = datetime.fromisoformat(value)
        if moment.tzinfo is None and zone is None:
            raise ValueError("without a zone")
        return (moment if moment.tzinfo else moment.replace(tzinfo=zone)).astimezone(UTC)
    except (ValueError, OverflowError) as error:
        without = " without a zone" if "without a zone" in str(error) else ""
        raise ValueError(f"{shown(value)}{without}") from error


def number_of(value: Any, *, is_text: bool = False) -> float:
    """Return a finite number; ValueError says what was met. `is_text`: sent as a text."""
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if is_text and isinstance(value, str) and value.isascii() and "_" not in value:
        is_number = True
    try:
        number = float(value) if is_number else math.nan
    except (ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number):
        raise ValueError(f"{shown(value)} is not a number")
    return number


def shown(value: Any) -> str:
    """Return a met value as a message may show it."""
    text = repr(value)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}..."


def _under(parent: dict[str, Any], key: str, where: str) -> Any:
    if key not in parent:
        raise ShapeChanged(f"{where}.{key} is missing")
    return parent[key]


def _named_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object; of a key that is there twice nobody can say which value is meant."""
    named: dict[str, Any] = {}
    for key, value in pairs:
        if key in named:
            raise ShapeChanged(f"the key {shown(key)} is there twice in one object; once is known")
        named[key] = value
    return named


def _kind(value: Any) -> str:
    return type(value).__name__


def _number_text(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:SHOWN]} is not a number")
    return number
