"""The river read for one trip's next day, as the Trip page shows it before anything is issued."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime, time, timedelta

from briefings import pools
from briefings.cautions import day as cautions
from briefings.groundwork import Groundwork, Part, lay_groundwork
from briefings.pack.compose import name_of
from briefings.pack.content import PoolStop, River
from briefings.pack.guide_tables import stop_rows
from briefings.pack.pages import setup_sentence
from briefings.pack.river_pages import river_page
from guiding.bookings.models import Booking, PartyMember
from guiding.charts.river import river_chart

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

    name: str
    worth_going: str
    why: tuple[str, ...]
    setup: str
    how: str
    out_by: str  # on moved water: when everybody is out
    waders: tuple[WaderRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A trip's next day: danger first, then the river, then each part, then every caution."""

    danger: str
    river: River | None  # None where the day is too far off to be read
    usual: str  # then: the usual water of that week
    wide_chart: str
    phone_chart: str
    parts: tuple[PartReading, ...]
    cautions: tuple[str, ...]


def read_ahead(booking: Booking, day: date, at: datetime, units: str) -> Reading:
    """Return the reading of a booking's next day, from what its next pack would be written from.

    Raises NothingToBrief where no guide is on file yet.
    """
    is_near = booking.water.river.moment(day, time()) - at <= READABLE_AHEAD
    ground = lay_groundwork(booking, issue="final" if is_near else "first", at=at)
    river = _river(ground)
    return Reading(
        danger=cautions.danger_line_over(ground.dangers, ""),
        river=river,
        usual=ground.usual.words if ground.usual else "",
        wide_chart=_chart(river, 736, 400, "page"),
        phone_chart=_chart(river, 358, 460, "phone"),
        parts=tuple(_reading(part, ground.trip.coming, units) for part in ground.parts),
        cautions=tuple(reason.text for reason in cautions.for_parts(ground.dangers)),
    )


def _river(ground: Groundwork) -> River | None:
    if not ground.parts:
        return None
    return river_page(
        [part.advice.outlook for part in ground.parts],
        ground.trip.river.zoneinfo,
        at=ground.at,
        names=[name_of(part) for part in ground.parts],
    )


def _chart(river: River | None, width: float, height: float, layout: str) -> str:
    if river is None or river.picture is None:
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
    name = name_of(part)
    return PartReading(
        name=name[:1].upper() + name[1:],
        worth_going=chosen.worth_going.replace("_", " "),
        why=chosen.why,
        setup=setup_sentence(chosen.setup, units) if chosen.setup else "",
        how=chosen.setup.how if chosen.setup else "",
        out_by=part.advice.conditions.out_by_words,
        waders=tuple(_wader(part, member) for member in coming),
    )


def _wader(part: Part, member: PartyMember) -> WaderRow:
    mine = [row for row in part.wading if row.person.pk == member.person_id]
    return WaderRow(
        name=member.person.name,
        words=pools.client_words(mine, comes_to_fish=member.role != PartyMember.Role.GUEST),
        stops=stop_rows([("", mine)]),
    )
