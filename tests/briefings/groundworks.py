"""A groundwork in memory: rows that were never stored, with a river, a box and people of choice."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

from briefings.advice import advise
from briefings.cautions.shape import Ground
from briefings.groundwork import Groundwork, Part, Usual
from briefings.kit.person import LoanStock
from briefings.loans import share_out
from briefings.pools import MeasuredPool, judge_pools
from briefings.trips import Trip
from briefings.wading.judge import Sounding
from guiding.accounts.models import User
from guiding.bookings.models import Booking, PartyMember, TripDay
from guiding.clients.models import Person
from guiding.gauges.conditions.values import Conditions
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.models import Gauge
from guiding.gauges.outlook import Outlook
from guiding.rivers.models import AccessPoint, Beat, Pool, River, Water
from guiding.tackle.setup import TackleBox
from tests.briefings.boxes import FULL_BOX, RULES

DAY = date(2026, 6, 24)
MARKS = tuple(
    MarkLevel(kind=kind, name=name, level_m=level_m, seen=seen)
    for kind, name, level_m, seen in (
        ("summer", "summer level", 0.30, "gravel bar dry"),
        ("good", "good", 0.40, "flat stone covered"),
        ("high", "high", 0.90, ""),
        ("big", "big", 1.10, "fence post wet"),
        ("over_bank", "over the bank", 2.40, ""),
    )
)
LOANS = (
    LoanStock(
        kind="waders",
        size="medium",
        smallest_foot_eu=39,
        largest_foot_eu=44,
        smallest_height_m=1.6,
        largest_height_m=1.9,
        left=1,
    ),
)


def make_person_row(pk: int, **changes: Any) -> Person:
    """Return a person who was never stored."""
    return Person(**{"pk": pk, "name": f"Ada Reed {pk}", **changes})


def make_outlook(conditions: Conditions, record: ForecastRecord | None = None) -> Outlook:
    """Return conditions with the rows they might have been read from."""
    return Outlook(
        conditions=conditions,
        gauge=Gauge(pk=1, name="Alder Bridge", step_minutes=60),
        forecast=None,
        record=record,
        levels=((conditions.asked_at - timedelta(hours=1), 0.35),),
        marks=MARKS,
        gauge_starts_at=conditions.starts_at,
        gauge_ends_at=conditions.ends_at,
    )


def make_groundwork(
    outlooks: Sequence[Outlook],
    people: Sequence[tuple[Person, str]],
    *,
    box: TackleBox = FULL_BOX,
    soundings: Sequence[Sequence[Sounding]] = (),
    over_bank_on: date | None = None,
    fish: str = "salmon",
    issue: str = "final",
    power_lines: tuple[str, ...] = (),
) -> Groundwork:
    """Return what an issue is written from: one beat a part, one pool a row of soundings."""
    river = River(pk=1, name="River Test", latitude=57.5, longitude=-4.5, zone="Europe/London")
    water = Water(pk=1, river=river, name="Middle Water", rods_a_day=4, fishery_rules="Fly only.")
    booking = Booking(pk=1, reference="T-1", water=water, fish=fish)
    gate = AccessPoint(pk=1, water=water, name="White gate", latitude=57.51, longitude=-4.49)
    members = _party(booking, people)
    grounds, days, covered = [], [], []
    for number, outlook in enumerate(outlooks, start=1):
        conditions = outlook.conditions
        beat = Beat(pk=number, water=water, name=f"Beat {number}", regime=conditions.regime)
        days.append(
            TripDay(
                pk=number,
                booking=booking,
                date=conditions.day,
                part=conditions.part,
                beat=beat,
                meeting_point=gate,
                meets_at=conditions.starts_at,
                ends_at=conditions.ends_at,
            )
        )
        grounds.append(
            Ground(
                regime=beat.regime,
                power_lines=power_lines,
                hazards=(),
                bottoms=(),
                people_on_the_bank=len([m for m in members if m.comes]) + 1,
            )
        )
    trip = Trip(booking=booking, river=river, days=tuple(days), party=members)
    at = outlooks[0].conditions.asked_at
    if issue == "final":
        for day, outlook, ground in zip(days, outlooks, grounds, strict=True):
            advice = advise(
                outlook,
                box,
                RULES,
                ground,
                at=at,
                fish=fish,
                casting=trip.least_casting,
                rods=max(trip.rods, 1),
            )
            pools = [
                MeasuredPool(
                    pool=Pool(pk=n, beat=day.beat, name=f"Pool {n}"),
                    soundings=tuple(rows),
                    ratio=1.0,
                )
                for n, rows in enumerate(soundings, start=1)
            ]
            judged = judge_pools(
                pools,
                [member.person for member in trip.fishing],
                outlook,
                day.date,
                over_bank_on=over_bank_on,
            )
            covered.append(Part(day=day, advice=advice, wading=judged))
    conditions_of = [part.advice.conditions for part in covered] or [None]
    return Groundwork(
        trip=trip,
        issue=issue,
        at=at,
        guide=User(pk=1, username="guide", first_name="Ruan", last_name="Tolmer", phone="0123"),
        covered=tuple(days),
        parts=tuple(covered),
        grounds=tuple(grounds),
        access=(),
        kits=share_out(trip.coming, LOANS, days[0].date, conditions_of),
        usual=None if covered else Usual(gauge="Alder Bridge", words="About 0.40 m."),
        credits=(),
    )


def _party(booking: Booking, people: Sequence[tuple[Person, str]]) -> tuple[PartyMember, ...]:
    members: list[PartyMember] = []
    for number, (person, role) in enumerate(people, start=1):
        partner = members[0] if role == "shares" and members else None
        members.append(
            PartyMember(pk=number, booking=booking, person=person, role=role, shares_with=partner)
        )
    return tuple(members)


def hours_from(day: date, hour: int) -> datetime:
    """Return an aware moment of a day."""
    return datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
