"""Issue a briefing, write its document, hand it to the outbox."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from briefings.groundwork import Groundwork, lay_groundwork
from briefings.letters import write_briefing_letter
from briefings.models import Briefing, FurtherForecast
from briefings.pack.changes import says_the_same, what_changed
from briefings.pack.compose import compose
from briefings.pack.content import content_hash
from briefings.pack.words import day_words
from briefings.trips import NothingToBrief, next_day, valid_until
from guiding.bookings.models import Booking
from guiding.clients.models import Person
from guiding.documents.models import Document
from guiding.history.models import record
from guiding.mail.models import Letter

TRIES = 3  # a second press finds the first one's issue; more meet only where many press at once


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

    Raises NothingToBrief, or NoAddress where a letter is wanted and there is no address.
    """
    return _issue(lay_groundwork(booking, issue=issue, at=at), person, who=who, send=send)


def issue_to_everybody(
    booking: Booking, *, issue: str, at: datetime, who: Any = None, send: bool = True
) -> list[Briefing]:
    """Issue everybody's pack and the guide's copy; those without mail are printed."""
    ground = lay_groundwork(booking, issue=issue, at=at)
    for person in (None, *(member.person for member in ground.trip.coming)):
        _refuse_going_back(ground, person, _last(booking, person))
    briefings = [_issue(ground, None, who=who, send=False)]
    for member in ground.trip.coming:
        can_send = send and bool(member.person.email)
        briefings.append(_issue(ground, member.person, who=who, send=can_send))
    return briefings


def _issue(ground: Groundwork, person: Person | None, *, who: Any, send: bool) -> Briefing:
    if send and person is not None and not person.email:
        raise NoAddress(f"{person.name} has no e-mail address on file: print the pack instead.")
    for attempt in range(1, TRIES + 1):
        last = _last(ground.trip.booking, person)
        _refuse_going_back(ground, person, last)
        content = _content(ground, person, last)
        try:
            with transaction.atomic():
                _still_stands(ground.trip.booking)
                briefing = _freeze(ground, person, content, last, who=who)
                if send and person is not None and not _letter_of(briefing):
                    write_briefing_letter(briefing, at=ground.at)
                    subject = f"booking {ground.trip.booking.key}"
                    record("briefing sent", subject, at=ground.at, who=who)
        except IntegrityError:
            # somebody else took this number meanwhile: theirs may be the very same issue
            if attempt == TRIES:
                raise
        else:
            return briefing
    raise AssertionError("unreachable")


def _last(booking: Booking, person: Person | None) -> Briefing | None:
    mine = Briefing.objects.filter(booking=booking, person=person, audience=_audience(person))
    return mine.order_by("-number").first()


def _refuse_going_back(ground: Groundwork, person: Person | None, last: Briefing | None) -> None:
    """Refuse a first issue over a final one of the same day: it would take the river out again."""
    if ground.issue != Briefing.Issue.FIRST or last is None or last.issue != Briefing.Issue.FINAL:
        return
    day = day_words(next_day(ground.trip, ground.at))
    if day in {part["date_words"] for part in last.content["parts"]}:
        reader = person.name if person else "the guide"
        raise NothingToBrief(
            f"{reader} has final issue {last.number} for {day} already: a first issue would "
            "replace it with less; write the final issue again."
        )


def _still_stands(booking: Booking) -> None:
    """Refuse a booking called off meanwhile. Whoever issues it too waits here for our commit."""
    if Booking.objects.standing().select_for_update().filter(pk=booking.pk).first() is None:
        raise NothingToBrief(f"{booking.reference} was called off: there is nothing to brief.")


def _freeze(
    ground: Groundwork,
    person: Person | None,
    content: dict[str, Any],
    last: Briefing | None,
    *,
    who: Any,
) -> Briefing:
    if last and last.issue == ground.issue and says_the_same(last.content, content):
        return last
    booking = ground.trip.booking
    briefing = Briefing.objects.create(
        booking=booking,
        person=person,
        audience=_audience(person),
        issue=ground.issue,
        number=content["number"],
        replaces=last,
        issued_at=ground.at,
        valid_until=valid_until(ground.trip, issue=ground.issue, at=ground.at),
        content=content,
        content_sha256=content_hash(content),
        forecast=next(iter(ground.forecasts), None),
    )
    FurtherForecast.objects.bulk_create(
        FurtherForecast(briefing=briefing, forecast=used) for used in ground.forecasts[1:]
    )
    record(
        "briefing issued",
        f"booking {booking.key}",
        at=ground.at,
        who=who,
        after={"briefing": str(briefing.key), "number": briefing.number, "issue": briefing.issue},
    )
    return briefing


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


def _content(ground: Groundwork, person: Person | None, last: Briefing | None) -> dict[str, Any]:
    number = last.number + 1 if last else 1
    replaces = last.number if last else None
    content = compose(ground, person, number=number, replaces=replaces).as_json()
    if last:
        content["changes"] = list(what_changed(last.content, content))
    return content


def _letter_of(briefing: Briefing) -> Letter | None:
    return Letter.objects.filter(about=f"briefing {briefing.key}").first()
