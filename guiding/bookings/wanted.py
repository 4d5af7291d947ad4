"""What is asked for when a booking is written, and what is refused before anything is stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from guiding.bookings.models import FISH, Booking, PartyMember
from guiding.clients.models import Person
from guiding.rivers.models import AccessPoint, Beat, Part, Water

LONGEST_PART = timedelta(hours=24)


class BookingRefused(ValueError):
    """A booking that cannot be written as asked; nothing of it was stored."""


class PlaceTaken(BookingRefused):
    """Fewer places are free than the party needs."""

    def __init__(self, *, water: str, day: date, part: str, wanted: int, free: int) -> None:
        self.water, self.day, self.part, self.wanted, self.free = water, day, part, wanted, free
        super().__init__(f"{water}, {day.isoformat()} {part}: {wanted} wanted, {free} free.")


class PersonBusy(BookingRefused):
    """Somebody of the party already fishes in that part of that day."""

    def __init__(self, *, person: str, day: date, part: str) -> None:
        self.person, self.day, self.part = person, day, part
        super().__init__(f"{person} already fishes on {day.isoformat()} in the {part}.")


class ResourceTaken(BookingRefused):
    """A guide, ghillie or boat is out with somebody else in that part of that day."""

    def __init__(self, *, resource: str, day: str, part: str) -> None:
        super().__init__(f"{resource} is out with another party on {day} in the {part}.")


class NotForSale(BookingRefused):
    """The place may not be sold, or nothing is known and nobody has given their word."""


class HoldExpired(BookingRefused):
    """An offer whose places are no longer held."""


class AlreadyDecided(BookingRefused):
    """The booking is no longer in a state from which this can be done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartyWanted:
    """One person of a party, and what they are there for."""

    person: Person
    role: str
    shares_with: Person | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWanted:
    """One part of one day. A night belongs to the date on which it begins."""

    date: date
    part: str
    beat: Beat
    meeting_point: AccessPoint
    meets_at: datetime
    ends_at: datetime


JUNIOR_UNDER = 16  # common practice, no source: owners and licences draw it where they will


def is_junior(person: Person, day: date) -> bool:
    """Say whether somebody is a junior on a day, by age or, where none is held, as marked."""
    age = person.age_on(day)
    return person.is_junior if age is None else age < JUNIOR_UNDER


def check_part(part: str) -> None:
    """Refuse a part of the day that is not one."""
    if part not in Part.values:
        raise BookingRefused(f"part is {part!r}; it is one of {', '.join(Part.values)}.")


def check_party(party: tuple[PartyWanted, ...], payer: Person) -> None:
    """Refuse a party without a rod, with a stray role, or with a rod shared with a stranger."""
    roles = PartyMember.Role
    rods = {wanted.person.pk for wanted in party if wanted.role == roles.ROD}
    seen: set[int] = set()
    if not rods:
        raise BookingRefused("A party needs at least one rod.")
    for wanted in party:
        name = wanted.person.name
        if wanted.role not in roles.values:
            raise BookingRefused(
                f"{name}: role is {wanted.role!r}; it is one of {', '.join(roles.values)}."
            )
        if wanted.person.pk in seen:
            raise BookingRefused(f"{name} is in the party twice.")
        seen.add(wanted.person.pk)
        if wanted.role == roles.PAYER and wanted.person.pk != payer.pk:
            raise BookingRefused(f"{name} is down as paying, but {payer.name} is the payer.")
        if (wanted.role == roles.SHARES) != (wanted.shares_with is not None):
            raise BookingRefused(f"{name}: say with whom, if and only if the rod is shared.")
        if wanted.shares_with is not None and wanted.shares_with.pk not in rods:
            raise BookingRefused(
                f"{name} shares with {wanted.shares_with.name}, who is not a rod of this party."
            )


def check_days(days: tuple[DayWanted, ...], water: Water) -> None:
    """Refuse days of another water, without an order in time, or on another date than they say."""
    if not days:
        raise BookingRefused("A booking needs at least one day.")
    seen: set[tuple[date, str]] = set()
    for day in days:
        where = f"{day.date.isoformat()} {day.part}"
        check_part(day.part)
        if (day.date, day.part) in seen:
            raise BookingRefused(f"{where} is asked for twice.")
        seen.add((day.date, day.part))
        if day.beat.water_id != water.pk:
            raise BookingRefused(f"{where}: beat {day.beat} is not on {water}.")
        if day.meeting_point.water_id != water.pk:
            raise BookingRefused(f"{where}: meeting point {day.meeting_point} is not on {water}.")
        if day.meets_at.tzinfo is None or day.ends_at.tzinfo is None:
            raise BookingRefused(f"{where}: the times need a zone.")
        if not timedelta(0) < day.ends_at - day.meets_at <= LONGEST_PART:
            raise BookingRefused(
                f"{where}: it meets at {day.meets_at:%H:%M} and ends at {day.ends_at:%H:%M}; "
                "the end must come after the meeting, within 24 hours."
            )
        begins_on = water.river.day_of(day.meets_at)
        if begins_on != day.date:
            raise BookingRefused(
                f"{where}: the meeting falls on {begins_on.isoformat()} on the {water.river}; "
                "a part of the day, a night too, belongs to the date on which it begins."
            )


def check_state(state: str, fish: str, at: datetime, held_until: datetime | None) -> None:
    """Refuse a state that cannot be taken, and an offer without an end (or the reverse)."""
    takeable = [name for name in Booking.State.values if name != Booking.State.CANCELLED]
    if state not in takeable:
        raise BookingRefused(f"state is {state!r}; it is one of {', '.join(takeable)}.")
    fishes = [value for value, _ in FISH]
    if fish not in fishes:
        raise BookingRefused(f"fish is {fish!r}; it is one of {', '.join(fishes)}.")
    if state == Booking.State.OFFERED and (held_until is None or held_until <= at):
        raise BookingRefused("An offer needs a moment ahead until which its places are held.")
    if state != Booking.State.OFFERED and held_until is not None:
        raise BookingRefused(f"Only an offer is held until a moment; the state is {state!r}.")
