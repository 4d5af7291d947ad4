"""Builders of valid values and rows: `make_x(**changes)`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import count
from typing import Any

from django.db.models import F

from briefings.models import Briefing
from briefings.pack.content import content_hash
from guiding.bookings.actions import open_places, take_booking
from guiding.bookings.models import Booking
from guiding.bookings.wanted import DayWanted, PartyWanted
from guiding.clients.models import Person
from guiding.documents.models import Document
from guiding.gauges.conditions.values import Condition, Conditions, Kind, Light
from guiding.gauges.models import BeatGauge, Gauge, Reading, Series
from guiding.mail.actions import write_letter
from guiding.mail.models import Letter
from guiding.rivers.models import AccessPoint, Beat, River, Water
from guiding.visits.models import PrivateLink
from tests.briefings.pack_examples import FINAL

# --- conditions -----------------------------------------------------------------------------------

CONDITION_UNITS = {
    "level": "m",
    "level_class": "",
    "phase": "",
    "rise": "cm/h",
    "water": "degrees C",
    "water_two_days_ago": "degrees C",
    "visibility": "cm",
    "colour": "",
    "air": "degrees C",
    "wind": "m/s",
    "wind_from": "degrees",
    "sky": "",
    "rain": "mm",
}
SETTLED_SUMMER = {
    "level": 0.35,
    "level_class": "summer",
    "phase": "settled",
    "rise": 0.0,
    "water": 14.0,
    "water_two_days_ago": 14.0,
    "visibility": 150.0,
    "colour": "clear",
    "air": 16.0,
    "wind": 3.0,
    "wind_from": 240.0,
    "sky": "cloud",
    "rain": 0.0,
}


def make_condition(what: str, value: Any, **changes: Any) -> Condition:
    """Return one given value; None makes it not known."""
    if isinstance(value, Condition):
        return value
    number = float(value) if isinstance(value, float | int) else None
    fields: dict[str, Any] = {
        "what": what.replace("_", " "),
        "value": value,
        "low": number,
        "high": number,
        "unit": CONDITION_UNITS.get(what, ""),
        "kind": Kind.NOT_KNOWN if value is None else Kind.GIVEN,
        "source": "" if value is None else "given",
    }
    return Condition(**{**fields, **changes})


def make_light(day: date = date(2026, 6, 24), **changes: Any) -> Light:
    """Return a plain day: up at 04:00, down at 20:30, civil dusk 21:10, full dark 22:30 UTC."""

    def at(hour: int, minute: int) -> datetime:
        return datetime.combine(day, time(hour, minute), tzinfo=UTC)

    light = Light(
        sunrise_at=at(4, 0),
        sunset_at=at(20, 30),
        civil_dawn_at=at(3, 20),
        civil_dusk_at=at(21, 10),
        full_dark_at=at(22, 30),
        moon_lit_share=0.5,
        moon_words="half moon",
    )
    return replace(light, **changes)


def make_conditions(**changes: Any) -> Conditions:
    """Return a settled summer morning; plain values become conditions, None is not known.

    `make_conditions(day=date(2026, 4, 14), water=10, level_class="low", sky=None)`. Any field of
    Conditions may be changed; `light` may be a Light, or is made for the day.
    """
    day = changes.pop("day", date(2026, 6, 24))
    starts_at = changes.pop("starts_at", datetime.combine(day, time(8, 0), tzinfo=UTC))
    values = {
        **SETTLED_SUMMER,
        **{k: changes.pop(k) for k in tuple(changes) if k in SETTLED_SUMMER},
    }
    fields: dict[str, Any] = {
        "day": day,
        "part": "morning",
        "starts_at": starts_at,
        "ends_at": starts_at + timedelta(hours=4),
        "asked_at": starts_at - timedelta(hours=13),
        "regime": "natural",
        "is_peaty": False,
        "may_ice": False,
        "class_chances": (),
        "rise_is_flagged": False,
        "light": make_light(day),
        **{what: make_condition(what, value) for what, value in values.items()},
    }
    return Conditions(**{**fields, **changes})


# --- gauges and readings --------------------------------------------------------------------------


def make_gauge(*beats: Beat, **changes: Any) -> Gauge:
    """Return a stored hourly gauge that speaks for these beats."""
    fields: dict[str, Any] = {
        "name": f"Gauge {_number()}",
        "latitude": 57.5,
        "longitude": -4.5,
        **changes,
    }
    if "river" not in fields:
        fields["river"] = beats[0].water.river if beats else make_river()
    gauge = Gauge.objects.create(**fields)
    for beat in beats:
        BeatGauge.objects.create(beat=beat, gauge=gauge)
    return gauge


def make_readings(
    gauge: Gauge,
    quantity: str,
    samples: Iterable[tuple[datetime, float]],
    quality: str = Reading.Quality.GOOD,
) -> Series:
    """Return the series of a quantity at a gauge with these readings stored in it."""
    series, _ = Series.objects.get_or_create(gauge=gauge, quantity=quantity)
    rows = Reading.objects.bulk_create(
        Reading(series=series, observed_at=moment, value=value, quality=quality)
        for moment, value in samples
    )
    Series.objects.filter(pk=series.pk).update(on_file=F("on_file") + len(rows))
    return series


# --- places and bookings --------------------------------------------------------------------------


def make_river(**changes: Any) -> River:
    """Return a stored invented river in the zone of London."""
    fields: dict[str, Any] = {
        "name": f"River Test {_number()}",
        "zone": "Europe/London",
        "latitude": 57.5,
        "longitude": -4.5,
    }
    return River.objects.create(**{**fields, **changes})


def make_water(**changes: Any) -> Water:
    """Return a stored water of four rods a day."""
    fields: dict[str, Any] = {"name": f"Water {_number()}", "rods_a_day": 4}
    fields.update(changes)
    if "river" not in fields:
        fields["river"] = make_river()
    return Water.objects.create(**fields)


def make_beat(**changes: Any) -> Beat:
    """Return a stored beat of natural water."""
    fields: dict[str, Any] = {"name": f"Beat {_number()}"}
    fields.update(changes)
    if "water" not in fields:
        fields["water"] = make_water()
    return Beat.objects.create(**fields)


def make_access_point(**changes: Any) -> AccessPoint:
    """Return a stored meeting point."""
    fields: dict[str, Any] = {
        "name": f"Gate {_number()}",
        "latitude": 57.51,
        "longitude": -4.49,
        "directions": "Park beside the white gate.",
        "is_meeting_point": True,
    }
    fields.update(changes)
    if "water" not in fields:
        fields["water"] = make_water()
    return AccessPoint.objects.create(**fields)


def make_person(**changes: Any) -> Person:
    """Return a stored adult with a mail address."""
    number = _number()
    fields: dict[str, Any] = {"name": f"Ada Reed {number}", "email": f"ada{number}@example.org"}
    return Person.objects.create(**{**fields, **changes})


def make_day(water: Water, day: date, **changes: Any) -> DayWanted:
    """Return a wanted morning on a water: 08:30 to 13:00 by its river's clock."""
    river = water.river
    fields: dict[str, Any] = {
        "date": day,
        "part": "morning",
        "beat": None,
        "meeting_point": None,
        "meets_at": river.moment(day, time(8, 30)),
        "ends_at": river.moment(day, time(13, 0)),
    }
    fields.update(changes)
    fields["beat"] = fields["beat"] or water.beats.first() or make_beat(water=water)
    fields["meeting_point"] = (
        fields["meeting_point"]
        or water.access_points.filter(is_meeting_point=True).first()
        or make_access_point(water=water)
    )
    return DayWanted(**fields)


def make_booking(**changes: Any) -> Booking:
    """Return a taken booking: one rod, who pays, on one morning. Places are opened as needed.

    `party`, `days`, `water`, `payer`, `at` and whatever else take_booking takes may be changed;
    `day` (a date) moves the one morning.
    """
    at = changes.pop("at", datetime(2026, 5, 20, 9, 0, tzinfo=UTC))
    day = changes.pop("day", date(2026, 5, 28))
    fields: dict[str, Any] = {"reference": f"T-{_number()}", "at": at, **changes}
    days = fields.get("days")
    if "water" not in fields:
        fields["water"] = days[0].beat.water if days else make_water()
    if days is None:
        fields["days"] = (make_day(fields["water"], day),)
    if "payer" not in fields:
        fields["payer"] = fields["party"][0].person if fields.get("party") else make_person()
    if "party" not in fields:
        fields["party"] = (PartyWanted(person=fields["payer"], role="rod"),)
    for wanted in fields["days"]:
        open_places(fields["water"], wanted.date, wanted.date, (wanted.part,), at=at)
    return take_booking(**fields)


def make_document(**changes: Any) -> Document:
    """Return a kept document; `data` are its bytes."""
    fields: dict[str, Any] = {
        "data": f"%PDF-1.7 {_number()}".encode(),
        "name": "pack.pdf",
        "media_type": "application/pdf",
        "at": datetime(2026, 5, 20, 9, 0, tzinfo=UTC),
        **changes,
    }
    return Document.objects.keep(fields.pop("data"), **fields)


def make_letter(**changes: Any) -> Letter:
    """Return a letter written into the outbox, due at once."""
    fields: dict[str, Any] = {
        "kind": "test",
        "about": "nothing",
        "to_name": "Ada Reed",
        "to_address": "ada@example.org",
        "subject": "Day sheet",
        "text": "Meet at 08:30.",
        "at": datetime(2026, 5, 20, 9, 0, tzinfo=UTC),
        **changes,
    }
    return write_letter(**fields)


def make_briefing(**changes: Any) -> Briefing:
    """Return a stored issue for the payer of a new booking, with `content` as a PackContent."""
    content = changes.pop("content", FINAL)
    fields: dict[str, Any] = {
        "issue": content.issue,
        "number": content.number,
        "issued_at": datetime(2026, 5, 20, 18, 20, tzinfo=UTC),
        "valid_until": datetime(2026, 5, 29, 8, 0, tzinfo=UTC),
        "content": content.as_json(),
        "content_sha256": content_hash(content.as_json()),
        **changes,
    }
    if "booking" not in fields:
        fields["booking"] = make_booking()
    if "person" not in fields:
        fields["person"] = fields["booking"].payer
    return Briefing.objects.create(**fields)


def make_link_row(**changes: Any) -> PrivateLink:
    """Return a stored private link of a booking's payer, whose token nobody knows."""
    fields: dict[str, Any] = {
        "token_sha256": f"{_number():064x}",
        "made_at": datetime(2026, 5, 20, 9, 0, tzinfo=UTC),
        "expires_at": datetime(2026, 6, 27, 12, 0, tzinfo=UTC),
        **changes,
    }
    if "booking" not in fields:
        fields["booking"] = make_booking()
    if "person" not in fields:
        fields["person"] = fields["booking"].payer
    return PrivateLink.objects.create(**fields)


def _number() -> int:
    return next(_numbers)


_numbers = count(1)
