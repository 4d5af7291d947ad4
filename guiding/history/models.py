"""What was done, by whom, and what it changed: rows are added, never altered."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import models


class Event(models.Model):
    """One act, written inside the transaction that made the change."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    happened_at = models.DateTimeField()
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT
    )
    what = models.CharField(max_length=80)
    about = models.CharField(max_length=80, help_text='kind and key, such as "booking 5f0c..."')
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    class Meta:
        ordering = ["happened_at", "id"]
        indexes = [models.Index(fields=["about", "happened_at"])]

    def __str__(self) -> str:
        return f"{self.happened_at:%Y-%m-%d %H:%M} {self.what}: {self.about}"


def record(
    what: str,
    about: str,
    *,
    at: datetime,
    who: Any = None,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> Event:
    """Add an event inside the caller's transaction."""
    return Event.objects.create(
        what=what, about=about, happened_at=at, who=who, before=before or {}, after=after or {}
    )
