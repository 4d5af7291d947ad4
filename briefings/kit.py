"""What each person brings, what we lend in their size, what to buy; and what the guide packs."""

from __future__ import annotations

from dataclasses import dataclass

from guiding.gauges.conditions import Conditions
from guiding.tackle.setup import SetUp


@dataclass(frozen=True, slots=True, kw_only=True)
class LoanStock:
    """One kind and size of loan kit and how many are left for the day."""

    kind: str
    size: str
    smallest_foot_eu: float | None
    largest_foot_eu: float | None
    smallest_height_m: float | None
    largest_height_m: float | None
    left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Guest:
    """What kit depends on. None is not known and becomes a question, never a guess."""

    role: str  # rod, shares, guest
    foot_eu: float | None
    height_m: float | None
    hand: str
    brings: tuple[str, ...]
    is_junior: bool
    units: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KitList:
    """Plain lines for one person, and the loan kit set aside (kind, size)."""

    bring: tuple[str, ...]
    lent: tuple[str, ...]
    buy: tuple[str, ...]
    missing: tuple[str, ...]
    set_aside: tuple[tuple[str, str], ...]


def for_person(
    guest: Guest, stock: tuple[LoanStock, ...], conditions: Conditions | None
) -> KitList:
    """Return one person's kit. `conditions` None: too early to know the day (first issue)."""
    raise NotImplementedError


def for_guide(setups: tuple[SetUp, ...], *, rods: int) -> tuple[str, ...]:
    """Return what the guide packs, counted from set-ups and rods, spares included."""
    raise NotImplementedError
