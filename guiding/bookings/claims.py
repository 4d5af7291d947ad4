"""Claiming places, guides and boats: by conditional update, in sorted order, or not at all.

Whoever else wants a row waits at its update, and then finds that the condition no longer holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.db.models import Q

from guiding.bookings.models import Assignment, Booking, PartyMember, Place, Resource, RodPlace
from guiding.bookings.wanted import DayWanted, PersonBusy, PlaceTaken, ResourceTaken
from guiding.rivers.models import Water

FREED = {"state": Place.State.FREE, "booking": None, "held_until": None, "first_refusal": None}


def release_lapsed_holds(
    members: Iterable[PartyMember], days: Iterable[DayWanted], *, at: datetime
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
        if Place.objects.free_at(at).filter(pk=place.pk).update(**FREED):
            RodPlace.objects.filter(place=place).delete()


def claim_day(
    booking: Booking,
    water: Water,
    rods: int,
    day: DayWanted,
    *,
    held_until: datetime | None,
    at: datetime,
) -> tuple[Place, ...]:
    """Claim one place a rod on a part of a day, seat by seat in order.

    Places kept by a first refusal are there for the one who has it, and for nobody else.
    """
    here = Place.objects.filter(water=water, date=day.date, part=day.part)
    mine = Q(
        state=Place.State.HELD,
        held_until__gt=at,
        first_refusal__person=booking.payer,
        first_refusal__let_go_at=None,
    )
    free = Q(state=Place.State.FREE) | Q(state=Place.State.HELD, held_until__lte=at)
    won: list[Place] = []
    state = Place.State.HELD if held_until else Place.State.SOLD
    for place in here.filter(free | mine).order_by("seat"):
        if len(won) == rods:
            break
        unchanged = Q(first_refusal=place.first_refusal_id) if _is_kept(place, at) else free
        claimed = (
            Place.objects.filter(unchanged, pk=place.pk)
            .exclude(state__in=[Place.State.SOLD, Place.State.CLOSED])
            .update(state=state, booking=booking, held_until=held_until, first_refusal=None)
        )
        if claimed:
            won.append(place)
    if len(won) < rods:
        raise PlaceTaken(water=water.name, day=day.date, part=day.part, wanted=rods, free=len(won))
    # an expired offer's people leave the seat with it
    RodPlace.objects.filter(place__in=won).delete()
    return tuple(won)


def _is_kept(place: Place, at: datetime) -> bool:
    return (
        place.first_refusal_id is not None
        and place.held_until is not None
        and place.held_until > at
    )


def seats_for(
    members: Sequence[PartyMember], places: Sequence[Place], day: DayWanted
) -> list[RodPlace]:
    """Return who fishes which of these places: two who share a rod fish one."""
    rods = [member for member in members if member.role == PartyMember.Role.ROD]
    place_of = {rod.pk: place for rod, place in zip(rods, places, strict=True)}
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


def seat(rods: Iterable[RodPlace]) -> None:
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


def places_in_order(booking: Booking) -> list[int]:
    """Return the places a booking has, in the order in which rows are claimed."""
    places = Place.objects.filter(booking=booking).order_by("date", "part", "seat")
    return list(places.values_list("pk", flat=True))


def free_places(booking: Booking, places: Iterable[int] | None = None) -> int:
    """Let go of a booking's places, all or some, and of who sat on them; return how many."""
    freed = 0
    for pk in places_in_order(booking) if places is None else places:
        if Place.objects.filter(pk=pk, booking=booking).update(**FREED):
            RodPlace.objects.filter(place=pk).delete()
            freed += 1
    return freed


def claim_resource(
    resource: Resource,
    booking: Booking,
    when: Iterable[tuple[date, str]],
    *,
    held_until: datetime | None,
    at: datetime,
) -> int:
    """Claim a guide, ghillie or boat for parts of days; return how many parts are new."""
    claimed = 0
    for day, part in sorted(set(when)):
        Assignment.objects.bulk_create(
            [Assignment(resource=resource, date=day, part=part)], ignore_conflicts=True
        )
        row = Assignment.objects.filter(resource=resource, date=day, part=part)
        if row.filter(booking=booking).had_at(at).exists():
            continue
        state = Place.State.HELD if held_until else Place.State.SOLD
        if not row.free_at(at).update(state=state, booking=booking, held_until=held_until):
            raise ResourceTaken(resource=resource.name, day=str(day), part=part)
        claimed += 1
    return claimed


def free_resources(booking: Booking, keep: Iterable[tuple[date, str]] = ()) -> int:
    """Let go of a booking's guides, ghillies and boats, but for some parts of days."""
    kept, freed = set(keep), 0
    rows = Assignment.objects.filter(booking=booking).order_by("date", "part", "resource")
    for row in rows:
        if (row.date, row.part) in kept:
            continue
        freed += Assignment.objects.filter(pk=row.pk, booking=booking).update(
            state=Place.State.FREE, booking=None, held_until=None
        )
    return freed
