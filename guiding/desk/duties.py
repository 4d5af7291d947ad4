"""What the guide owes which trip, and by when: which issue is due, and who is not covered."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from briefings.models import Briefing
from guiding.bookings.models import Booking, PartyMember, TripDay
from guiding.bookings.readiness import missing_of
from guiding.mail.models import Letter
from guiding.rivers.models import River

SEND_BY = time(20, 0)  # common practice, no source: a client reads it before going to bed
FIRST_ISSUE_DAYS = 10  # seven to ten days ahead
NUMBERS = ("no", "one", "two", "three", "four", "five", "six")


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
    parts: tuple[TripDay, ...]  # every part of that day that has not ended
    days_ahead: int
    issue_due: str  # "first", "final" or "" where nothing is due
    by: str  # by when it is to go, in words
    party: tuple[Uncovered, ...]

    @property
    def uncovered(self) -> tuple[Uncovered, ...]:
        """Return those from whom something is missing."""
        return tuple(row for row in self.party if row.missing)

    @property
    def when(self) -> str:
        """Return the nearness in words."""
        return {0: "today", 1: "tomorrow"}.get(self.days_ahead, f"in {self.days_ahead} days")

    @property
    def rods(self) -> str:
        """Return how many rods are fished, in words: two who share count once."""
        rods = sum(row.member.role == PartyMember.Role.ROD for row in self.party)
        words = NUMBERS[rods] if rods < len(NUMBERS) else str(rods)
        return f"{words} rod{'' if rods == 1 else 's'}"

    @property
    def where(self) -> str:
        """Return beat and parts of the day, such as "Upper Beat, morning and afternoon"."""
        beats: dict[str, list[str]] = {}
        for row in self.parts:
            beats.setdefault(row.beat.name, []).append(row.get_part_display())
        return "; ".join(f"{beat}, {' and '.join(parts)}" for beat, parts in beats.items())


def duties(bookings: Iterable[Booking], at: datetime) -> list[Duty]:
    """Return one duty a booking that still has a day to come; needs days, party and briefings."""
    coming = [(booking, _days_ahead(booking, at)) for booking in bookings]
    rows = [(booking, days) for booking, days in coming if days]
    handed = _handed_over(booking for booking, _ in rows)
    found = [_duty(booking, days, handed, at) for booking, days in rows]
    return sorted(found, key=lambda duty: (duty.day.meets_at, duty.booking.reference))


def _days_ahead(booking: Booking, at: datetime) -> tuple[TripDay, ...]:
    days = (row for row in booking.days.all() if row.ends_at > at)
    return tuple(sorted(days, key=lambda row: row.meets_at))


def _handed_over(bookings: Iterable[Booking]) -> set[str]:
    """Return what the letters that went, or still can go, are about."""
    about = [f"briefing {row.key}" for booking in bookings for row in booking.briefings.all()]
    letters = Letter.objects.filter(about__in=about, given_up_at__isnull=True)
    return set(letters.values_list("about", flat=True))


def _duty(booking: Booking, days: Sequence[TripDay], handed: Collection[str], at: datetime) -> Duty:
    river, day = booking.water.river, days[0]
    today = river.day_of(at)
    ahead = (day.date - today).days
    coming = [member for member in booking.party.all() if member.comes]
    due = _issue_due(booking, day.date, ahead, coming, handed)
    send_day = day.date - timedelta(days=1) if due == "final" else today
    return Duty(
        booking=booking,
        day=day,
        parts=tuple(row for row in days if row.date == day.date),
        days_ahead=ahead,
        issue_due=due,
        by=_by_words(river, send_day, at) if due else "",
        party=tuple(
            Uncovered(member=member, missing=missing_of(member, day.date)) for member in coming
        ),
    )


def _by_words(river: River, day: date, at: datetime) -> str:
    clock = f"{SEND_BY:%H:%M}"
    if river.moment(day, SEND_BY) <= at:
        return f"Overdue since {clock} on {day:%A}"
    return f"By {clock} tonight" if day == river.day_of(at) else f"By {clock} on {day:%A}"


def _issue_due(
    booking: Booking,
    day: date,
    ahead: int,
    coming: Sequence[PartyMember],
    handed: Collection[str],
) -> str:
    """Return the issue that somebody of the party still has to be given."""
    day_of = booking.water.river.day_of
    given = [
        row
        for row in booking.briefings.all()
        if row.person is not None
        and (not row.person.email or f"briefing {row.key}" in handed)  # without mail: printed
    ]
    if ahead <= 1:
        evening = day - timedelta(days=1)
        final = Briefing.Issue.FINAL
        have = {
            row.person_id
            for row in given
            if row.issue == final and day_of(row.issued_at) >= evening
        }
        issue = "final"
    elif ahead <= FIRST_ISSUE_DAYS:
        have, issue = {row.person_id for row in given}, "first"
    else:
        return ""
    return issue if any(member.person_id not in have for member in coming) else ""
