"""The invented season -> rows: all of it or nothing, once a database."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from django.db import transaction

from guiding.bookings.actions import open_places, take_booking
from guiding.bookings.models import Booking
from guiding.bookings.wanted import DayWanted, PartyWanted
from guiding.clients.models import Person
from guiding.desk.demo.box import fill_box
from guiding.desk.demo.database import ABOUT, LOADED
from guiding.desk.demo.outings import TRIPS, Trip
from guiding.desk.demo.people import GUESTS, guest_row
from guiding.desk.demo.season import SEED, THREE_YEARS_H, Season, make_season
from guiding.desk.demo.sign_in import make_house
from guiding.desk.demo.weather import weather_document
from guiding.gauges.actions import store_readings
from guiding.gauges.models import Gauge, Quantity, WeatherRun
from guiding.gauges.providers import metno
from guiding.gauges.waterfile.loading import load_water
from guiding.history.models import record
from guiding.regimes.actions import keep_schedule
from guiding.regimes.models import Dam
from guiding.regimes.releases import Release
from guiding.rivers.models import AccessPoint, Beat, Part, Water

VALLEY = Path(__file__).with_name("valley.toml")
SOURCE = "invented season of the demo"
WEATHER_SOURCE = "invented weather of the demo"
OPEN_FROM_DAYS, OPEN_TO_DAYS = -10, 60
HOURLY = (Quantity.LEVEL, Quantity.RAIN, Quantity.AIR, Quantity.WATER)

Say = Callable[[str], Any]


@transaction.atomic
def load_season(
    *, anchor: datetime, words: dict[str, str], say: Say, hours: int = THREE_YEARS_H
) -> None:
    """Write the whole scene as of the anchor, a full hour, and the event that keeps the anchor."""
    make_house(words)
    load_water(valley(anchor.date()), at=anchor)
    fill_box()
    say("river, waters, pools, soundings, tackle")
    gauge = Gauge.objects.get()
    season = make_season(until=anchor, hours=hours)
    write_record(gauge, season, anchor)
    say(f"{hours} hours of level, rain, air and water temperature")
    write_bookings(anchor)
    write_schedule(anchor)
    say(f"{len(GUESTS)} people, {len(TRIPS)} bookings")
    record(
        LOADED,
        ABOUT,
        at=anchor,
        after={"anchor": anchor.isoformat(), "hours": hours, "seed": SEED},
    )


def valley(day: date) -> dict[str, Any]:
    """Return the valley's document, each sounding on the last such day at least a week ago."""
    document = tomllib.loads(VALLEY.read_text())
    for water in document["water"]:
        for beat in water["beat"]:
            for pool in beat["pool"]:
                for sounding in pool["sounding"]:
                    measured_on = sounding["measured_on"].replace(year=day.year)
                    if measured_on > day - timedelta(days=7):
                        measured_on = measured_on.replace(year=day.year - 1)
                    sounding["measured_on"] = measured_on
    return document


def write_record(gauge: Gauge, season: Season, anchor: datetime) -> None:
    """Write every series of the record, and the weather run for the days after it."""
    for quantity in HOURLY:
        store_readings(gauge, quantity, season.rows(quantity), at=anchor, name=SOURCE)
    looks = season.visibility_rows()
    store_readings(gauge, Quantity.VISIBILITY, looks, at=anchor, name=SOURCE)
    document = weather_document(
        season,
        latitude=gauge.latitude,
        longitude=gauge.longitude,
        altitude_m=gauge.altitude_m or 0,
    )
    read = metno.read_run(document)
    # written here, for the action that keeps such files says that they are MET Norway's own
    WeatherRun.objects.create(
        gauge=gauge,
        issued_at=read.issued_at,
        fetched_at=anchor,
        source=WEATHER_SOURCE,
        raw=read.raw,
        steps=[step.as_json() for step in read.steps],
    )


def write_bookings(anchor: datetime) -> None:
    """Write the people, open the places, and take the bookings, each when it was made."""
    waters = {water.name: water for water in Water.objects.select_related("river")}
    today = next(iter(waters.values())).river.day_of(anchor)
    people = {key: guest_row(guest, today) for key, guest in GUESTS.items()}
    for person in people.values():
        person.save()
    first, last = (today + timedelta(days=n) for n in (OPEN_FROM_DAYS, OPEN_TO_DAYS))
    for water in waters.values():
        open_places(water, first, last, Part.values, at=anchor)
    for trip in TRIPS:
        _book(trip, waters[trip.water], people, anchor, today)


def write_schedule(anchor: datetime) -> None:
    """Write tomorrow's schedule of the dam: a release in the evening. No other day has one."""
    dam = Dam.objects.select_related("river").get()
    tomorrow = dam.river.day_of(anchor) + timedelta(days=1)
    water = dam.beat_links.select_related("beat__water").get().beat.water
    evening = next(h for h in water.part_hours.filter(part=Part.EVENING) if h.holds_on(tomorrow))
    starts = evening.starts.replace(hour=evening.starts.hour + 1)
    keep_schedule(
        dam,
        tomorrow,
        (Release(starts=starts, ends=starts.replace(hour=starts.hour + 3), flow="12 m3/s"),),
        said_by="the control room (invented)",
        said_at=anchor,
        at=anchor,
    )


def reference(trip: Trip, anchor: datetime) -> str:
    """Return a trip's reference, such as 2026-004."""
    return f"{anchor.year}-{trip.number:03d}"


def _book(
    trip: Trip, water: Water, people: dict[str, Person], anchor: datetime, today: date
) -> Booking:
    is_offer = trip.state == Booking.State.OFFERED
    return take_booking(
        reference=reference(trip, anchor),
        water=water,
        payer=people[trip.payer],
        party=tuple(
            PartyWanted(
                person=people[who], role=role, shares_with=people[partner] if partner else None
            )
            for who, role, partner in trip.party
        ),
        days=tuple(
            _day(water, beat, part, today + timedelta(days=n)) for n, part, beat in trip.parts
        ),
        fish=trip.fish,
        state=trip.state,
        at=anchor - timedelta(days=1 if is_offer else 30),
        held_until=anchor + timedelta(days=3) if is_offer else None,
    )


def _day(water: Water, beat_name: str, part: str, day: date) -> DayWanted:
    hours = next(h for h in water.part_hours.filter(part=part) if h.holds_on(day))
    meets_at, ends_at = hours.interval(day)
    return DayWanted(
        date=day,
        part=part,
        beat=Beat.objects.get(water=water, name=beat_name),
        meeting_point=AccessPoint.objects.get(water=water, is_meeting_point=True),
        meets_at=meets_at,
        ends_at=ends_at,
    )
