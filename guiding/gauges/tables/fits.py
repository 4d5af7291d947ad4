"""Fitted models as they were made, and whose turn it is to make the next one."""

from __future__ import annotations

import uuid
from datetime import datetime

from django.db import models
from django.db.models import Q

from guiding.gauges.tables.places import Gauge


class Modelled(models.TextChoices):
    """What a model is fitted for at a gauge."""

    LEVEL = "level", "level"
    WATER = "water", "water temperature"
    CLEARING = "clearing", "clearing after a spate"


class FitQuerySet(models.QuerySet["Fit"]):
    def in_force(self) -> FitQuerySet:
        """Fits that forecasts are made with."""
        return self.filter(is_in_force=True)

    def known_at(self, moment: datetime) -> FitQuerySet:
        """Fits that were in force at a moment, the newest first."""
        ended = Q(ended_at__isnull=True) | Q(ended_at__gt=moment)
        return self.filter(ended, began_at__lte=moment).order_by("-began_at", "-pk")


class Fit(models.Model):
    """One fit of one model to one gauge's history: never changed, never thrown away.

    `scores` are of the fit's own cross-validation, one object a lead. `learned` is what the model
    packed. A fit that was not taken into force has never begun.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="fits")
    what = models.CharField(max_length=10, choices=Modelled)
    model = models.CharField(max_length=60, help_text="the code's own name and version")
    step_minutes = models.PositiveIntegerField()
    fitted_at = models.DateTimeField()
    fit_seconds = models.FloatField()
    data_from = models.DateTimeField()
    data_to = models.DateTimeField()
    data_count = models.PositiveIntegerField(help_text="steps with a value that it learned from")
    data_on_file = models.PositiveIntegerField(help_text="readings on file when it was made")
    rain = models.CharField(max_length=20, help_text="what the band was trained on")
    parameters = models.JSONField(default=dict)
    scores = models.JSONField(default=list)
    learned = models.BinaryField()
    is_in_force = models.BooleanField(default=False)
    began_at = models.DateTimeField(null=True, help_text="since when forecasts are made with it")
    ended_at = models.DateTimeField(null=True)
    why = models.TextField(help_text="why it was taken into force, or was not")
    compared = models.JSONField(default=list, help_text="it and the one before, on the same days")

    objects = FitQuerySet.as_manager()

    class Meta:
        ordering = ["gauge", "what", "-fitted_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["gauge", "what"],
                condition=Q(is_in_force=True),
                name="one_fit_in_force",
                violation_error_message="Another fit is in force for this gauge already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()} of {self.gauge}, {self.fitted_at:%Y-%m-%d %H:%M}"


class FitTurn(models.Model):
    """Whose turn it is to fit a gauge, claimed by conditional update, and what came of the last.

    A process that was killed gives nothing back: its claim ends by itself.
    """

    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="fit_turns")
    what = models.CharField(max_length=10, choices=Modelled)
    claimed_until = models.DateTimeField(null=True)
    claimed_by = models.UUIDField(null=True)
    tried_at = models.DateTimeField(null=True)
    tried_on_file = models.PositiveIntegerField(default=0, help_text="readings on file then")
    tried_model = models.CharField(max_length=60, blank=True)
    said = models.TextField(blank=True, help_text="what came of it")

    class Meta:
        ordering = ["gauge", "what"]
        constraints = [
            models.UniqueConstraint(fields=["gauge", "what"], name="one_turn_a_gauge_and_model")
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()} of {self.gauge}"
