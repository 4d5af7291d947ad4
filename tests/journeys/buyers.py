"""Buyers, each in a process of their own, and the season they fight over."""

from collections import Counter
from datetime import date, datetime, timedelta
from typing import Any

import django

django.setup()

from django.db import IntegrityError, transaction  # noqa: E402

from guiding.bookings.actions import open_places, take_booking  # noqa: E402
from guiding.bookings.models import Booking, Place, RodPlace  # noqa: E402
from guiding.bookings.wanted import BookingRefused, PartyWanted, PlaceTaken  # noqa: E402
from guiding.clients.models import Person  # noqa: E402
from guiding.rivers.models import Water  # noqa: E402
from tests.factories import (  # noqa: E402
    make_access_point,
    make_beat,
    make_day,
    make_person,
    make_water,
)
from tests.races import serve  # noqa: E402


def lay_out(told: dict[str, Any]) -> int:
    """Open mornings on a new water and give each buyer two people; return the water."""
    water = make_water(rods_a_day=told["rods_a_day"])
    make_beat(water=water)
    make_access_point(water=water)
    for buyer in range(told["buyers"]):
        for _ in range(2):
            make_person(notes=f"{water.pk} {buyer}")
    first = date.fromisoformat(told["first"])
    last = first + timedelta(days=told["days"] - 1)
    open_places(water, first, last, ("morning",), at=datetime.fromisoformat(told["at"]))
    return water.pk


def buy(number: int, told: dict[str, Any]) -> dict[str, Any]:
    """Try to buy places for `rods` people on some days; say what came of it."""
    water = Water.objects.get(pk=told["water"])
    people = Person.objects.filter(notes=f"{water.pk} {number}").order_by("pk")[: told["rods"]]
    until = told.get("held_until")
    try:
        take_booking(
            reference=f"{told['round']}-{number}",
            water=water,
            payer=people[0],
            party=tuple(PartyWanted(person=person, role="rod") for person in people),
            days=tuple(make_day(water, date.fromisoformat(day)) for day in told["days"]),
            state="offered" if until else "accepted",
            held_until=datetime.fromisoformat(until) if until else None,
            at=datetime.fromisoformat(told["at"]),
        )
    except PlaceTaken as error:
        return {"result": "taken", "free": error.free}
    except BookingRefused as error:
        return {"result": "refused", "says": str(error)}
    return {"result": "bought"}


def look(told: dict[str, Any]) -> dict[str, Any]:
    """Return how a water's places stand, and whether the rows agree with each other."""
    here = Place.objects.filter(water=told["water"])
    had = here.filter(state__in=["held", "sold"])
    rods = RodPlace.objects.filter(place__water=told["water"])
    return {
        "states": Counter(here.values_list("state", flat=True)),
        "bookings": Booking.objects.filter(water=told["water"]).count(),
        "rods_match": Counter(rods.values_list("place", flat=True))
        == Counter(had.values_list("pk", flat=True)),
    }


def sell_by_hand(told: dict[str, Any]) -> str:
    """Put a second row for a seat into the table itself, past every action."""
    place = Place.objects.filter(water=told["water"]).earliest("pk")
    place.pk = None
    try:
        with transaction.atomic():
            place.save(force_insert=True)
    except IntegrityError:
        return "refused by the database"
    return "stored"


if __name__ == "__main__":
    serve(
        together={"buy": buy},
        alone={"lay_out": lay_out, "look": look, "sell_by_hand": sell_by_hand},
    )
