"""Private links: one a person and trip. Only a token's hash is ever stored."""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime

from django.db import models

from guiding.bookings.models import Booking
from guiding.clients.models import Person


def hash_of(token: str) -> str:
    """Return what is stored of a token: 32 random bytes need no salt and no slow hash."""
    return hashlib.sha256(token.encode()).hexdigest()


class PrivateLinkQuerySet(models.QuerySet["PrivateLink"]):
    def standing(self, at: datetime) -> PrivateLinkQuerySet:
        """Links that open something at a moment: neither expired nor revoked."""
        return self.filter(revoked_at__isnull=True, expires_at__gt=at).select_related(
            "booking__water__river", "person"
        )


class PrivateLink(models.Model):
    """A way in for one person to one trip; it expires and can be revoked."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    booking = models.ForeignKey(Booking, on_delete=models.CASCADE, related_name="links")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = PrivateLinkQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"{self.person} for {self.booking}"


class Visit(models.Model):
    """What was opened through a link, and when."""

    link = models.ForeignKey(PrivateLink, on_delete=models.CASCADE, related_name="visits")
    opened_at = models.DateTimeField()
    what = models.CharField(max_length=40)

    class Meta:
        ordering = ["-opened_at"]

    def __str__(self) -> str:
        return f"{self.what} {self.opened_at:%Y-%m-%d %H:%M}"
