"""Making and revoking private links, and noting what was opened through one."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from guiding.bookings.models import Booking
from guiding.clients.models import Person
from guiding.history.models import record
from guiding.mail.sending import LinkWithheld
from guiding.visits.models import PrivateLink, Visit, hash_of

STAYS_OPEN = timedelta(days=30)  # after the trip's last day
SAME_VISIT = timedelta(minutes=10)


def make_link(link_for: str, *, at: datetime) -> str:
    """Return the address of a new link; `link_for` is "booking key:person key".

    The token exists only in what is returned: the table keeps its hash. A link that would open
    nothing is withheld, and with it the letter.
    """
    booking_key, person_key = (UUID(key) for key in link_for.partition(":")[::2])
    booking = Booking.objects.get(key=booking_key)
    person = Person.objects.get(key=person_key)
    expires_at = _check_wanted(booking, person, at)
    token = secrets.token_urlsafe(32)
    PrivateLink.objects.create(
        booking=booking,
        person=person,
        token_sha256=hash_of(token),
        made_at=at,
        expires_at=expires_at,
    )
    return settings.SITE_ADDRESS.rstrip("/") + reverse("visits:open", args=[token])


def revoke_links(
    booking: Booking, person: Person | None = None, *, at: datetime, who: Any = None
) -> int:
    """Revoke the links of a booking, or of one person to it; return how many stood."""
    links = PrivateLink.objects.filter(booking=booking, revoked_at__isnull=True)
    if person is not None:
        links = links.filter(person=person)
    with transaction.atomic():
        revoked = links.update(revoked_at=at)
        if revoked:
            record(
                "links revoked",
                f"booking {booking.key}",
                at=at,
                who=who,
                after={"person": str(person.key) if person else "everybody", "links": revoked},
            )
    return revoked


def note_visit(link: PrivateLink, what: str, *, at: datetime) -> None:
    """Note that something was opened; a page read again within minutes is the same visit."""
    recent = Visit.objects.filter(link=link, what=what, opened_at__gt=at - SAME_VISIT)
    if not recent.exists():
        Visit.objects.create(link=link, what=what, opened_at=at)


def _check_wanted(booking: Booking, person: Person, at: datetime) -> datetime:
    """Return when a link would expire, or withhold it."""
    if booking.state == Booking.State.CANCELLED:
        raise LinkWithheld(f"{booking.reference} was called off.")
    if not booking.party.filter(person=person).exists():
        raise LinkWithheld(f"{person} is not in the party of {booking.reference}.")
    last = booking.days.order_by("-ends_at").first()
    if last is None or last.ends_at + STAYS_OPEN <= at:
        raise LinkWithheld(f"{booking.reference} is over.")
    return last.ends_at + STAYS_OPEN
