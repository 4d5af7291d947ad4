"""From a price list to the lines of an offer: values in, values out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from guiding.money import NOUGHT, tax_within, to_money


@dataclass(frozen=True, slots=True, kw_only=True)
class LineWanted:
    """One line as it will be sold; amounts have the tax in them."""

    kind: str
    words: str
    quantity: int
    unit_amount: Decimal
    date: date | None = None
    part: str = ""
    is_passed_on: bool = False
    owner: str = ""
    tax_treatment: str = "not_registered"
    tax_percent: Decimal = NOUGHT
    tax_point: str = "fished"

    @property
    def amount(self) -> Decimal:
        """Return what the line comes to."""
        return to_money(self.unit_amount * self.quantity)

    @property
    def tax_amount(self) -> Decimal:
        """Return the tax within it; what is passed on for an owner carries none of ours."""
        return NOUGHT if self.is_passed_on else tax_within(self.amount, self.tax_percent)


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceOnFile:
    """One line of the price list. `water` is empty where it holds for every water."""

    kind: str
    words: str
    per: str
    amount: Decimal
    water: str
    part: str
    first_date: date
    last_date: date
    is_always: bool
    is_passed_on: bool
    owner: str
    tax_treatment: str
    tax_percent: Decimal
    tax_point: str

    def fits(self, water: str, day: date, part: str) -> bool:
        """Say whether it holds for a part of a day on a water."""
        return (
            self.water in ("", water)
            and self.part in ("", part)
            and self.first_date <= day <= self.last_date
        )

    @property
    def narrowness(self) -> tuple[bool, bool, int]:
        """Return how much it is made for one case: water, then part, then the shortest season."""
        season_days = (self.last_date - self.first_date).days
        return (self.water != "", self.part != "", -season_days)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartyCount:
    """How many there are of each in a party: who shares is a person and not a rod."""

    rods: int
    sharers: int
    people: int


def lines_for(
    prices: Sequence[PriceOnFile],
    *,
    water: str,
    days: Sequence[tuple[date, str]],
    party: PartyCount,
    wants: Sequence[str] = (),
) -> tuple[LineWanted, ...]:
    """Return the lines of an offer, one a price and part, day or trip.

    For each kind the narrowest price that fits is taken. `wants` names the kinds and words that are
    not on every booking. A guest or payer makes no line of a rod.
    """
    lines: list[LineWanted] = []
    seen: set[tuple[str, str, date | None, str]] = set()
    for day, part in sorted(set(days)):
        for price in _narrowest(prices, water, day, part, wants):
            quantity = _quantity(price, party)
            line = _line(price, day, part, quantity)
            once = (price.kind, price.words, line.date, line.part)
            if quantity and once not in seen:
                seen.add(once)
                lines.append(line)
    return tuple(lines)


def total_of(lines: Sequence[LineWanted]) -> Decimal:
    """Return what the lines come to."""
    return sum((line.amount for line in lines), NOUGHT)


def _narrowest(
    prices: Sequence[PriceOnFile], water: str, day: date, part: str, wants: Sequence[str]
) -> list[PriceOnFile]:
    best: dict[tuple[str, str], PriceOnFile] = {}
    for price in prices:
        if not price.fits(water, day, part):
            continue
        if not price.is_always and price.kind not in wants and price.words not in wants:
            continue
        # what is not on every booking stands for itself; of the rest one a kind is taken
        key = (price.kind, "" if price.is_always else price.words)
        if key not in best or price.narrowness > best[key].narrowness:
            best[key] = price
    return list(best.values())


def _quantity(price: PriceOnFile, party: PartyCount) -> int:
    if price.kind == "rod":
        people = party.rods
    elif price.kind == "sharing":
        people = party.sharers
    else:
        people = party.people
    if price.per in ("party_part", "party_day", "trip"):
        return 1
    return party.rods if price.per == "rod_part" and price.kind != "sharing" else people


def _line(price: PriceOnFile, day: date, part: str, quantity: int) -> LineWanted:
    by_part = price.per in ("rod_part", "person_part", "party_part")
    by_day = price.per in ("person_day", "party_day")
    return LineWanted(
        kind=price.kind,
        words=price.words,
        quantity=quantity,
        unit_amount=price.amount,
        date=day if by_part or by_day else None,
        part=part if by_part else "",
        is_passed_on=price.is_passed_on,
        owner=price.owner,
        tax_treatment=price.tax_treatment,
        tax_percent=price.tax_percent,
        tax_point=price.tax_point,
    )
