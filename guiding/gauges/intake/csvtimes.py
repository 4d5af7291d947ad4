"""The moment in a file's cell -> aware UTC; a time the clocks repeat or skip is never guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

FIRST_YEAR = 1800
DAY_FIRST = re.compile(
    r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})(?:[ T]+(\d{1,2}):(\d{2})(?::(\d{2}))?)?", re.ASCII
)
OFFSET = re.compile(r"([+-])(\d{2}):?(\d{2})", re.ASCII)
FOLDS = {"first": 0, "second": 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """How a file writes its moments.

    `written` is "iso", "day first" or a pattern of %-letters; `fold` chooses among the two moments
    of a repeated hour, None refuses both.
    """

    zone: tzinfo
    zone_words: str
    written: str = "iso"
    fold: int | None = None


def zone_named(text: str) -> tzinfo:
    """Return the zone of a name such as Europe/London, UTC or +01:00."""
    plain = text.strip()
    if plain.upper() in ("UTC", "Z"):
        return UTC
    offset = OFFSET.fullmatch(plain)
    if offset:
        sign, hours, minutes = offset.groups()
        if int(hours) <= 14 and int(minutes) < 60:
            way = timedelta(hours=int(hours), minutes=int(minutes))
            return timezone(-way if sign == "-" else way)
    try:
        return ZoneInfo(plain)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError(
            f"zone is {text!r}; allowed are UTC, a fixed offset such as +01:00, or a name such as "
            "Europe/London"
        ) from error


def moment_of(text: str, clock: Clock) -> datetime:
    """Return the aware UTC moment of a cell; ValueError says what was met.

    An offset written in the cell itself wins over the clock's zone. A date alone is the beginning
    of that day.
    """
    try:
        met = _written(text.strip(), clock.written)
        found = met.astimezone(UTC) if met.tzinfo else _in_zone(met, clock)
    except OverflowError as error:
        raise ValueError(f"{text!r} is no moment") from error
    if found.year < FIRST_YEAR:
        raise ValueError(f"{text!r} lies before {FIRST_YEAR}; no gauge is as old")
    return found


def _written(text: str, written: str) -> datetime:
    if not text:
        raise ValueError("the time is empty")
    shown = text if len(text) <= 40 else text[:37] + "..."
    if written == "iso":
        try:
            return datetime.fromisoformat(text)
        except ValueError as error:
            hint = ""
            if DAY_FIRST.fullmatch(text):
                hint = "; where the day stands first, say day_first = true in the map"
            raise ValueError(f"{shown!r} is no moment written as 2026-05-20 18:30{hint}") from error
    if written == "day first":
        parts = DAY_FIRST.fullmatch(text)
        if parts is None:
            raise ValueError(f"{shown!r} is no moment written as 20.05.2026 18:30")
        day, month, year, hour, minute, second = (int(part or 0) for part in parts.groups())
        try:
            return datetime(year, month, day, hour, minute, second)  # noqa: DTZ001 - the zone comes after
        except ValueError as error:
            raise ValueError(f"{shown!r} is no moment: {error}") from error
    try:
        return datetime.strptime(text, written)  # noqa: DTZ007 - the zone comes after
    except ValueError as error:
        raise ValueError(f"{shown!r} is no moment written as {written}") from error


def _in_zone(met: datetime, clock: Clock) -> datetime:
    """Place a clock time in its zone. The two offsets differ where the clocks change (PEP 495)."""
    first = met.replace(tzinfo=clock.zone, fold=0)
    second = met.replace(tzinfo=clock.zone, fold=1)
    before, after = first.utcoffset(), second.utcoffset()
    if before == after or before is None or after is None:
        return first.astimezone(UTC)
    here = f"{met:%Y-%m-%d %H:%M} in {clock.zone_words}"
    if before < after:
        raise ValueError(f"{here} never was: the clocks were put forward over it")
    if clock.fold is None:
        raise ValueError(
            f"{here} came twice when the clocks were put back; say fold = "
            '"first" or "second" in the map'
        )
    return (second if clock.fold else first).astimezone(UTC)
