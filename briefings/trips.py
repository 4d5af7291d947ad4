"""A booking's rows as one value: who comes, on which days, to which beats."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from guiding.bookings.models import Booking, PartyMember, TripDay
from guiding.clients.models import Person
from guiding.rivers.models import Beat, River

FINAL_ISSUE_AT = time(18, 0)
JUNIOR_UNDER = 16


class NothingToBrief(Exception):
    """The booking has no day to come, or the reader gets no pack of it; the message says which."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """A booking's rows, read once for every reader of one issue; the days in order of time."""

    booking: Booking
    river: River
    days: tuple[TripDay, ...]
    party: tuple[PartyMember, ...]

    @property
    def coming(self) -> tuple[PartyMember, ...]:
        """Return who will stand on the bank."""
        return tuple(member for member in self.party if member.comes)

    @property
    def fishing(self) -> tuple[PartyMember, ...]:
        """Return who comes to fish, whether with a rod or sharing one."""
        return tuple(m for m in self.coming if m.role != PartyMember.Role.GUEST)

    @property
    def rods(self) -> int:
        """Return how many rods are fished: two who share count once."""
        return sum(member.role == PartyMember.Role.ROD for member in self.party)

    @property
    def people_on_the_bank(self) -> int:
        """Return how many stand there, the guide among them."""
        return len(self.coming) + 1

    @property
    def least_casting(self) -> str | None:
        """Return how well the least practised casts; one unknown makes it unknown."""
        levels = [member.person.casting for member in self.fishing]
        if not levels or "" in levels:
            return None
        return min(levels, key=["novice", "used", "strong"].index)

    def in_charge_of(self, member: PartyMember) -> tuple[PartyMember, ...]:
        """Return the juniors whom somebody answers for on the bank.

        Nobody is written down as that, so it is, in this order: who shares a rod with the junior,
        the payer, every grown-up who comes.
        """
        if self._is_junior(member):
            return ()
        grown_up = [one for one in self.coming if not self._is_junior(one)]
        found = []
        for junior in self.coming:
            if not self._is_junior(junior):
                continue
            sharing = [one for one in grown_up if _share(one, junior)]
            paying = [one for one in grown_up if one.person_id == self.booking.payer_id]
            if member in (sharing or paying or grown_up):
                found.append(junior)
        return tuple(found)

    def _is_junior(self, member: PartyMember) -> bool:
        age = member.person.age_on(self.days[0].date)
        return member.person.is_junior if age is None else age < JUNIOR_UNDER

    def member_for(self, person: Person) -> PartyMember:
        """Return a reader's place in the party; refuse whoever does not come."""
        for member in self.party:
            if member.person_id != person.pk:
                continue
            if member.comes:
                return member
            raise NothingToBrief(
                f"{person.name} only pays for {self.booking.reference} and gets no pack."
            )
        raise NothingToBrief(f"{person.name} does not come on {self.booking.reference}.")


def _share(one: PartyMember, other: PartyMember) -> bool:
    return one.pk == other.shares_with_id or other.pk == one.shares_with_id


def read_trip(booking: Booking) -> Trip:
    """Read a booking's rows."""
    days = booking.days.select_related("beat__water__river", "meeting_point__pool")
    return Trip(
        booking=booking,
        river=booking.water.river,
        days=tuple(
            days.prefetch_related(
                "beat__pools__soundings", "beat__pools__gauge_ratios", "beat__water__part_hours"
            ).order_by("meets_at")
        ),
        party=tuple(booking.party.select_related("person", "shares_with__person")),
    )


def next_day(trip: Trip, at: datetime) -> date:
    """Return the fishing day that a final issue written now is about."""
    for day in trip.days:
        if day.ends_at > at:
            return day.date
    raise NothingToBrief(f"{trip.booking.reference} has no day left to brief.")


def valid_until(trip: Trip, *, issue: str, at: datetime) -> datetime:
    """Return when an issue stops speaking: the first until the final one, that until you meet."""
    day = next_day(trip, at)
    first_meeting = next(row.meets_at for row in trip.days if row.date == day)
    if issue == "final":
        return max(first_meeting, at + timedelta(hours=1))
    evening_before = trip.river.moment(day - timedelta(days=1), FINAL_ISSUE_AT)
    return evening_before if evening_before > at else max(first_meeting, at + timedelta(hours=1))


def beats_of(days: tuple[TripDay, ...]) -> tuple[Beat, ...]:
    """Return the beats in the order in which they are fished, each once."""
    return tuple({day.beat_id: day.beat for day in days}.values())
