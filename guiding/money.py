"""Exact money: the one place where an amount is rounded, and where one is shared out."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

PENNY = Decimal("0.01")
NOUGHT = Decimal("0.00")
LARGEST = Decimal("99999999.99")  # what an amount column holds


def to_money(amount: Decimal) -> Decimal:
    """Round to the penny, half a penny away from nought.

    Raises
    ------
    ValueError
        if the amount is not a finite number, or larger than a column holds.
    """
    if not isinstance(amount, Decimal) or not amount.is_finite():
        raise ValueError(f"amount is {amount!r}; a finite Decimal is needed.")
    rounded = amount.quantize(PENNY, rounding=ROUND_HALF_UP)
    if abs(rounded) > LARGEST:
        raise ValueError(f"amount is {amount}; at most {LARGEST} either way can be kept.")
    return rounded + NOUGHT  # a negative nought becomes a plain one


def percent_of(amount: Decimal, percent: Decimal) -> Decimal:
    """Return so many percent of an amount, to the penny."""
    return to_money(amount * percent / 100)


def tax_within(gross: Decimal, percent: Decimal) -> Decimal:
    """Return the tax that an amount with tax in it holds, to the penny."""
    return to_money(gross * percent / (100 + percent))


def share_out(amount: Decimal, weights: Sequence[Decimal | int]) -> tuple[Decimal, ...]:
    """Split an amount by weights so that the parts add up to it, to the penny.

    Each part is rounded towards nought first; the pennies left over go to the parts that lost most,
    the earlier one first where two lost alike.

    Raises
    ------
    ValueError
        if there is no weight, one is negative, or all are nought.
    """
    shares = [Decimal(weight) for weight in weights]
    total = sum(shares, NOUGHT)
    if not shares or min(shares) < 0 or total == 0:
        raise ValueError(f"weights are {list(weights)}; some above nought, none below, are needed.")
    pennies = int(to_money(amount) / PENNY)
    sign, left = (1, pennies) if pennies >= 0 else (-1, -pennies)
    exact = [left * share / total for share in shares]
    parts = [int(value) for value in exact]
    losers = sorted(range(len(parts)), key=lambda n: (parts[n] - exact[n], n))
    for n in losers[: left - sum(parts)]:
        parts[n] += 1
    return tuple(sign * part * PENNY + NOUGHT for part in parts)
