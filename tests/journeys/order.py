"""Whether the rows of a house agree: places with bookings, owed amounts with the ledger."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import datetime
from decimal import Decimal

from django.db.models import F

from guiding.bookings.models import Assignment, Booking, PartyMember, Payment, Place, RodPlace
from guiding.ledger.models import Account, Posting, Voucher


def disorder(at: datetime) -> list[str]:
    """Return what is out of order, one line each; nothing where all is well."""
    return [*_places(at), *_people(), *_ledger(), *_vouchers()]


def _places(at: datetime) -> list[str]:
    wrong = []
    had = defaultdict(Counter)
    for booking, date, part, state in Place.objects.exclude(booking=None).values_list(
        "booking", "date", "part", "state"
    ):
        had[booking][date, part, state] += 1
    for booking in Booking.objects.prefetch_related("days", "party"):
        rods = sum(member.role == PartyMember.Role.ROD for member in booking.party.all())
        wanted = {
            (day.date, day.part, "sold"): rods
            for day in booking.days.all()
            if booking.state in Booking.SOLD
        }
        if booking.state == Booking.State.OFFERED and not booking.is_lapsed(at):
            wanted = {(day.date, day.part, "held"): rods for day in booking.days.all()}
        standing = dict(had[booking.pk])
        if booking.is_lapsed(at):
            # its places may have gone to others, or still be down to it until somebody claims them
            standing = {key: n for key, n in standing.items() if key[2] == "sold"}
        if standing != wanted:
            wrong.append(f"{booking} is {booking.state}: has {standing}, should have {wanted}")
    for row in Assignment.objects.exclude(booking=None).select_related("booking"):
        if row.booking.state == Booking.State.CANCELLED:
            wrong.append(f"{row} is kept by {row.booking}, which was called off")
    return wrong


def _people() -> list[str]:
    seats = RodPlace.objects.select_related("place", "member")
    wrong = [
        f"{rod.person} sits on {rod.place}, which its booking does not have"
        for rod in seats
        if rod.place.booking_id != rod.member.booking_id
        or (rod.place.date, rod.place.part) != (rod.date, rod.part)
    ]
    twice = Counter((rod.person_id, rod.date, rod.part) for rod in seats)
    return wrong + [f"{key} fishes {n} places at once" for key, n in twice.items() if n > 1]


def _ledger() -> list[str]:
    balance: Counter[str] = Counter()
    owed: dict[str, Decimal] = defaultdict(Decimal)
    for posting in Posting.objects.all():
        balance[posting.debit] += posting.amount
        balance[posting.credit] -= posting.amount
        if posting.debit == Account.CLIENTS:
            owed[posting.about] += posting.amount
        if posting.credit == Account.CLIENTS:
            owed[posting.about] -= posting.amount
    wrong = [] if sum(balance.values()) == 0 else [f"the ledger does not balance: {balance}"]
    for booking in Booking.objects.all():
        if booking.owed_amount != owed[booking.about]:
            wrong.append(
                f"{booking} owes {booking.owed_amount}, by the ledger {owed[booking.about]}"
            )
    entries = set(Posting.objects.values_list("entry", flat=True))
    wrong += [
        f"payment {payment} has no entry in the ledger"
        for payment in Payment.objects.all()
        if payment.entry not in entries
    ]
    return wrong


def _vouchers() -> list[str]:
    wrong = list(
        Voucher.objects.exclude(left_amount__gte=0, left_amount__lte=F("amount")).values_list(
            "code", flat=True
        )
    )
    owed = sum((row.left_amount for row in Voucher.objects.filter(lapsed_at=None)), Decimal(0))
    posted = sum(
        (
            posting.amount if posting.credit == Account.VOUCHERS else -posting.amount
            for posting in Posting.objects.all()
            if Account.VOUCHERS in (posting.debit, posting.credit)
        ),
        Decimal(0),
    )
    if owed != posted:
        wrong.append(f"vouchers hold {owed}, by the ledger {posted}")
    return wrong
