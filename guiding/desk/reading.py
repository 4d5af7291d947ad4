"""The river read for one trip's next day, as the Trip page shows it before anything is issued."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from briefings import pools
from briefings.compose import Part, advise_day, next_day, read_trip
from briefings.content import PoolStop
from briefings.pages import setup_sentence, stop_rows
from guiding.bookings.models import Booking, PartyMember

READABLE_AHEAD = timedelta(days=5)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaderRow:
    """One person: the client's words, and the guide's levels pool by pool."""

    name: str
    words: str
    stops: tuple[PoolStop, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartReading:
    """One part of the day in words."""

    part: str
    beat: str
    worth_going: str
    why: tuple[str, ...]
    cautions: tuple[str, ...]
    setup: str
    how: str
    waders: tuple[WaderRow, ...]


def read_ahead(booking: Booking, at: datetime, units: str) -> tuple[PartReading, ...]:
    """Return the readings of the next day, or none where it is too far off to be read."""
    trip = read_trip(booking)
    day = next_day(trip, at)
    if trip.river.moment(day, datetime.min.time()) - at > READABLE_AHEAD:
        return ()
    return tuple(_reading(part, trip.coming, units) for part in advise_day(trip, day, at))


def _reading(part: Part, coming: tuple[PartyMember, ...], units: str) -> PartReading:
    chosen = part.advice.rig
    return PartReading(
        part=part.day.get_part_display(),
        beat=part.day.beat.name,
        worth_going=chosen.worth_going.replace("_", " "),
        why=chosen.why,
        cautions=tuple(caution.text for caution in part.advice.cautions),
        setup=setup_sentence(chosen.setup, units) if chosen.setup else "",
        how=chosen.setup.how if chosen.setup else "",
        waders=tuple(_wader(part, member) for member in coming),
    )


def _wader(part: Part, member: PartyMember) -> WaderRow:
    mine = [row for row in part.wading if row.person.pk == member.person_id]
    return WaderRow(
        name=member.person.name,
        words=pools.client_words(mine, comes_to_fish=member.role != PartyMember.Role.GUEST),
        stops=stop_rows(mine),
    )
