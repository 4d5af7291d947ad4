"""A stored trip on an invented river: gauge with a record and a forecast, pools, guide, box."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from guiding.accounts.models import User
from guiding.bookings.models import Booking
from guiding.bookings.wanted import PartyWanted
from guiding.clients.models import Person
from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.models import Forecast, Gauge, Mark, Sounding
from guiding.rivers.models import Beat, Pool
from guiding.tackle import models as tackle
from tests.briefings.boxes import FULL_BOX
from tests.factories import (
    make_beat,
    make_booking,
    make_day,
    make_gauge,
    make_person,
    make_readings,
)

AT = datetime(2026, 5, 27, 17, 0, tzinfo=UTC)  # the evening before
DAY = date(2026, 5, 28)
MARKS = {"summer": 0.30, "good": 0.40, "high": 0.90, "big": 1.10, "over_bank": 2.40}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """Rows of one trip."""

    booking: Booking
    beat: Beat
    gauge: Gauge
    forecast: Forecast
    people: tuple[Person, ...]

    @property
    def ada(self) -> Person:
        """Return the first rod, a fit adult used to wading."""
        return self.people[0]


def store_trip(*, rods: int = 1, pools: int = 2, others: tuple[Any, ...] = ()) -> Stored:
    """Store a one-morning trip of so many rods, with `others` (person, role) besides."""
    User.objects.create_user(
        "ruan", first_name="Ruan", last_name="Tolmer", phone="01632 960101", role=User.Role.GUIDE
    )
    store_box()
    beat = make_beat()
    gauge = make_gauge(beat)
    for kind, level_m in MARKS.items():
        Mark.objects.create(gauge=gauge, kind=kind, level_m=level_m, seen=f"stone {kind[:1]}")
    hours = [AT - timedelta(hours=n) for n in range(24 * 15, 0, -1)]
    make_readings(gauge, "level_m", [(moment, 0.35) for moment in hours])
    make_readings(gauge, "water_c", [(moment, 12.0) for moment in hours])
    make_readings(gauge, "visibility_cm", [(hours[-1], 150.0)])
    for number in range(1, pools + 1):
        pool = Pool.objects.create(beat=beat, name=f"Pool {number}", order=number, bottom="gravel")
        Sounding.objects.create(
            pool=pool,
            gauge=gauge,
            level_m=0.35,
            depth_m=0.35,
            speed_ms=0.5,
            measured_on=DAY - timedelta(days=20),
        )
    people = tuple(
        make_person(
            name=f"Ada Reed {number}",
            short_name=f"Ada{number}",
            height_m=1.80,
            mass_kg=80,
            born_on=date(1980, 1, 1),
            wading="used",
            casting="used",
            hand="right",
        )
        for number in range(1, rods + 1)
    )
    party = tuple(PartyWanted(person=person, role="rod") for person in people)
    party += tuple(PartyWanted(person=person, role=role) for person, role in others)
    booking = make_booking(
        reference="T-BRIEF",
        party=party,
        payer=next((p for p, role in others if role == "payer"), people[0]),
        days=(make_day(beat.water, DAY, beat=beat),),
    )
    return Stored(
        booking=booking,
        beat=beat,
        gauge=gauge,
        forecast=store_forecast(gauge, at=AT, level_m=0.35),
        people=people,
    )


def store_forecast(gauge: Gauge, *, at: datetime, level_m: float) -> Forecast:
    """Store a forecast of a nearly steady level, two centimetres up and down."""
    steps = 120
    paths = np.repeat(np.linspace(level_m - 0.02, level_m + 0.02, 21)[:, None], steps, axis=1)
    low, middle, high = np.quantile(paths, [0.1, 0.5, 0.9], axis=0)
    record = ForecastRecord(
        issued_at=at,
        model="steady",
        step_minutes=60,
        times=tuple(at + timedelta(hours=n) for n in range(1, steps + 1)),
        q10=tuple(float(v) for v in low),
        q50=tuple(float(v) for v in middle),
        q90=tuple(float(v) for v in high),
        paths=paths,
        inputs=(),
    )
    forecast = Forecast.from_record(record, gauge=gauge)
    forecast.save()
    return forecast


def store_box() -> None:
    """Store the full box of the set-up's tests."""
    for fly in FULL_BOX.flies:
        pattern, _ = tackle.FlyPattern.objects.get_or_create(
            name=fly.pattern,
            defaults={
                "role": fly.role,
                "colours": list(fly.colours),
                "is_surface_lure": fly.is_surface_lure,
            },
        )
        tackle.Fly.objects.get_or_create(
            pattern=pattern,
            length_mm=fly.length_mm,
            is_tube=fly.is_tube,
            dressing=fly.dressing,
            weight_g=fly.weight_g,
            defaults={"hook_size": fly.hook_size, "hook": fly.hook, "count": 3},
        )
    for line in FULL_BOX.lines:
        tackle.Line.objects.create(name=line.name, kind=line.kind, takes_tips=line.takes_tips)
    for tip in FULL_BOX.tips:
        tackle.Tip.objects.create(name=tip.name, length_m=tip.length_m, sink_ips=3)
    for spool in FULL_BOX.materials:
        tackle.LeaderMaterial.objects.create(material=spool.material, diameter_mm=spool.diameter_mm)
