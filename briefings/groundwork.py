"""Everything that one issue of a trip is written from, read once for all its readers.

After this nothing is asked of the database: what a pack says follows from a Groundwork alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from briefings import gather, loans, pools
from briefings.advice import Advice, advise
from briefings.cautions.day import Danger, Ground
from briefings.kit.person import KitList
from briefings.pack import river_pages
from briefings.pools import PoolWading
from briefings.trips import NothingToBrief, Trip, beats_of, next_day, read_trip
from guiding.accounts.models import User
from guiding.bookings.models import Booking, TripDay
from guiding.gauges.conditions.values import Given
from guiding.gauges.models import Forecast
from guiding.gauges.outlook import outlook_for
from guiding.gauges.usual import usual_level
from guiding.rivers.models import AccessPoint, Beat, River
from guiding.sun import light_on
from guiding.tackle.stock import tackle_box

TOO_SHORT = "The record is too short to say what is usual that week."


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the day with what is advised for it."""

    day: TripDay
    advice: Advice
    wading: tuple[PoolWading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """The usual water of that week at the beat's gauge, for an issue too early for a forecast."""

    gauge: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Groundwork:
    """What one issue is written from. `parts` is empty in a first issue: it is too early."""

    trip: Trip
    issue: str  # "first" or "final"
    at: datetime
    guide: User
    covered: tuple[TripDay, ...]  # the days that the issue is about
    parts: tuple[Part, ...]
    grounds: tuple[Ground, ...]  # of the beats that are covered
    access: tuple[AccessPoint, ...]  # the ways to the pools of those beats
    kits: Mapping[int, KitList]  # by party member
    usual: Usual | None
    credits: tuple[str, ...]

    @property
    def dangers(self) -> tuple[Danger, ...]:
        """Return conditions and ground of every part, or the ground alone where it is early.

        Power lines, hazards and bottoms are of all beats in each: none may hide behind another.
        """
        whole = merged(self.grounds)
        if not self.parts:
            regimes = dict.fromkeys(ground.regime for ground in self.grounds)
            return tuple((None, replace(whole, regime=regime)) for regime in regimes)
        return tuple(
            (part.advice.conditions, replace(whole, regime=part.day.beat.regime))
            for part in self.parts
        )

    @property
    def forecasts(self) -> tuple[Forecast, ...]:
        """Return the forecasts that this issue was made from, one a gauge, in the day's order."""
        used = (part.advice.outlook.forecast for part in self.parts)
        return tuple(dict.fromkeys(forecast for forecast in used if forecast))


def lay_groundwork(booking: Booking, *, issue: str, at: datetime) -> Groundwork:
    """Read all that one issue of a booking needs, as known at a moment."""
    if issue not in ("first", "final"):
        raise ValueError(f"issue is {issue!r}; it is first or final.")
    if not Booking.objects.standing().filter(pk=booking.pk).exists():
        raise NothingToBrief(f"{booking.reference} was called off: there is nothing to brief.")
    trip = read_trip(booking)
    guide = gather.guide_on_file()
    if guide is None:
        raise NothingToBrief("No guide has an account yet, and a pack must say who to call.")
    day = next_day(trip, at)
    covered = tuple(row for row in trip.days if issue == "first" or row.date == day)
    parts = advise_day(trip, day, at) if issue == "final" else ()
    beats = beats_of(covered)
    return Groundwork(
        trip=trip,
        issue=issue,
        at=at,
        guide=guide,
        covered=covered,
        parts=parts,
        grounds=tuple(gather.ground_of(b, people=trip.people_on_the_bank) for b in beats),
        access=tuple(AccessPoint.objects.filter(pool__beat__in=beats).select_related("pool")),
        kits=loans.kits_on(
            [row.date for row in covered],
            [part.advice.conditions for part in parts] or [None],
            noon_sun_deg=_noon_sun_deg(trip.river, covered[0].date),
        ),
        usual=None if parts else _usual(beats[0], covered[0].date, at),
        credits=river_pages.credit_lines(trip.river),
    )


def advise_day(trip: Trip, day: date, at: datetime) -> tuple[Part, ...]:
    """Return what is advised for each part of one day of a trip, as known at a moment."""
    box, rules = tackle_box(), gather.rules_on_file()
    people = [member.person for member in trip.fishing]
    parts = []
    for row in trip.days:
        if row.date != day:
            continue
        outlook = outlook_for(row.beat, row.date, row.part, at=at, given=Given())
        advice = advise(
            outlook,
            box,
            rules,
            gather.ground_of(row.beat, people=trip.people_on_the_bank),
            at=at,
            fish=trip.booking.fish,
            casting=trip.least_casting,
            rods=max(trip.rods, 1),
        )
        judged = pools.wading_on(row.beat, people, outlook, row.date)
        parts.append(Part(day=row, advice=advice, wading=judged))
    return tuple(parts)


def merged(grounds: Sequence[Ground]) -> Ground:
    """Return one ground for several beats: every line, hazard and bottom; the first's regime."""
    return Ground(
        regime=grounds[0].regime,
        power_lines=tuple(dict.fromkeys(line for g in grounds for line in g.power_lines)),
        hazards=tuple(dict.fromkeys(line for g in grounds for line in g.hazards)),
        bottoms=tuple(sorted({name for ground in grounds for name in ground.bottoms})),
        people_on_the_bank=grounds[0].people_on_the_bank,
    )


def _noon_sun_deg(river: River, day: date) -> float | None:
    return light_on(day, river.latitude, river.longitude, river.zoneinfo).sun_at_noon_deg


def _usual(beat: Beat, day: date, at: datetime) -> Usual | None:
    if not beat.is_natural:
        return None  # what the gauge reads is another water's level
    link = beat.gauge_links.select_related("gauge__river").order_by("order", "pk").first()
    if link is None:
        return None
    usual = usual_level(link.gauge, day, at=at)
    return Usual(gauge=link.gauge.name, words=usual.words if usual else TOO_SHORT)
