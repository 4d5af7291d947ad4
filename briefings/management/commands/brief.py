"""Write one pack to a file."""

from __future__ import annotations

import os
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from briefings.actions import issue_briefing
from briefings.pack.printer import NoPrinter, load_printing
from briefings.trips import NothingToBrief, next_day, read_trip
from guiding.bookings.models import Booking
from guiding.clients.models import Person
from guiding.command_line import OneLineCommand, moment, refuse


class Command(OneLineCommand):
    help = "Write a client's pack, or without --client the guide's copy, to a PDF file."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("booking", nargs="?", metavar="BOOKING", help="its reference")
        parser.add_argument("--list", action="store_true", help="name the bookings and stop")
        parser.add_argument("--client", metavar="NAME", help="whose pack; else the guide's copy")
        parser.add_argument("--issue", choices=["first", "final"])
        parser.add_argument("--out", metavar="FILE.pdf", type=Path)
        parser.add_argument("--at", type=moment, help="the moment to brief from; now unless said")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        at = options["at"] or timezone.now()
        if options["list"]:
            self._list(at, as_json=options["json"])
            return
        booking = self._booking(options["booking"])
        out = writable(options["out"])
        person = self._person(booking, options["client"])
        try:
            printing = load_printing()
            issue = options["issue"] or self._issue_due(booking, at)
            briefing = issue_briefing(booking, person, issue=issue, at=at)
        except (NothingToBrief, NoPrinter) as error:
            raise refuse(str(error)) from error
        document = printing.write_document(briefing, at=at)
        try:
            out.write_bytes(document.read())
        except OSError as error:
            raise refuse(f"{out} could not be written: {error.strerror}.") from error
        if options["json"]:
            self.say_json(
                {
                    "booking": booking.reference,
                    "reader": briefing.content["reader"],
                    "audience": briefing.audience,
                    "issue": briefing.issue,
                    "number": briefing.number,
                    "issued_at": briefing.issued_at.isoformat(),
                    "valid_until": briefing.valid_until.isoformat(),
                    "sha256": document.sha256,
                    "out": str(out),
                }
            )
        else:
            self.stdout.write(
                f"{briefing.get_issue_display()} {briefing.number} for "
                f"{briefing.content['reader']}: {out}"
            )

    def _list(self, at: datetime, *, as_json: bool) -> None:
        rows = []
        owed = Booking.objects.standing().filter(days__ends_at__gt=at).distinct()
        for booking in owed.select_related("water__river"):
            trip = read_trip(booking)
            names = [member.person.name for member in trip.coming]
            rows.append((booking.reference, next_day(trip, at), booking.water.name, names))
        rows.sort(key=lambda row: (row[1], row[0]))
        if as_json:
            self.say_json(
                {
                    "bookings": [
                        {"booking": r, "next_date": d.isoformat(), "water": w, "clients": n}
                        for r, d, w, n in rows
                    ]
                }
            )
            return
        for reference, day, water, names in rows:
            self.stdout.write("\t".join([reference, day.isoformat(), water, "; ".join(names)]))

    def _booking(self, reference: str | None) -> Booking:
        if not reference:
            raise refuse("Name a booking; `brief --list` prints those that can be briefed.")
        booking = (
            Booking.objects.filter(reference__iexact=reference.strip())
            .select_related("water__river")
            .first()
        )
        if booking is None:
            raise refuse(f"No booking is called {reference!r}; `brief --list` prints them.")
        return booking

    def _person(self, booking: Booking, name: str | None) -> Person | None:
        if name is None:
            return None
        trip, wanted = read_trip(booking), name.strip().casefold()
        party = [member.person for member in trip.party]
        # a full name decides over a short one that somebody else goes by
        found = [p for p in party if p.name.casefold() == wanted]
        found = found or [p for p in party if p.called.casefold() == wanted]
        if not found:
            names = ", ".join(member.person.name for member in trip.coming)
            raise refuse(f"{name!r} names nobody who comes on {booking.reference}: {names}.")
        if len(found) > 1:
            names = ", ".join(p.name for p in found)
            raise refuse(f"{name!r} names {len(found)} people: {names}. Give the full name.")
        return found[0]

    def _issue_due(self, booking: Booking, at: datetime) -> str:
        """Return the final issue from the evening before, the first until then."""
        trip = read_trip(booking)
        day = next_day(trip, at)
        tomorrow = trip.river.day_of(at) + timedelta(days=1)
        return "final" if day <= tomorrow else "first"


def writable(out: Path | None) -> Path:
    """Return where to write, or refuse before anything is issued."""
    if out is None:
        raise refuse("--out is missing; name the PDF file to write.")
    if not out.parent.is_dir():
        raise refuse(f"The folder {out.parent} does not exist.")
    if out.is_dir():
        raise refuse(f"{out} is a folder; name the PDF file to write.")
    if not os.access(out if out.exists() else out.parent, os.W_OK):
        raise refuse(f"{out} may not be written: choose another place.")
    return out
