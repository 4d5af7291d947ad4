"""A trip as a calendar entry for one person's mail (iCalendar, RFC 5545; in mail, RFC 6047).

One event a trip day, from the first meeting to the last end of that day. A REQUEST may carry one
UID only (RFC 5546, from memory), so a trip of one day is an invitation, and a longer one is a
PUBLISH with an event a day, which asks for no answer.

Times are written in UTC, so that no reader needs a zone table; the clock on the river stands in
the words. An event is no secret place: no private link, no level, nothing about a person.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from datetime import UTC, date, datetime
from email.utils import parseaddr
from itertools import groupby

from icalendar import Calendar, Event, vCalAddress, vText

from guiding.bookings.models import Booking, TripDay
from guiding.clients.models import Person

PRODUCT = "-//Spatebook//Trip//EN"


def trip_invitation(
    booking: Booking,
    person: Person,
    *,
    sequence: int,
    at: datetime,
    organizer_name: str,
    organizer_address: str,
    summary_words: str = "",
    is_called_off: bool = False,
) -> str:
    """Return the calendar entry of a booking for one person; its METHOD line says what it is.

    `sequence` starts at 0 and must rise with every change of time or place and on calling off.
    `organizer_address` must be the address the mail comes from.
    """
    if sequence < 0:
        raise ValueError(f"sequence is {sequence}; it starts at 0 and rises.")
    if at.tzinfo is None:
        raise ValueError("at needs a zone.")
    days = list(booking.days.select_related("beat__water__river", "meeting_point"))
    by_date = [(day, list(parts)) for day, parts in groupby(days, key=lambda row: row.date)]
    if not by_date:
        raise ValueError(f"{booking.reference} has no trip day to put in a calendar.")
    method = _method(len(by_date), is_called_off)
    organizer = _address(organizer_name, organizer_address)
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", method)
    for day, parts in by_date:
        event = _event(booking, day, parts, summary_words)
        event.add("sequence", sequence)
        event.add("dtstamp", at.astimezone(UTC))
        event.add("status", "CANCELLED" if is_called_off else "CONFIRMED")
        event["organizer"] = organizer
        if method != "PUBLISH":
            event["attendee"] = _attendee(person)
        calendar.add_component(event)
    return calendar.to_ical().decode()


def event_uid(booking: Booking, day: date) -> str:
    """Return the fixed name of a booking's event on one day, whoever reads it."""
    return f"{booking.key}-{day:%Y%m%d}@spatebook.invalid"


def _method(dates: int, is_called_off: bool) -> str:
    if dates > 1:
        return "PUBLISH"
    return "CANCEL" if is_called_off else "REQUEST"


def _event(booking: Booking, day: date, parts: list[TripDay], summary_words: str) -> Event:
    first, last = parts[0], max(parts, key=lambda part: part.ends_at)
    event = Event()
    event.add("uid", event_uid(booking, day))
    event.add("dtstart", first.meets_at.astimezone(UTC))
    event.add("dtend", last.ends_at.astimezone(UTC))
    beats = " and ".join(dict.fromkeys(part.beat.name for part in parts))
    event.add("summary", _plain(summary_words or f"Fishing: {beats}"))
    event.add("location", _plain(f"{first.meeting_point.name}, {booking.water.name}"))
    event.add("geo", (first.meeting_point.latitude, first.meeting_point.longitude))
    event.add("description", "\n".join(_plain(line) for line in _words(booking, parts)))
    event.add("class", "PRIVATE")
    event.add("transp", "OPAQUE")
    return event


def _words(booking: Booking, parts: list[TripDay]) -> Iterable[str]:
    """Say the times by the clock on the river, one line a part of the day."""
    river = booking.water.river
    for part in parts:
        meets = part.meets_at.astimezone(river.zoneinfo)
        ends = part.ends_at.astimezone(river.zoneinfo)
        until = f"{ends:%H:%M}" if ends.date() == meets.date() else f"{ends:%H:%M} the next day"
        yield (
            f"{part.get_part_display().capitalize()}, {part.beat.name}: meet at {meets:%H:%M} "
            f"at {part.meeting_point.name}, end at {until}."
        )
        if meets.utcoffset() != ends.utcoffset():
            yield "The clocks change between the meeting and the end."
    yield f"Times by the clock on the river ({river.zone})."
    yield f"Booking {booking.reference}. Your pack came by mail; the newest one counts."


def _attendee(person: Person) -> vCalAddress:
    attendee = _address(person.name, person.email)
    attendee.params["role"] = vText("REQ-PARTICIPANT")
    attendee.params["partstat"] = vText("NEEDS-ACTION")
    attendee.params["rsvp"] = vText("TRUE")
    return attendee


def _address(name: str, address: str) -> vCalAddress:
    bare = parseaddr(address)[1]
    if "@" not in bare:
        raise ValueError(f"{name} has no mail address to put in a calendar entry.")
    written = vCalAddress(f"mailto:{_plain(bare)}")
    # a parameter cannot hold a double quote at all (RFC 5545, 3.1)
    written.params["cn"] = vText(_plain(name).replace('"', "'"))
    return written


def _plain(text: str) -> str:
    """Return one line without control characters: the writer keeps them, readers choke on them."""
    kept = (" " if unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") else c for c in text)
    return " ".join("".join(kept).split())
