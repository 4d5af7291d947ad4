"""What the guide owes which trip, and by when: which issue is due, and who is not covered."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from briefings.models import Briefing
from guiding.bookings.models import Booking, PartyMember, TripDay
from guiding.bookings.readiness import missing_of

SEND_BY = time(20, 0)  # common practice, no source: a client reads it before going to bed
FIRST_ISSUE_DAYS = 10  # seven to ten days ahead


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncovered:
    """One person and what we still need from them."""

    member: PartyMember
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """One trip as the guide needs to see it: its next day, the issue due, who is not covered."""

    booking: Booking
    day: TripDay
    days_ahead: int
    issue_due: str  # "first", "final" or "" where nothing is due
    send_by: datetime | None
    newest: Briefing | None
    party: tuple[Uncovered, ...]

    @property
    def uncovered(self) -> tuple[Uncovered, ...]:
        """Return those from whom something is missing."""
        return tuple(row for row in self.party if row.missing)

    @property
    def when(self) -> str:
        """Return the nearness in words."""
        return {0: "today", 1: "tomorrow"}.get(self.days_ahead, f"in {self.days_ahead} days")


def duties(bookings: Iterable[Booking], at: datetime) -> list[Duty]:
    """Return one duty a booking that still has a day to come; needs days, party and briefings."""
    found = []
    for booking in bookings:
        coming = sorted(
            (row for row in booking.days.all() if row.ends_at > at), key=lambda row: row.meets_at
        )
        if coming:
            found.append(_duty(booking, coming[0], at))
    return sorted(found, key=lambda duty: (duty.day.meets_at, duty.booking.reference))


def _duty(booking: Booking, day: TripDay, at: datetime) -> Duty:
    river = booking.water.river
    today = river.day_of(at)
    ahead = (day.date - today).days
    issued = [b for b in booking.briefings.all() if b.audience == Briefing.Audience.CLIENT]
    newest = max(issued, key=lambda b: (b.issued_at, b.number), default=None)
    due = _issue_due(ahead, day.date, issued, river.day_of)
    send_by = None
    if due:
        send_day = day.date - timedelta(days=1) if due == "final" else today
        send_by = river.moment(send_day, SEND_BY)
    return Duty(
        booking=booking,
        day=day,
        days_ahead=ahead,
        issue_due=due,
        send_by=send_by,
        newest=newest,
        party=tuple(
            Uncovered(member=member, missing=missing_of(member, day.date))
            for member in booking.party.all()
            if member.comes
        ),
    )


def _issue_due(ahead: int, day: date, issued: list[Briefing], day_of: object) -> str:
    if ahead <= 1:
        since = day - timedelta(days=1)
        has_final = any(
            b.issue == Briefing.Issue.FINAL and b.issued_at.date() >= since for b in issued
        )
        return "" if has_final else "final"
    if ahead <= FIRST_ISSUE_DAYS and not issued:
        return "first"
    return ""
