"""What a booking does to the ledger: sold, fished, called off. Called inside the caller's act."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import F, Sum

from guiding.bookings.cancellation import CancelCost
from guiding.bookings.models import Booking, BookingLine
from guiding.bookings.pricing import LineWanted, total_of
from guiding.ledger.actions import Move, post
from guiding.ledger.models import Account, Posting, TaxPoint
from guiding.money import NOUGHT, percent_of, share_out, to_money

Kind = Posting.Kind


def keep_lines(booking: Booking, lines: Sequence[LineWanted], *, at: datetime) -> None:
    """Write what the booking is sold at; deposit and dates follow from its terms."""
    BookingLine.objects.bulk_create(
        BookingLine(
            booking=booking,
            kind=line.kind,
            words=line.words,
            date=line.date,
            part=line.part,
            quantity=line.quantity,
            unit_amount=line.unit_amount,
            amount=line.amount,
            is_passed_on=line.is_passed_on,
            owner=line.owner,
            tax_treatment=line.tax_treatment,
            tax_percent=line.tax_percent,
            tax_amount=line.tax_amount,
            tax_point=line.tax_point,
            sold_at=at,
        )
        for line in lines
    )
    booking.total_amount = total_of(lines)
    if booking.terms is not None:
        booking.deposit_amount = percent_of(booking.total_amount, booking.terms.deposit_percent)
        if booking.first_date is not None:
            booking.balance_due_on = booking.first_date - timedelta(days=booking.terms.balance_days)
    Booking.objects.filter(pk=booking.pk).update(
        total_amount=booking.total_amount,
        deposit_amount=booking.deposit_amount,
        balance_due_on=booking.balance_due_on,
    )


def standing_lines(booking: Booking) -> list[BookingLine]:
    """Return the lines a booking stands at: nothing that was taken back, nor what took it back."""
    return list(booking.lines.filter(takes_back=None, taken_back_by=None).order_by("pk"))


def post_sale(booking: Booking, *, at: datetime, who: Any = None) -> None:
    """Owe the client the trip and the client us its price, as it was accepted."""
    lines = standing_lines(booking)
    moves = [_sale_of(booking, line) for line in lines]
    moves += [
        _tax(line, line.tax_amount)
        for line in lines
        if line.tax_point == TaxPoint.SOLD and not line.is_passed_on
    ]
    moves.append(_commission(booking, _commission_on(booking, lines)))
    post(moves, about=booking.about, on=today_of(booking, at), at=at, who=who)
    _owe(booking, sum((line.amount for line in lines), NOUGHT))
    if booking.terms is not None:
        due = today_of(booking, at) + timedelta(days=booking.terms.deposit_days)
        if booking.balance_due_on is not None and booking.balance_due_on < today_of(booking, at):
            booking.balance_due_on = due
        booking.deposit_due_on = due
        Booking.objects.filter(pk=booking.pk).update(
            deposit_due_on=booking.deposit_due_on, balance_due_on=booking.balance_due_on
        )


def post_fished(booking: Booking, *, at: datetime, who: Any = None) -> None:
    """Turn what was sold ahead into sales: the trip was fished."""
    lines = [line for line in standing_lines(booking) if not line.is_passed_on]
    moves = [
        Move(
            debit=Account.SOLD_AHEAD,
            credit=Account.SALES,
            amount=line.amount,
            kind=Kind.FISHED,
            words=line.words,
            **_tax_words(line),
        )
        for line in lines
    ]
    moves += [_tax(line, line.tax_amount) for line in lines if line.tax_point == TaxPoint.FISHED]
    post(moves, about=booking.about, on=today_of(booking, at), at=at, who=who)


def post_tax_as_paid(booking: Booking, *, on: date, at: datetime, who: Any = None) -> None:
    """Bring the tax that falls due as it is paid to the share of the price that is paid."""
    lines = [
        line
        for line in standing_lines(booking)
        if line.tax_point == TaxPoint.PAID and not line.is_passed_on
    ]
    if not lines or booking.total_amount <= 0:
        return
    paid = min(max(paid_for(booking), NOUGHT), booking.total_amount)
    already = _tax_posted(booking, TaxPoint.PAID)
    wanted = to_money(
        sum((line.tax_amount for line in lines), NOUGHT) * paid / booking.total_amount
    )
    difference = wanted - already
    weights = [line.tax_amount for line in lines]
    if difference and sum(weights) > 0:
        moves = [
            _tax(line, share)
            for line, share in zip(lines, share_out(difference, weights), strict=True)
        ]
        post(moves, about=booking.about, on=on, at=at, who=who)


def post_cancellation(booking: Booking, cost: CancelCost, *, at: datetime, who: Any = None) -> None:
    """Take back what is not kept, line by line; what is kept is no sale of a trip any more."""
    lines = standing_lines(booking)
    moves: list[Move] = []
    given_back = NOUGHT
    for line, kept in zip(lines, cost.kept, strict=True):
        back = line.amount - kept
        given_back += back
        moves.append(
            Move(
                debit=Account.OWNERS if line.is_passed_on else Account.SOLD_AHEAD,
                credit=Account.CLIENTS,
                amount=back,
                kind=Kind.CANCELLATION,
                words=f"called off: {line.words}",
                person=booking.payer,
                owner=line.owner,
                is_passed_on=line.is_passed_on,
                **_tax_words(line),
            )
        )
        if not line.is_passed_on:
            moves.append(
                Move(
                    debit=Account.SOLD_AHEAD,
                    credit=Account.KEPT_ON_CANCELLATION,
                    amount=kept,
                    kind=Kind.CANCELLATION,
                    words=f"kept: {line.words}",
                    **_tax_words(line),
                )
            )
            moves.append(_tax(line, -_tax_posted_on(booking, line, back)))
    moves += _owners_loss(lines, cost)
    kept_own = sum(
        (kept for line, kept in zip(lines, cost.kept, strict=True) if not line.is_passed_on),
        NOUGHT,
    )
    earned = percent_of(kept_own, booking.commission_percent) if booking.agent else NOUGHT
    moves.append(_commission(booking, earned - _commission_on(booking, lines)))
    post(moves, about=booking.about, on=today_of(booking, at), at=at, who=who)
    _owe(booking, -given_back)


def paid_for(booking: Booking) -> Decimal:
    """Return what has come in for the trip so far, less what went back."""
    coming = Posting.objects.filter(about=booking.about, kind__in=[Kind.PAYMENT, Kind.BROUGHT_IN])
    going = Posting.objects.filter(about=booking.about, kind=Kind.REFUND)
    paid = _sum(coming.filter(credit=Account.CLIENTS)) - _sum(coming.filter(debit=Account.CLIENTS))
    back = _sum(going.filter(debit=Account.CLIENTS)) - _sum(going.filter(credit=Account.CLIENTS))
    return paid - back


def owe(booking: Booking, amount: Decimal) -> None:
    """Add to what the client owes, beside the posting that says so."""
    _owe(booking, amount)


def today_of(booking: Booking, at: datetime) -> date:
    """Return the day a moment counts on, by the river's calendar."""
    return booking.water.river.day_of(at)


def _owe(booking: Booking, amount: Decimal) -> None:
    Booking.objects.filter(pk=booking.pk).update(owed_amount=F("owed_amount") + amount)
    booking.refresh_from_db(fields=["owed_amount"])


def _sale_of(booking: Booking, line: BookingLine) -> Move:
    return Move(
        debit=Account.CLIENTS,
        credit=Account.OWNERS if line.is_passed_on else Account.SOLD_AHEAD,
        amount=line.amount,
        kind=Kind.SALE,
        words=line.words,
        person=booking.payer,
        owner=line.owner,
        is_passed_on=line.is_passed_on,
        **_tax_words(line),
    )


def _tax_words(line: BookingLine) -> dict[str, Any]:
    return {
        "tax_treatment": line.tax_treatment,
        "tax_percent": line.tax_percent,
        "tax_point": line.tax_point,
    }


def _tax(line: BookingLine, amount: Decimal) -> Move:
    """Set tax aside from the sale it lies in."""
    return Move(
        debit=Account.SALES,
        credit=Account.TAX,
        amount=amount,
        kind=Kind.TAX,
        words=f"tax in: {line.words}",
        **_tax_words(line),
    )


def _tax_posted(booking: Booking, point: str) -> Decimal:
    rows = Posting.objects.filter(about=booking.about, kind=Kind.TAX, tax_point=point)
    return _sum(rows.filter(credit=Account.TAX)) - _sum(rows.filter(debit=Account.TAX))


def _tax_posted_on(booking: Booking, line: BookingLine, back: Decimal) -> Decimal:
    """Return how much of the tax set aside at the sale goes back with a part of the line."""
    if line.tax_point != TaxPoint.SOLD or line.amount == 0:
        return NOUGHT
    return to_money(line.tax_amount * back / line.amount)


def _owners_loss(lines: Sequence[BookingLine], cost: CancelCost) -> Iterable[Move]:
    """Return what we bear of the owners' lines: they keep it, and the client does not pay it."""
    passed = [line for line in lines if line.is_passed_on]
    weights = [line.amount for line in passed]
    if not cost.house_bears_amount or sum(weights, NOUGHT) <= 0:
        return []
    shares = share_out(cost.house_bears_amount, weights)
    return [
        Move(
            debit=Account.WATER_COSTS,
            credit=Account.OWNERS,
            amount=share,
            kind=Kind.CANCELLATION,
            words=f"borne by us: {line.words}",
            owner=line.owner,
        )
        for line, share in zip(passed, shares, strict=True)
    ]


def _commission_on(booking: Booking, lines: Sequence[BookingLine]) -> Decimal:
    """Return the agent's share of our own lines; nothing is earned on an owner's money."""
    if booking.agent_id is None:
        return NOUGHT
    own = sum((line.amount for line in lines if not line.is_passed_on), NOUGHT)
    return percent_of(own, booking.commission_percent)


def _commission(booking: Booking, amount: Decimal) -> Move:
    return Move(
        debit=Account.COMMISSION,
        credit=Account.AGENTS,
        amount=amount,
        kind=Kind.COMMISSION,
        words=f"commission on {booking.reference}",
        person=booking.agent,
    )


def _sum(rows: Any) -> Decimal:
    return rows.order_by().aggregate(all=Sum("amount"))["all"] or NOUGHT
