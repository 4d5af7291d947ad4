"""The outbox: letters written with the change they speak of, sent afterwards."""

from __future__ import annotations

import uuid
from datetime import datetime

from django.db import models
from django.db.models import Q

LINK_PLACEHOLDER = "[[private link]]"


class LetterQuerySet(models.QuerySet["Letter"]):
    def due(self, at: datetime) -> LetterQuerySet:
        """Letters to send now: unsent, not given up, not leased to another worker."""
        return self.filter(
            Q(claimed_until__isnull=True) | Q(claimed_until__lte=at),
            sent_at__isnull=True,
            given_up_at__isnull=True,
            waits_for_document=False,
            due_at__lte=at,
        ).order_by("due_at", "id")


class Letter(models.Model):
    """One letter to one address. It holds a placeholder, never a usable private link."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    message_id = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=40)
    about = models.CharField(max_length=80, help_text='what it concerns, such as "booking 5f0c..."')
    link_for = models.CharField(
        max_length=120, blank=True, help_text="whom the private link is for, in the sender's words"
    )
    to_name = models.CharField(max_length=120)
    to_address = models.EmailField()
    subject = models.CharField(max_length=160)
    text = models.TextField()
    html = models.TextField(blank=True)
    calendar_text = models.TextField(blank=True)
    calendar_method = models.CharField(max_length=10, blank=True)
    documents = models.ManyToManyField("documents.Document", blank=True)
    waits_for_document = models.BooleanField(
        default=False, help_text="the pack is still being written; it goes once that is attached"
    )
    written_at = models.DateTimeField()
    due_at = models.DateTimeField()
    claimed_until = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)
    last_error = models.TextField(blank=True)

    objects = LetterQuerySet.as_manager()

    class Meta:
        ordering = ["-written_at", "-id"]
        indexes = [models.Index(fields=["sent_at", "due_at"])]

    def __str__(self) -> str:
        return f"{self.subject} to {self.to_name}"
