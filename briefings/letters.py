"""The letter that carries a pack: the day sheet as text and HTML, and a calendar entry."""

from __future__ import annotations

from datetime import datetime
from textwrap import shorten
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string

from briefings.models import Briefing
from guiding.bookings.calendars import trip_invitation
from guiding.mail.actions import withdraw_letters, write_letter
from guiding.mail.models import LINK_PLACEHOLDER, Letter

LONGEST_SUBJECT = 160


def day_sheet_text(content: dict[str, Any]) -> str:
    """Return the day sheet as plain text: enough alone, where nothing else can be opened."""
    return render_to_string("emails/briefing.txt", {"c": content, "link": LINK_PLACEHOLDER})


def day_sheet_html(content: dict[str, Any]) -> str:
    """Return the same day sheet as HTML."""
    return render_to_string("emails/briefing.html", {"c": content, "link": LINK_PLACEHOLDER})


def subject_of(content: dict[str, Any]) -> str:
    """Return the subject: what it is, which day, whether it replaces another."""
    kind = "Day sheet" if content["issue"] == "final" else "How to come and what to bring"
    again = f" (replaces issue {content['replaces']})" if content["replaces"] else ""
    title = shorten(content["title"], LONGEST_SUBJECT - len(kind) - len(again) - 2, placeholder="…")
    return f"{kind}: {title}{again}"


def write_briefing_letter(briefing: Briefing, *, at: datetime) -> Letter:
    """Write the letter for one client's issue into the outbox, in the caller's transaction.

    What still waits there of this reader's earlier issues is withdrawn: a mail server that was
    away must not bring the old pack after the new one.
    """
    person = briefing.person
    if person is None:
        raise ValueError("The guide's copy is not mailed.")
    earlier = briefing.booking.briefings.filter(
        person=person, audience=briefing.audience, number__lt=briefing.number
    )
    for old in earlier:
        withdraw_letters(f"briefing {old.key}", why=f"replaced by issue {briefing.number}", at=at)
    content = briefing.content
    return write_letter(
        kind=f"briefing_{briefing.issue}",
        about=f"briefing {briefing.key}",
        to_name=person.name,
        to_address=person.email,
        subject=subject_of(content),
        text=day_sheet_text(content),
        html=day_sheet_html(content),
        calendar_text=trip_invitation(
            briefing.booking,
            person,
            sequence=briefing.number - 1,
            at=at,
            organizer_name=content["emergency"]["guide_name"],
            organizer_address=settings.DEFAULT_FROM_EMAIL,
        ),
        link_for=f"{briefing.booking.key}:{person.key}",
        documents=[briefing.document] if briefing.document else (),
        waits_for_document=briefing.document is None,
        at=at,
    )
