"""Opening places, taking a booking, accepting it, calling it off."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.db import IntegrityError, transaction

from guiding.bookings.models import Booking, PartyMember, Place, Reason, RodPlace, TripDay
from guiding.bookings.wanted import (
    AlreadyDecided,
    BookingRefused,
    DayWanted,
    HoldExpired,
    PartyWanted,
    PersonBusy,
    PlaceTaken,
    check_days,
    check_part,
    check_party,
    check_state,
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
            reference=reference, water=water, payer=payer, state=state, fish=fish, taken_at=at
        )
        members = _write_party(booking, party)
        TripDay.objects.bulk_create(
            TripDay(
                booking=booking,
                date=day.date,
                part=day.part,
                beat=day.beat,
                meeting_point=day.meeting_point,
                meets_at=day.meets_at,
                ends_at=day.ends_at,
            )
            for day in in_order
        )
        _release_lapsed_holds(members, in_order, at)
        rods: list[RodPlace] = []
        for day in in_order:
            rods += _claim(booking, members, day, at, held_until)
        _seat(rods)
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


def accept_booking(booking: Booking, *, at: datetime, who: Any = None) -> None:
    """Turn an offer whose places are still held into a booking."""
    held = Place.State.HELD
    with transaction.atomic():
        _change_state(booking, (Booking.State.OFFERED,), Booking.State.ACCEPTED)
        needed = booking.days.count() * booking.party.filter(role=PartyMember.Role.ROD).count()
        sold = 0
        for pk in _places_in_order(booking):
            sold += Place.objects.filter(
                pk=pk, booking=booking, state=held, held_until__gt=at
            ).update(state=Place.State.SOLD, held_until=None)
        if sold != needed:
            raise HoldExpired(
                f"{booking.reference}: {sold} of {needed} places are still held. Take it anew."
            )
        record("booking accepted", f"booking {booking.key}", at=at, who=who)
    booking.refresh_from_db()


def cancel_booking(booking: Booking, *, reason: str, at: datetime, who: Any = None) -> None:
    """Call a booking off, say why, and let its places go."""
    if reason not in Reason.values:
        raise BookingRefused(f"reason is {reason!r}; it is one of {', '.join(Reason.values)}.")
    standing = (Booking.State.OFFERED, Booking.State.ACCEPTED)
    before = booking.state
    with transaction.atomic():
        _change_state(booking, standing, Booking.State.CANCELLED, called_off_for=reason)
        freed = 0
        for pk in _places_in_order(booking):
            freed += Place.objects.filter(pk=pk, booking=booking).update(
                state=Place.State.FREE, booking=None, held_until=None
            )
        RodPlace.objects.filter(member__booking=booking).delete()
        record(
            "booking called off",
            f"booking {booking.key}",
            at=at,
            who=who,
            before={"state": before},
            after={"state": Booking.State.CANCELLED.value, "reason": reason, "freed": freed},
        )
    booking.refresh_from_db()


def next_reference(year: int) -> str:
    """Return the first reference of that year that is not in use, such as 2026-014."""
    start = f"{year}-"
    used = Booking.objects.filter(reference__startswith=start).values_list("reference", flat=True)
    numbers = [int(text[len(start) :]) for text in used if text[len(start) :].isdecimal()]
    return f"{start}{max(numbers, default=0) + 1:03d}"


def _write_party(booking: Booking, party: tuple[PartyWanted, ...]) -> tuple[PartyMember, ...]:
    # those who are shared with are written first, so that the sharers can point at them
    written: dict[int, PartyMember] = {}
    for wanted in sorted(party, key=lambda w: w.shares_with is not None):
        partner = written[wanted.shares_with.pk] if wanted.shares_with else None
        written[wanted.person.pk] = PartyMember.objects.create(
            booking=booking, person=wanted.person, role=wanted.role, shares_with=partner
        )
    return tuple(written.values())


def _release_lapsed_holds(
    members: tuple[PartyMember, ...], days: tuple[DayWanted, ...], at: datetime
) -> None:
    """Let go of the places an expired offer still holds for these people at these times."""
    wanted = {(day.date, day.part) for day in days}
    lapsed = (
        Place.objects.free_at(at)
        .filter(
            state=Place.State.HELD,
            date__in={day for day, _ in wanted},
            rods__person__in=[member.person_id for member in members],
        )
        .order_by("date", "part", "pk")
        .distinct()
    )
    for place in lapsed:
        if (place.date, place.part) not in wanted:
            continue
        if (
            Place.objects.free_at(at)
            .filter(pk=place.pk)
            .update(state=Place.State.FREE, booking=None, held_until=None)
        ):
            RodPlace.objects.filter(place=place).delete()


def _claim(
    booking: Booking,
    members: tuple[PartyMember, ...],
    day: DayWanted,
    at: datetime,
    held_until: datetime | None,
) -> list[RodPlace]:
    """Claim one place a rod by conditional update, seat by seat in order."""
    rods = [member for member in members if member.role == PartyMember.Role.ROD]
    here = Place.objects.filter(water=booking.water, date=day.date, part=day.part)
    seats = list(here.free_at(at).order_by("seat"))
    won: list[Place] = []
    state = Place.State.HELD if held_until else Place.State.SOLD
    for place in seats:
        if len(won) == len(rods):
            break
        # whoever else wants this seat waits here, and then finds the condition no longer true
        if (
            Place.objects.free_at(at)
            .filter(pk=place.pk)
            .update(state=state, booking=booking, held_until=held_until)
        ):
            won.append(place)
    if len(won) < len(rods):
        raise PlaceTaken(
            water=booking.water.name,
            day=day.date,
            part=day.part,
            wanted=len(rods),
            free=len(won),
        )
    # an expired offer's people leave the seat with it
    RodPlace.objects.filter(place__in=won).delete()
    place_of = {rod.pk: place for rod, place in zip(rods, won, strict=True)}
    return [
        RodPlace(
            place=place_of[member.shares_with_id or member.pk],
            member=member,
            person=member.person,
            date=day.date,
            part=day.part,
        )
        for member in members
        if member.role in (PartyMember.Role.ROD, PartyMember.Role.SHARES)
    ]


def _seat(rods: list[RodPlace]) -> None:
    """Write who fishes where; two sellers meet here in one order, so neither waits for ever."""
    in_order = sorted(rods, key=lambda rod: (rod.date, rod.part, rod.person_id))
    try:
        with transaction.atomic():
            RodPlace.objects.bulk_create(in_order)
    except IntegrityError as error:
        for rod in in_order:
            taken = RodPlace.objects.filter(person=rod.person, date=rod.date, part=rod.part)
            if taken.exists():
                raise PersonBusy(person=rod.person.name, day=rod.date, part=rod.part) from error
        raise


def _places_in_order(booking: Booking) -> list[int]:
    places = Place.objects.filter(booking=booking).order_by("date", "part", "seat")
    return list(places.values_list("pk", flat=True))


def _change_state(booking: Booking, from_states: Any, to_state: str, **others: Any) -> None:
    changed = Booking.objects.filter(pk=booking.pk, state__in=from_states).update(
        state=to_state, **others
    )
    if not changed:
        booking.refresh_from_db()
        raise AlreadyDecided(
            f"{booking.reference} is {booking.get_state_display()}; "
            f"this needs one that is {' or '.join(str(s.label) for s in from_states)}."
        )
