"""The river read for one trip's next day, as the Trip page shows it before anything is issued."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta

from briefings import cautions, gather, pools
from briefings.content import PoolStop, River
from briefings.groundwork import Part, advise_day
from briefings.guide_tables import stop_rows
from briefings.pages import setup_sentence
from briefings.river_pages import river_page
from briefings.trips import Trip, next_day, read_trip
from guiding.bookings.models import Booking, PartyMember
from guiding.charts import river_chart

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
    setup: str
    how: str
    waders: tuple[WaderRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A trip's next day: danger first, then the river, then each part, then every caution."""

    dangers: tuple[str, ...]
    river: River | None  # None where the day is too far off to be read
    wide_chart: str
    phone_chart: str
    parts: tuple[PartReading, ...]
    cautions: tuple[str, ...]


def read_ahead(booking: Booking, at: datetime, units: str) -> Reading:
    """Return the reading of a booking's next day; too far off, only what holds on any river."""
    trip = read_trip(booking)
    day = next_day(trip, at)
    if trip.river.moment(day, datetime.min.time()) - at > READABLE_AHEAD:
        return _unread(trip, day)
    parts = advise_day(trip, day, at)
    river = river_page([part.advice.outlook for part in parts], trip.river.zoneinfo, at=at)
    said = {caution.text: None for part in parts for caution in part.advice.cautions}
    people = len(trip.coming) + 1
    dangers = {
        cautions.danger_line(
            part.advice.conditions, gather.ground_of(part.day.beat, people=people), ""
        ): None
        for part in parts
    }
    return Reading(
        dangers=tuple(dangers),
        river=river,
        wide_chart=_chart(river, 736, 340, "page"),
        phone_chart=_chart(river, 358, 340, "phone"),
        parts=tuple(_reading(part, trip.coming, units) for part in parts),
        cautions=tuple(said),
    )


def _unread(trip: Trip, day: date) -> Reading:
    beat = next(row.beat for row in trip.days if row.date == day)
    ground = gather.ground_of(beat, people=len(trip.coming) + 1)
    return Reading(
        dangers=(cautions.danger_line(None, ground, ""),),
        river=None,
        wide_chart="",
        phone_chart="",
        parts=(),
        cautions=tuple(reason.text for reason in cautions.for_day(None, ground)),
    )


def _chart(river: River, width: float, height: float, layout: str) -> str:
    if not river.picture:
        return ""
    return river_chart(
        asdict(river.picture),
        width=width,
        height=height,
        layout=layout,
        title=f"River level at {river.gauge}",
        description=f"{river.sentence} {river.detail}",
    )


def _reading(part: Part, coming: tuple[PartyMember, ...], units: str) -> PartReading:
    chosen = part.advice.rig
    return PartReading(
        part=part.day.get_part_display(),
        beat=part.day.beat.name,
        worth_going=chosen.worth_going.replace("_", " "),
        why=chosen.why,
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
