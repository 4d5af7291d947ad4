"""What an agency told, in our names and units: readings, what was refused, what a series is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from guiding.gauges.providers.shapes import ShapeChanged, number_of, shown

Units = Mapping[str, Mapping[str, str]]  # our quantity: their unit: what to multiply by


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One series we want, or the place for which we want the weather."""

    series: str
    quantity: str
    station: str = ""
    unit: str = ""  # theirs, as it was confirmed
    latitude: float = 0.0
    longitude: float = 0.0
    altitude_m: float | None = None


class Missing(Exception):
    """The row is there and says that nothing was measured, which is not nought."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One reading. `code` is the agency's own word on its quality, kept as it came."""

    observed_at: datetime
    value: float
    code: str = ""
    is_suspect: bool = False  # says the agency


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """One row that cannot be read, and why; `raw` is what was met."""

    place: str
    why: str
    raw: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesTold:
    """All rows of one series in one answer. `missing`: rows that say nothing was measured."""

    wanted: Wanted
    told: tuple[Told, ...]
    refused: tuple[Refused, ...] = ()
    missing: int = 0

    @property
    def rows(self) -> int:
        """Return how many rows were met."""
        return len(self.told) + len(self.refused) + self.missing


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesFacts:
    """What a series is, as its agency says: another unit or datum makes it another series."""

    wanted: Wanted
    unit: str
    name: str = ""
    datum: str = ""
    step_minutes: int | None = None  # None: the agency does not say
    begins_at: datetime | None = None


def gathered(
    wanted: Wanted, rows: Iterable[tuple[str, Any]], read: Callable[[Any, Wanted], Told]
) -> SeriesTold:
    """Read rows one by one, each named by its place: bad ones are put aside with their reason.

    ShapeChanged where there are rows and none can be read: then it is not the rows.
    """
    told, refused, missing = [], [], 0
    for place, row in rows:
        try:
            told.append(read(row, wanted))
        except Missing:
            missing += 1
        except (ValueError, TypeError, KeyError) as error:
            refused.append(Refused(place=place, why=str(error)[:200], raw=shown(row)))
    if refused and not told and not missing:
        why = refused[0].why
        raise ShapeChanged(f"none of {len(refused)} rows can be read; {refused[0].place}: {why}")
    return SeriesTold(wanted=wanted, told=tuple(told), refused=tuple(refused), missing=missing)


def factor(units: Units, quantity: str, unit: Any, where: str) -> Decimal:
    """Return what turns their unit into ours; only the units on the list are known."""
    known = units.get(quantity, {})
    if not isinstance(unit, str) or unit not in known:
        allowed = " or ".join(repr(name) for name in known)
        raise ShapeChanged(f"{where} is {shown(unit)}; {allowed or 'nothing'} is what is known")
    return Decimal(known[unit])


def in_our_unit(value: Any, by: Decimal, *, is_text: bool = False) -> float:
    """Return a number as sent, in our unit; exact in decimals."""
    number = number_of(value, is_text=is_text)
    return number if by == 1 else float(Decimal(str(number)) * by)
