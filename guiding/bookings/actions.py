"""Opening places, and taking a booking: every rod gets a place, or nothing is written."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models.functions import Length

from guiding.bookings.claims import claim_day, release_lapsed_holds, seat, seats_for
from guiding.bookings.models import Booking, PartyMember, Place, RodPlace, TripDay
from guiding.bookings.wanted import (
    AlreadyDecided,
    BookingRefused,
    DayWanted,
    PartyWanted,
    check_days,
    check_part,
    check_party,
    check_state,
    is_junior,
)
from guiding.clients.models import Person
from guiding.history.models import record
from guiding.rivers.models import Water

LONGEST_OPENING_DAYS = 800


def open_places(water: Water, first: date, last: date, parts: Any, *, at: datetime) -> int:
    """Open every seat the water has from one day to another; return how many are new.

    Safe to repeat. Seats above a capacity that has since been lowered are closed if nobody has
    them; those that are sold stay sold.
    """
    names = tuple(dict.fromkeys(parts))
    for name in names:
        check_part(name)
    days = (last - first).days + 1
    if not 1 <= days <= LONGEST_OPENING_DAYS:
        raise BookingRefused(
            f"{first} to {last} is {days} days; places open for 1 to {LONGEST_OPENING_DAYS} days."
        )
    rows = [
        Place(water=water, date=first + timedelta(days=n), part=part, seat=seat)
        for n in range(days)
        for part in names
        for seat in range(1, water.rods_a_day + 1)
    ]
    with transaction.atomic():
        here = Place.objects.filter(water=water, date__range=(first, last), part__in=names)
        before = here.count()
        Place.objects.bulk_create(rows, ignore_conflicts=True, batch_size=500)
        opened = here.count() - before
        beyond = here.filter(seat__gt=water.rods_a_day).free_at(at)
        closed = beyond.update(state=Place.State.CLOSED, booking=None, held_until=None)
        if opened or closed:
            record(
                "places opened",
                f"water {water.key}",
                at=at,
                after={
                    "first": first.isoformat(),
                    "last": last.isoformat(),
                    "parts": list(names),
                    "opened": opened,
                    "closed": closed,
                },
            )
    return opened


def take_booking(
    *,
    reference: str,
    water: Water,
    payer: Person,
    party: tuple[PartyWanted, ...],
    days: tuple[DayWanted, ...],
    fish: str = "salmon",
    state: str = "accepted",
    at: datetime,
    who: Any = None,
    held_until: datetime | None = None,
) -> Booking:
    """Write a booking and claim one place a rod in each part of each day, or refuse it whole.

    An offer (state "offered") holds its places until `held_until`; anything else has them sold.
    """
    check_party(party, payer)
    check_days(days, water)
    check_state(state, fish, at, held_until)
    in_order = tuple(sorted(days, key=lambda day: (day.date, day.part)))
    with transaction.atomic():
        if Booking.objects.filter(reference=reference).exists():
            raise BookingRefused(f"Reference {reference} is in use already.")
        booking = Booking.objects.create(
            reference=reference,
            water=water,
            payer=payer,
            state=state,
            fish=fish,
            taken_at=at,
            offered_until=held_until,
            first_date=in_order[0].date,
            last_date=in_order[-1].date,
        )
        members = _write_party(booking, party, in_order[0].date)
        TripDay.objects.bulk_create(trip_days(booking, in_order))
        claim_for(booking, water, members, in_order, held_until=held_until, at=at)
        record(
            "booking taken",
            f"booking {booking.key}",
            at=at,
            who=who,
            after={
                "reference": reference,
                "state": state,
                "water": water.name,
                "days": [f"{day.date.isoformat()} {day.part}" for day in in_order],
                "rods": sum(member.role == PartyMember.Role.ROD for member in members),
            },
        )
    return booking


def next_reference(year: int) -> str:
    """Return the first reference of that year that is not in use, such as 2026-014."""
    start = f"{year}-"
    plain = Booking.objects.filter(reference__regex=rf"^{year}-[0-9]{{3,12}}$")
    # the longest is the largest: three digits at least, and no nought in front of a fourth
    newest = (
        plain.annotate(digits=Length("reference"))
        .order_by("-digits", "-reference")
        .values_list("reference", flat=True)
        .first()
    )
    number = int(newest[len(start) :]) if newest else 0
    return f"{start}{number + 1:03d}"


def _write_party(
    booking: Booking, party: tuple[PartyWanted, ...], first: date
) -> tuple[PartyMember, ...]:
    # those who are shared with are written first, so that the sharers can point at them
    written: dict[int, PartyMember] = {}
    for wanted in sorted(party, key=lambda w: w.shares_with is not None):
        partner = written[wanted.shares_with.pk] if wanted.shares_with else None
        written[wanted.person.pk] = PartyMember.objects.create(
            booking=booking,
            person=wanted.person,
            role=wanted.role,
            is_junior=is_junior(wanted.person, first),
            shares_with=partner,
        )
    return tuple(written.values())


def claim_for(
    booking: Booking,
    water: Water,
    members: tuple[PartyMember, ...],
    days: tuple[DayWanted, ...],
    *,
    held_until: datetime | None,
    at: datetime,
) -> None:
    """Claim a place a rod in every part of every day, and seat the party on them."""
    release_lapsed_holds(members, days, at=at)
    rods = sum(member.role == PartyMember.Role.ROD for member in members)
    seats: list[RodPlace] = []
    for day in days:
        places = claim_day(booking, water, rods, day, held_until=held_until, at=at)
        seats += seats_for(members, places, day)
    seat(seats)


def trip_days(booking: Booking, days: tuple[DayWanted, ...]) -> list[TripDay]:
    """Return the rows of a booking's days, not stored yet."""
    return [
        TripDay(
            booking=booking,
            date=day.date,
            part=day.part,
            beat=day.beat,
            meeting_point=day.meeting_point,
            meets_at=day.meets_at,
            ends_at=day.ends_at,
        )
        for day in days
    ]


def change_state(booking: Booking, from_states: Any, to_state: str, **others: Any) -> None:
    """Move a booking on if it is in one of these states, or refuse."""
    changed = Booking.objects.filter(pk=booking.pk, state__in=from_states).update(
        state=to_state, **others
    )
    if not changed:
        booking.refresh_from_db()
        labels = [str(Booking.State(state).label) for state in from_states]
        raise AlreadyDecided(
            f"{booking.reference} is {booking.get_state_display()}; "
            f"this needs one that is {' or '.join(labels)}."
        )
    booking.refresh_from_db()
