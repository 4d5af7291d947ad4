"""What it costs to call a trip off: terms, lines and a moment in, amounts out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from guiding.money import NOUGHT, percent_of, share_out


@dataclass(frozen=True, slots=True, kw_only=True)
class TermRow:
    """From so many days before the first day on, for one reason: the share that is kept."""

    reason: str
    from_days: int
    keep_percent: Decimal
    permit_borne_by: str  # client or house
    may_move: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SoldLine:
    """One line as it was sold, with the tax in it."""

    words: str
    amount: Decimal
    is_passed_on: bool = False
    owner: str = ""
    # of what was passed on for an owner, the share that comes back if it is handed back today
    comes_back_percent: Decimal = NOUGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class CancelQuestion:
    """Everything that decides. Amounts to the penny; `paid_amount` is what came in so far."""

    reason: str
    at: datetime
    first_date: date
    zone: ZoneInfo
    lines: tuple[SoldLine, ...]
    paid_amount: Decimal
    terms: tuple[TermRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CancelCost:
    """What is kept of each line, and what follows for the money. None of it where not known."""

    reason: str
    days_to_go: int
    is_known: bool
    why: str
    may_move: bool
    permit_borne_by: str
    kept: tuple[Decimal, ...]  # a line, in the order of the lines
    total_amount: Decimal
    kept_amount: Decimal
    # what the owners keep and we must bear ourselves
    house_bears_amount: Decimal
    refund_amount: Decimal
    still_due_amount: Decimal


def days_to_go(at: datetime, first_date: date, zone: ZoneInfo) -> int:
    """Return the calendar days from the moment, by the river's calendar, to the first day.

    A day is a date and not 24 hours: the nights on which clocks change count as any other.
    """
    if at.tzinfo is None:
        raise ValueError(f"at is {at}, without a zone; an aware moment is needed.")
    return (first_date - at.astimezone(zone).date()).days


def row_for(terms: Sequence[TermRow], reason: str, days: int) -> TermRow | None:
    """Return the row that decides: of those for the reason, the most days that have been reached.

    After the first day has come, the row from nought days decides.
    """
    reached = [row for row in terms if row.reason == reason and row.from_days <= max(days, 0)]
    return max(reached, key=lambda row: row.from_days, default=None)


def cancel_cost(asked: CancelQuestion) -> CancelCost:
    """Return what is kept and what goes back if the trip is called off now for this reason.

    Of our own lines the share of the terms is kept, split over the lines so that they add up. What
    was passed on for an owner is kept only as far as it does not come back and the client bears it.
    Where no term covers the case nothing is known, and nothing is assumed.
    """
    days = days_to_go(asked.at, asked.first_date, asked.zone)
    total = sum((line.amount for line in asked.lines), NOUGHT)
    row = row_for(asked.terms, asked.reason, days)
    if row is None:
        return _not_known(asked, days, total)
    lost = [_lost_to_owner(line) for line in asked.lines]
    own = [NOUGHT if line.is_passed_on else line.amount for line in asked.lines]
    own_kept = percent_of(sum(own, NOUGHT), row.keep_percent)
    shares = share_out(own_kept, own) if sum(own, NOUGHT) > 0 else (NOUGHT,) * len(own)
    client_bears = row.permit_borne_by == "client"
    kept = tuple(
        (gone if client_bears else NOUGHT) if line.is_passed_on else share
        for line, share, gone in zip(asked.lines, shares, lost, strict=True)
    )
    kept_amount = sum(kept, NOUGHT)
    return CancelCost(
        reason=asked.reason,
        days_to_go=days,
        is_known=True,
        why=_why(row, days),
        may_move=row.may_move,
        permit_borne_by=row.permit_borne_by,
        kept=kept,
        total_amount=total,
        kept_amount=kept_amount,
        house_bears_amount=NOUGHT if client_bears else sum(lost, NOUGHT),
        refund_amount=max(asked.paid_amount - kept_amount, NOUGHT),
        still_due_amount=max(kept_amount - asked.paid_amount, NOUGHT),
    )


def _lost_to_owner(line: SoldLine) -> Decimal:
    """Return what the owner keeps of a line that was passed on."""
    if not line.is_passed_on:
        return NOUGHT
    return line.amount - percent_of(line.amount, line.comes_back_percent)


def _why(row: TermRow, days: int) -> str:
    if days < 0:
        when = f"{-days} days after the first day"
    elif days == 0:
        when = "on the first day"
    else:
        when = f"{days} day{'' if days == 1 else 's'} before the first day"
    return (
        f"Called off {when}: the term from {row.from_days} days holds, and "
        f"{row.keep_percent.normalize():f} % of our own price is kept."
    )


def _not_known(asked: CancelQuestion, days: int, total: Decimal) -> CancelCost:
    return CancelCost(
        reason=asked.reason,
        days_to_go=days,
        is_known=False,
        why=f"No term is on file for {asked.reason} {days} days ahead: decide by hand.",
        may_move=False,
        permit_borne_by="not_known",
        kept=(NOUGHT,) * len(asked.lines),
        total_amount=total,
        kept_amount=NOUGHT,
        house_bears_amount=NOUGHT,
        refund_amount=NOUGHT,
        still_due_amount=NOUGHT,
    )
