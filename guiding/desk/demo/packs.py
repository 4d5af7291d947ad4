"""The demo's packs: issued as of the anchor, and laid out under names that a person can read."""

from __future__ import annotations

import os
from datetime import datetime, timedelta
from pathlib import Path

from briefings.actions import issue_briefing
from briefings.models import Briefing
from briefings.trips import NothingToBrief
from guiding.bookings.models import Booking
from guiding.desk.demo.build import reference
from guiding.desk.demo.outings import TRIPS


def issue_packs(*, anchor: datetime) -> None:
    """Issue what has gone out by the anchor and is not on file yet, each with its letter."""
    for trip in TRIPS:
        booking = Booking.objects.filter(reference=reference(trip, anchor)).first()
        if booking is None:
            continue
        for issue, days in trip.issues:
            try:
                _issue(booking, issue, at=anchor + timedelta(days=days))
            except NothingToBrief:
                break  # loaded late in the evening: today's trip is over


def _issue(booking: Booking, issue: str, *, at: datetime) -> None:
    """Issue one pack to everybody who comes; the guide needs a copy of the final one only."""
    has_one = set(booking.briefings.filter(issue=issue).values_list("person_id", flat=True))
    for member in booking.party.select_related("person"):
        if member.comes and member.person_id not in has_one:
            issue_briefing(booking, member.person, issue=issue, at=at, send=True)
    if issue == Briefing.Issue.FINAL and None not in has_one:
        issue_briefing(booking, None, issue=issue, at=at)


def lay_out(folder: Path) -> list[Path]:
    """Put a copy of every pack on file into a folder under its own name; return the paths."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    paths = []
    briefings = Briefing.objects.filter(document__isnull=False).select_related("document")
    for briefing in briefings.order_by("booking__reference", "number", "pk"):
        document = briefing.document
        if document is None:
            continue
        # A copy, not a link: a reader that saves in place must not alter the pack that was kept.
        path, data = folder / document.name, document.read()
        if not path.exists() or path.read_bytes() != data:
            path.write_bytes(data)
        paths.append(path)
    return paths


def shown(path: Path) -> str:
    """Return a path as printed: from the working folder where it lies inside, else in full."""
    here = Path.cwd()
    return os.fspath(path.relative_to(here) if path.is_relative_to(here) else path)
