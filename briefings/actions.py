"""Issue a briefing, write its document, hand it to the outbox."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from django.db import transaction
from guiding.gauges.forecasting import newest_forecast

from briefings.changes import says_the_same, what_changed
from briefings.compose import compose, read_trip, valid_until
from briefings.content import content_hash
from briefings.letters import write_briefing_letter
from briefings.models import Briefing
from guiding.bookings.models import Booking
from guiding.clients.models import Person
from guiding.documents.models import Document
from guiding.gauges.models import Forecast
from guiding.history.models import record
from guiding.mail.models import Letter


class NoAddress(Exception):
    """The person has no address to which a letter could go."""


def issue_briefing(
    booking: Booking,
    person: Person | None,
    *,
    issue: str,
    at: datetime,
    who: Any = None,
    send: bool = False,
) -> Briefing:
    """Freeze one issue of a person's pack (None: the guide's copy); with `send`, write its letter.

    Where nothing a reader would notice has changed since the last issue, that one is returned and
    no new number is spent. The document itself is written afterwards, outside the transaction.
    """
    if send and person is not None and not person.email:
        raise NoAddress(f"{person.name} has no e-mail address on file: print the pack instead.")
    trip = read_trip(booking)
    mine = Briefing.objects.filter(booking=booking, person=person, audience=_audience(person))
    last = mine.order_by("-number").first()
    content = _content(trip, person, issue=issue, at=at, last=last)
    with transaction.atomic():
        if last and last.issue == issue and says_the_same(last.content, content):
            briefing = last
        else:
            briefing = Briefing.objects.create(
                booking=booking,
                person=person,
                audience=_audience(person),
                issue=issue,
                number=content["number"],
                replaces=last,
                issued_at=at,
                valid_until=valid_until(trip, issue=issue, at=at),
                content=content,
                content_sha256=content_hash(content),
                forecast=_forecast_used(booking, content, at),
            )
            record(
                "briefing issued",
                f"booking {booking.key}",
                at=at,
                who=who,
                after={"briefing": str(briefing.key), "number": briefing.number, "issue": issue},
            )
        if send and person is not None and not _letter_of(briefing):
            write_briefing_letter(briefing, at=at)
            record("briefing sent", f"booking {booking.key}", at=at, who=who)
    return briefing


def issue_to_everybody(
    booking: Booking, *, issue: str, at: datetime, who: Any = None, send: bool = True
) -> list[Briefing]:
    """Issue everybody's pack and the guide's copy; those without mail are printed."""
    briefings = [issue_briefing(booking, None, issue=issue, at=at, who=who)]
    for member in booking.party.select_related("person"):
        if member.comes:
            can_send = send and bool(member.person.email)
            briefings.append(
                issue_briefing(booking, member.person, issue=issue, at=at, who=who, send=can_send)
            )
    return briefings


def keep_document(briefing: Briefing, data: bytes, *, at: datetime) -> Document:
    """Keep a pack's bytes, and let the letter that waited for them go."""
    with transaction.atomic():
        document = Document.objects.keep(
            data, name=file_name(briefing), media_type="application/pdf", at=at
        )
        written = Briefing.objects.filter(pk=briefing.pk, document__isnull=True).update(
            document=document
        )
        briefing.refresh_from_db()
        if not written:
            return briefing.document or document
        for letter in Letter.objects.filter(about=f"briefing {briefing.key}"):
            letter.documents.add(document)
            Letter.objects.filter(pk=letter.pk).update(waits_for_document=False)
    return document


def file_name(briefing: Briefing) -> str:
    """Return a plain ASCII name without spaces that says whose pack it is and which issue."""
    reader = briefing.person.name if briefing.person else "guide"
    plain = re.sub(r"[^a-z0-9]+", "-", reader.lower().encode("ascii", "ignore").decode())
    parts = (briefing.booking.reference, plain.strip("-") or "reader", briefing.issue)
    return f"{'-'.join(parts)}-{briefing.number}.pdf"


def _audience(person: Person | None) -> str:
    return Briefing.Audience.CLIENT if person else Briefing.Audience.GUIDE


def _content(
    trip: Any, person: Person | None, *, issue: str, at: datetime, last: Briefing | None
) -> dict[str, Any]:
    number = last.number + 1 if last else 1
    replaces = last.number if last else None
    first_try = compose(trip, person, issue=issue, at=at, number=number, replaces=replaces)
    content = first_try.as_json()
    if last:
        content["changes"] = list(what_changed(last.content, content))
    return content


def _forecast_used(booking: Booking, content: dict[str, Any], at: datetime) -> Forecast | None:
    """Return the forecast row that the content was made from, so that it cannot be deleted."""
    if content["issue"] == "first":
        return None
    day = booking.days.filter(ends_at__gt=at).order_by("meets_at").first()
    link = day.beat.gauge_links.select_related("gauge").order_by("order").first() if day else None
    return newest_forecast(link.gauge, at) if link else None


def _letter_of(briefing: Briefing) -> Letter | None:
    return Letter.objects.filter(about=f"briefing {briefing.key}").first()
