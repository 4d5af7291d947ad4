"""The guide's set-up rules, and briefings: snapshots of what was said, never recomputed."""

from __future__ import annotations

import uuid

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from briefings.setups.rulecheck import problems
from briefings.setups.rules import Rule
from guiding.bookings.models import Booking
from guiding.clients.models import Person
from guiding.documents.models import Document
from guiding.gauges.models import Forecast
from guiding.sources import Label as SourceLabel
from guiding.sources import Source


class SetUpRule(models.Model):
    """One rule for choosing a set-up, as data: when it holds, what it asks for, who says so."""

    class Rank(models.IntegerChoices):
        """Which rule wins where two disagree; the lower number wins."""

        FISH_CARE = 10, "fish-care stop"
        COLD_SNAP = 20, "sudden cold in autumn"
        RIVER = 30, "the river as it is"
        SEASON = 40, "season habit"
        TEMPERATURE = 50, "temperature table"

    class Label(models.TextChoices):
        PUBLISHED = "published source", "published source"
        PRACTICE = "common practice, no source", "common practice, no source"
        MEMORY = "from memory", "from memory"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=80, unique=True)
    rank = models.PositiveSmallIntegerField(choices=Rank)
    order = models.PositiveSmallIntegerField(default=0)
    when = models.JSONField(
        default=dict,
        blank=True,
        help_text="conditions, see setups/rules.py; {} always holds",
    )
    asks = models.JSONField(default=dict, help_text="what it asks for, see setups/rules.py")
    says = models.CharField(max_length=240, help_text="the rule in one sentence")
    label = models.CharField(max_length=40, choices=Label, default=Label.PRACTICE)
    source = models.CharField(max_length=240, blank=True)
    is_on = models.BooleanField(default=True)

    class Meta:
        ordering = ["rank", "order", "name"]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse a rule that cannot be read, with every fault in words."""
        super().clean()
        if self.label == self.Label.PUBLISHED and not self.source:
            raise ValidationError(
                {"source": "A published source needs its title."}, code="no_source"
            )
        faults = problems(self.as_rule())
        if faults:
            raise ValidationError([ValidationError(fault, code="rule") for fault in faults])

    def as_rule(self) -> Rule:
        """Return the rule as the plain value that the advice reads."""
        return Rule(
            name=self.name,
            rank=self.rank,
            order=self.order,
            when=self.when,
            asks=self.asks,
            says=self.says,
            source=Source(label=SourceLabel(self.label), title=self.source),
        )


class Briefing(models.Model):
    """One issue of one person's pack, or of the guide's copy: content, document and hash frozen."""

    class Issue(models.TextChoices):
        FIRST = "first", "first issue"
        FINAL = "final", "final issue"

    class Audience(models.TextChoices):
        CLIENT = "client", "client"
        GUIDE = "guide", "guide"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="briefings")
    person = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="briefings"
    )
    audience = models.CharField(max_length=10, choices=Audience, default=Audience.CLIENT)
    issue = models.CharField(max_length=10, choices=Issue)
    number = models.PositiveSmallIntegerField()
    replaces = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by"
    )
    issued_at = models.DateTimeField()
    valid_until = models.DateTimeField()
    # the content is everything the pack says; PDF, mail and page are made from it alone
    content = models.JSONField()
    content_sha256 = models.CharField(max_length=64)
    forecast = models.ForeignKey(
        Forecast, null=True, blank=True, on_delete=models.PROTECT, related_name="briefings"
    )
    document = models.ForeignKey(
        Document, null=True, blank=True, on_delete=models.PROTECT, related_name="briefings"
    )

    class Meta:
        ordering = ["-issued_at", "-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["booking", "person", "audience", "number"],
                name="issue_number_once_a_client",
            ),
            models.UniqueConstraint(
                fields=["booking", "audience", "number"],
                condition=Q(person__isnull=True),
                name="issue_number_once_for_the_guide",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.booking} issue {self.number} for {self.person or 'the guide'}"

    @property
    def is_replaced(self) -> bool:
        """Say whether a later issue stands in this one's place."""
        return hasattr(self, "replaced_by")


class FurtherForecast(models.Model):
    """A forecast that a briefing rests on besides its first: a day may touch several gauges."""

    briefing = models.ForeignKey(
        Briefing, on_delete=models.CASCADE, related_name="further_forecasts"
    )
    forecast = models.ForeignKey(
        Forecast, on_delete=models.PROTECT, related_name="further_briefings"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["briefing", "forecast"], name="a_forecast_once_a_briefing"
            )
        ]

    def __str__(self) -> str:
        return f"{self.forecast} for {self.briefing}"
