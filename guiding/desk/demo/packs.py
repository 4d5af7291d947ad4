"""The demo's packs: issued as of the anchor, and laid out under names that a person can read."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

from briefings.actions import issue_briefing
from briefings.models import Briefing
from guiding.bookings.models import Booking
from guiding.desk.demo.build import reference
from guiding.desk.demo.outings import TRIPS


def issue_packs(*, anchor: datetime) -> None:
    """Issue what the scene asks for and is not there yet, each with its letter."""
    for trip in TRIPS:
        booking = Booking.objects.filter(reference=reference(trip, anchor)).first()
        if not trip.issue or booking is None:
            continue
        issued_to = set(booking.briefings.values_list("person_id", flat=True))
        coming = [m.person for m in booking.party.select_related("person") if m.comes]
        for person in (None, *coming):
            if (person.pk if person else None) not in issued_to:
                issue_briefing(
                    booking, person, issue=trip.issue, at=anchor, send=person is not None
                )


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
