"""From offer to closed: offered, accepted, deposit in, ready, fished, closed, or called off."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from guiding.bookings.actions import change_state, take_booking
from guiding.bookings.cancellation import CancelCost
from guiding.bookings.claims import claim_resource, free_places, free_resources, places_in_order
from guiding.bookings.models import (
    Assignment,
    Booking,
    Enquiry,
    PartyMember,
    Place,
    Resource,
    Terms,
)
from guiding.bookings.pricing import LineWanted
from guiding.bookings.quotes import MAY_BE_CALLED_OFF, cancel_cost_of
from guiding.bookings.readiness import missing_of
from guiding.bookings.saleable import check_sale, give_override
from guiding.bookings.settling import keep_lines, post_cancellation, post_fished, post_sale
from guiding.bookings.wanted import BookingRefused, DayWanted, HoldExpired, PartyWanted
from guiding.clients.models import Person
from guiding.history.models import record
from guiding.rivers.models import Water

State = Booking.State


def offer(
    *,
    reference: str,
    water: Water,
    payer: Person,
    party: tuple[PartyWanted, ...],
    days: tuple[DayWanted, ...],
    lines: Sequence[LineWanted],
    terms: Terms,
    until: datetime,
    fish: str = "salmon",
    method: str = "fly",
    guides: Sequence[Resource] = (),
    enquiry: Enquiry | None = None,
    agent: Person | None = None,
    commission_percent: Decimal = Decimal(0),
    override_reason: str = "",
    at: datetime,
    who: Any = None,
) -> Booking:
    """Hold places for a party until a moment, at these prices and terms, or refuse it whole."""
    when = [(day.date, day.part) for day in days]
    with transaction.atomic():
        questions = (
            check_sale(water, when, party=party, override_reason=override_reason, who=who, at=at)
            if when
            else ()
        )
        booking = take_booking(
            reference=reference,
            water=water,
            payer=payer,
            party=party,
            days=days,
            fish=fish,
            state=State.OFFERED,
            held_until=until,
            at=at,
            who=who,
        )
        booking.method, booking.terms, booking.agent = method, terms, agent
        booking.commission_percent = commission_percent
        booking.save(update_fields=["method", "terms", "agent", "commission_percent"])
        keep_lines(booking, lines, at=at)
        assign(booking, guides, at=at)
        if questions:
            give_override(
                water,
                min(day for day, _ in when),
                max(day for day, _ in when),
                reason=override_reason,
                question=" ".join(questions)[:200],
                who=who,
                at=at,
                booking=booking,
            )
        if enquiry is not None:
            Enquiry.objects.filter(pk=enquiry.pk).update(
                state=Enquiry.State.OFFERED, booking=booking
            )
    return booking


def assign(booking: Booking, resources: Sequence[Resource], *, at: datetime) -> None:
    """Claim guides, ghillies or boats for every part of a booking's days."""
    people = booking.party.exclude(role=PartyMember.Role.PAYER).count()
    most = sum(row.people_at_most for row in resources if row.kind == Resource.Kind.GUIDE)
    if any(row.kind == Resource.Kind.GUIDE for row in resources) and people > most:
        names = ", ".join(row.name for row in resources)
        raise BookingRefused(f"{people} people come; {names} may take {most}.")
    when = list(booking.days.values_list("date", "part"))
    held_until = booking.offered_until if booking.state == State.OFFERED else None
    with transaction.atomic():
        for resource in sorted(resources, key=lambda row: row.pk):
            if resource.water_id not in (None, booking.water_id):
                raise BookingRefused(f"{resource.name} works on {resource.water} only.")
            if not resource.is_working:
                raise BookingRefused(f"{resource.name} does not work any more.")
            claim_resource(resource, booking, when, held_until=held_until, at=at)


def accept(booking: Booking, *, at: datetime, who: Any = None) -> None:
    """Turn an offer whose places are still held into a sale, and owe what it comes to."""
    with transaction.atomic():
        change_state(booking, (State.OFFERED,), State.ACCEPTED, offered_until=None)
        rods = booking.party.filter(role=PartyMember.Role.ROD).count()
        needed = booking.days.count() * rods
        sold = 0
        for pk in places_in_order(booking):
            sold += Place.objects.filter(
                pk=pk, booking=booking, state=Place.State.HELD, held_until__gt=at
            ).update(state=Place.State.SOLD, held_until=None)
        if sold != needed:
            raise HoldExpired(
                f"{booking.reference}: {sold} of {needed} places are still held. Offer it anew."
            )
        Assignment.objects.filter(
            booking=booking, state=Place.State.HELD, held_until__gt=at
        ).update(state=Place.State.SOLD, held_until=None)
        post_sale(booking, at=at, who=who)
        if booking.deposit_amount == 0 and booking.total_amount > 0:
            change_state(booking, (State.ACCEPTED,), State.DEPOSIT_IN)
        record("booking accepted", booking.about, at=at, who=who)
    booking.refresh_from_db()


def missing_for(booking: Booking) -> tuple[str, ...]:
    """Return what is still missing before the party may be taken to the water."""
    day = booking.first_date
    lines = []
    for member in booking.party.select_related("person"):
        if day is not None:
            lines += [f"{member.person}: {line}" for line in missing_of(member, day)]
    return tuple(lines)


def make_ready(booking: Booking, *, at: datetime, who: Any = None) -> None:
    """Say that everybody is covered; refused with what is missing."""
    missing = missing_for(booking)
    if missing:
        raise BookingRefused(f"{booking.reference} is not ready. Missing: {'; '.join(missing)}.")
    with transaction.atomic():
        change_state(booking, (State.ACCEPTED, State.DEPOSIT_IN), State.READY)
        record("booking ready", booking.about, at=at, who=who)


def mark_fished(booking: Booking, *, at: datetime, who: Any = None) -> None:
    """Say that the trip was fished; its price becomes a sale."""
    last = booking.days.order_by("-ends_at").first()
    if last is None or at < last.meets_at:
        raise BookingRefused(f"{booking.reference} has not been fished yet.")
    with transaction.atomic():
        change_state(booking, (State.ACCEPTED, State.DEPOSIT_IN, State.READY), State.FISHED)
        post_fished(booking, at=at, who=who)
        record("booking fished", booking.about, at=at, who=who)


def close(booking: Booking, *, at: datetime, who: Any = None) -> None:
    """Close a trip that was fished and on which nobody owes anybody anything."""
    with transaction.atomic():
        settled = Booking.objects.filter(pk=booking.pk, state=State.FISHED, owed_amount=0)
        if not settled.update(state=State.CLOSED):
            booking.refresh_from_db()
            if booking.state == State.FISHED:
                raise BookingRefused(
                    f"{booking.reference}: {booking.owed_amount} is still owed."
                    if booking.owed_amount > 0
                    else f"{booking.reference}: we still owe {-booking.owed_amount}."
                )
        change_state(booking, (State.FISHED, State.CLOSED), State.CLOSED)
        record("booking closed", booking.about, at=at, who=who)


def cancel(
    booking: Booking,
    *,
    reason: str,
    at: datetime,
    who: Any = None,
    expected: Decimal | None = None,
) -> CancelCost:
    """Call a booking off, let its places go, and settle what is kept by its own terms.

    `expected` is the amount that was shown before; another one by now refuses the act.
    """
    with transaction.atomic():
        locked = Booking.objects.select_for_update().get(pk=booking.pk)
        cost = cancel_cost_of(locked, reason=reason, at=at)
        if not cost.is_known and locked.total_amount > 0:
            raise BookingRefused(cost.why)
        if expected is not None and cost.kept_amount != expected:
            raise BookingRefused(
                f"By now {cost.kept_amount} would be kept, and not {expected}. Look again."
            )
        before = locked.state
        change_state(
            locked,
            MAY_BE_CALLED_OFF,
            State.CANCELLED,
            called_off_for=reason,
            called_off_at=at,
            offered_until=None,
        )
        freed = free_places(locked)
        free_resources(locked)
        if before != State.OFFERED:
            post_cancellation(locked, cost, at=at, who=who)
        record(
            "booking called off",
            locked.about,
            at=at,
            who=who,
            before={"state": before},
            after={
                "state": State.CANCELLED.value,
                "reason": reason,
                "freed": freed,
                "kept": str(cost.kept_amount),
            },
        )
    booking.refresh_from_db()
    return cost
