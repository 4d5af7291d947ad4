"""Money that comes in for a booking and goes back: each once, however often it is asked for."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db import IntegrityError, transaction

from guiding.bookings.models import Booking, Payment
from guiding.bookings.settling import owe, paid_for, post_tax_as_paid
from guiding.bookings.wanted import BookingRefused
from guiding.clients.models import Person
from guiding.history.models import record
from guiding.ledger.actions import Move, post, reverse
from guiding.ledger.models import Account, Posting, Voucher
from guiding.ledger.vouchers import redeem
from guiding.money import LARGEST, PENNY

How, Purpose = Payment.How, Payment.Purpose
PAYABLE = (*Booking.SOLD, Booking.State.CANCELLED.value)


class PaymentRefused(BookingRefused):
    """A payment that cannot be recorded as asked; nothing was stored."""


def take_payment(
    booking: Booking,
    *,
    person: Person,
    amount: Decimal,
    how: str,
    received_on: date,
    asked_as: str,
    at: datetime,
    purpose: str = Purpose.TRIP,
    reference: str = "",
    voucher: Voucher | None = None,
    who: Any = None,
) -> Payment:
    """Record money that came in, for the trip or as a tip; a request sent twice is one payment."""
    _check(amount, how, purpose, (Purpose.TRIP, Purpose.TIP))
    if (how == How.VOUCHER) != (voucher is not None):
        raise PaymentRefused("A voucher is named if, and only if, it is paid with one.")
    if voucher is not None and purpose == Purpose.TIP:
        raise PaymentRefused("A tip is not paid with a voucher.")
    with transaction.atomic():
        booking = Booking.objects.select_for_update().get(pk=booking.pk)
        before = Payment.objects.filter(asked_as=asked_as).first()
        if before is not None:
            return _the_same(before, booking, amount, purpose)
        if booking.state not in PAYABLE:
            raise PaymentRefused(
                f"{booking.reference} is {booking.get_state_display()}; it is paid for once it "
                "is accepted."
            )
        if voucher is not None:
            redeem(voucher, amount, on=received_on)
        entry = post(
            [_coming_in(booking, person, amount, how, purpose)],
            about=booking.about,
            on=received_on,
            at=at,
            who=who,
        )
        payment = _keep(
            booking,
            person=person,
            purpose=purpose,
            how=how,
            amount=amount,
            received_on=received_on,
            reference=reference,
            voucher=voucher,
            entry=entry,
            recorded_at=at,
            who=who,
            asked_as=asked_as,
        )
        if purpose == Purpose.TRIP:
            owe(booking, -amount)
            post_tax_as_paid(booking, on=received_on, at=at, who=who)
            _note_deposit(booking)
        record(
            "payment recorded",
            booking.about,
            at=at,
            who=who,
            after={"amount": str(amount), "how": how, "purpose": purpose},
        )
    return payment


def refund(
    booking: Booking,
    *,
    amount: Decimal,
    how: str,
    paid_on: date,
    asked_as: str,
    at: datetime,
    reference: str = "",
    who: Any = None,
) -> Payment:
    """Record money that went back: never more than we owe the client."""
    _check(amount, how, Purpose.REFUND, (Purpose.REFUND,))
    if how in (How.VOUCHER, How.BROUGHT_IN):
        raise PaymentRefused(f"A refund is not paid by {how}.")
    with transaction.atomic():
        booking = Booking.objects.select_for_update().get(pk=booking.pk)
        before = Payment.objects.filter(asked_as=asked_as).first()
        if before is not None:
            return _the_same(before, booking, amount, Purpose.REFUND)
        if amount > -booking.owed_amount or amount > paid_for(booking):
            owed = max(-booking.owed_amount, Decimal(0))
            raise PaymentRefused(
                f"{amount} is more than the {owed} we owe for {booking.reference}."
            )
        entry = post(
            [
                Move(
                    debit=Account.CLIENTS,
                    credit=Account.BANK,
                    amount=amount,
                    kind=Posting.Kind.REFUND,
                    words=f"refund for {booking.reference}",
                    person=booking.payer,
                )
            ],
            about=booking.about,
            on=paid_on,
            at=at,
            who=who,
        )
        payment = _keep(
            booking,
            person=booking.payer,
            purpose=Purpose.REFUND,
            how=how,
            amount=amount,
            received_on=paid_on,
            reference=reference,
            entry=entry,
            recorded_at=at,
            who=who,
            asked_as=asked_as,
        )
        owe(booking, amount)
        post_tax_as_paid(booking, on=paid_on, at=at, who=who)
        record("refund recorded", booking.about, at=at, who=who, after={"amount": str(amount)})
    return payment


def reverse_payment(payment: Payment, *, why: str, on: date, at: datetime, who: Any = None) -> None:
    """Take a payment back that was recorded in error. A voucher's amount stays redeemed."""
    if payment.how == How.VOUCHER:
        raise PaymentRefused("What was paid with a voucher goes back as a refund.")
    with transaction.atomic():
        if not Payment.objects.filter(pk=payment.pk, reversed_at=None).update(reversed_at=at):
            raise PaymentRefused("This payment was taken back before.")
        booking = payment.booking
        reverse(payment.entry, why=why, on=on, at=at, who=who)
        if payment.purpose != Purpose.TIP:
            back = payment.amount if payment.purpose == Purpose.TRIP else -payment.amount
            owe(booking, back)
            post_tax_as_paid(booking, on=on, at=at, who=who)
        record(
            "payment taken back",
            booking.about,
            at=at,
            who=who,
            before={"amount": str(payment.amount)},
            after={"why": why},
        )


def to_amount(text: str) -> Decimal:
    """Read an amount as it was typed: digits, and a point with at most two behind it."""
    plain = text.strip()
    try:
        amount = Decimal(plain)
    except InvalidOperation:
        amount = Decimal("NaN")
    if not plain.replace(".", "", 1).isdecimal() or not amount.is_finite():
        raise PaymentRefused(f"The amount is {text[:40]!r}; write it as 120 or 120.50.")
    _check_amount(amount)
    return amount


def _check(amount: Decimal, how: str, purpose: str, allowed: tuple[str, ...]) -> None:
    _check_amount(amount)
    if how not in How.values:
        raise PaymentRefused(f"how is {how!r}; it is one of {', '.join(How.values)}.")
    if purpose not in allowed:
        raise PaymentRefused(f"purpose is {purpose!r}; it is one of {', '.join(allowed)}.")


def _check_amount(amount: Decimal) -> None:
    if not amount.is_finite() or amount <= 0 or amount > LARGEST:
        raise PaymentRefused(f"The amount is {amount}; it is above nought, up to {LARGEST}.")
    if amount != amount.quantize(PENNY):
        raise PaymentRefused(f"The amount is {amount}; it has at most two digits after the point.")


def _the_same(before: Payment, booking: Booking, amount: Decimal, purpose: str) -> Payment:
    if (before.booking_id, before.amount, before.purpose) != (booking.pk, amount, purpose):
        raise PaymentRefused("This form was used before for another payment. Open it anew.")
    return before


def _keep(booking: Booking, **fields: Any) -> Payment:
    try:
        with transaction.atomic():
            return Payment.objects.create(booking=booking, **fields)
    except IntegrityError as error:
        raise PaymentRefused("This payment is being recorded already.") from error


def _coming_in(booking: Booking, person: Person, amount: Decimal, how: str, purpose: str) -> Move:
    if purpose == Purpose.TIP:
        return Move(
            debit=Account.BANK,
            credit=Account.TIPS,
            amount=amount,
            kind=Posting.Kind.TIP,
            words=f"tip with {booking.reference}",
            person=person,
        )
    return Move(
        debit=Account.VOUCHERS if how == How.VOUCHER else Account.BANK,
        credit=Account.CLIENTS,
        amount=amount,
        kind=Posting.Kind.BROUGHT_IN if how == How.BROUGHT_IN else Posting.Kind.PAYMENT,
        words=f"paid for {booking.reference}",
        person=person,
    )


def _note_deposit(booking: Booking) -> None:
    """Move an accepted booking on once its deposit is in."""
    if paid_for(booking) >= booking.deposit_amount:
        Booking.objects.filter(pk=booking.pk, state=Booking.State.ACCEPTED).update(
            state=Booking.State.DEPOSIT_IN
        )
