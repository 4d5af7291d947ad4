"""The page to find in a hurry, and places as a rescuer may ask for them."""

from __future__ import annotations

from briefings.groundwork import Groundwork
from briefings.pack.content import Emergency, Spot
from guiding.bookings.models import PartyMember
from guiding.clients.models import Person
from guiding.rivers.gridref import grid_words
from guiding.rivers.models import AccessPoint, River


def emergency_page(ground: Groundwork, member: PartyMember | None) -> Emergency:
    """Return the emergency page for one reader; `member` None is the guide, who holds all.

    A reader holds the contacts of the juniors in their charge as well.
    """
    guide, river = ground.guide, ground.trip.river
    points = {row.meeting_point_id: row.meeting_point for row in ground.covered}
    points.update({point.pk: point for point in ground.access})
    trip = ground.trip
    readers = (member, *trip.in_charge_of(member)) if member else trip.coming
    is_named = member is None or len(readers) > 1
    contact = "; ".join(_contact(one.person, is_named=is_named) for one in readers)
    return Emergency(
        number=river.emergency_number,
        guide_name=guide_name(ground),
        guide_phone=guide.phone or "not on file",
        fishery_phone=ground.trip.booking.water.fishery_phone or "not on file",
        hospital=river.hospital or "not on file: ask your guide",
        no_signal_plan=river.no_signal_plan or "not on file: agree one with your guide first",
        if_the_guide_is_the_casualty=(
            "Do not go into the water after anybody. Shout, throw or reach with whatever floats. "
            f"Ring {river.emergency_number}, ask for water rescue and an ambulance, and give the "
            "grid reference of where you stand. Stay where you can be seen. No signal: "
            "follow the plan on this page."
        ),
        spots=tuple(spot_of(point, river) for point in points.values()),
        contact=contact,
    )


def guide_name(ground: Groundwork) -> str:
    """Return how the guide signs."""
    return ground.guide.get_full_name() or ground.guide.username


def spot_of(point: AccessPoint, river: River) -> Spot:
    """Return a place by name, by the river's grid and by latitude and longitude."""
    try:
        grid = grid_words(point.latitude, point.longitude, river.grid)
    except ValueError as error:
        grid = f"no grid reference: {error}"
    return Spot(
        name=f"{point.pool.name}: {point.name}" if point.pool else point.name,
        grid=grid,
        latitude=round(point.latitude, 5),
        longitude=round(point.longitude, 5),
        directions=point.directions,
    )


def _contact(person: Person, *, is_named: bool) -> str:
    held = f"{person.emergency_name} {person.emergency_phone}".strip()
    words = held or "none on file: ask before you start"
    return f"for {person.name}: {words}" if is_named else words
