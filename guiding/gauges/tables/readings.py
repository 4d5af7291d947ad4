"""The record: series, readings, what they replaced, and where they came from."""

from __future__ import annotations

import uuid

from django.db import models

from guiding.gauges.tables.places import Gauge


class Quantity(models.TextChoices):
    """What a series measures. The unit is part of the name."""

    LEVEL = "level_m", "level in m"
    FLOW = "flow_m3s", "flow in m3/s"
    RAIN = "rain_mm", "rain in mm"
    WATER = "water_c", "water temperature in degrees C"
    AIR = "air_c", "air temperature in degrees C"
    VISIBILITY = "visibility_cm", "visibility in cm"
    TURBIDITY = "turbidity_ntu", "turbidity in NTU or FNU"


class Series(models.Model):
    """One quantity at one gauge, in one unit, at one step."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="series")
    quantity = models.CharField(max_length=20, choices=Quantity)
    source = models.CharField(max_length=200, blank=True)
    # counted as readings are written, so that nobody has to count them to see that they have grown
    on_file = models.PositiveIntegerField(default=0, editable=False)
    # what is wrong with where it comes from, in plain words, and since when; empty: nothing
    trouble = models.CharField(max_length=300, blank=True, editable=False)
    trouble_since = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["gauge", "quantity"]
        verbose_name_plural = "series"
        constraints = [
            models.UniqueConstraint(fields=["gauge", "quantity"], name="one_series_a_quantity")
        ]

    def __str__(self) -> str:
        return f"{self.gauge} {self.quantity}"


class ReadingImport(models.Model):
    """One file or one typed-in value: where readings came from, and what was refused."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="imports")
    imported_at = models.DateTimeField()
    name = models.CharField(max_length=200, help_text="file name, or who typed it")
    sha256 = models.CharField(max_length=64, blank=True)
    stored = models.PositiveIntegerField(default=0)
    repeated = models.PositiveIntegerField(default=0)
    rejected = models.JSONField(default=list)

    class Meta:
        ordering = ["-imported_at"]
        indexes = [models.Index(fields=["gauge", "-imported_at"])]

    def __str__(self) -> str:
        return f"{self.name} into {self.gauge}"


class Reading(models.Model):
    """One value at one moment: for rain and daily values, the moment the step begins."""

    class Quality(models.TextChoices):
        GOOD = "good", "good"
        TYPED = "typed", "typed in"
        SUSPECT = "suspect", "suspect"

    series = models.ForeignKey(Series, on_delete=models.CASCADE, related_name="readings")
    observed_at = models.DateTimeField()
    value = models.FloatField()
    quality = models.CharField(max_length=10, choices=Quality, default=Quality.GOOD)
    came_with = models.ForeignKey(
        ReadingImport, null=True, on_delete=models.SET_NULL, related_name="readings"
    )

    class Meta:
        ordering = ["series", "observed_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["series", "observed_at"], name="one_reading_a_series_and_moment"
            )
        ]

    def __str__(self) -> str:
        return f"{self.series} {self.observed_at:%Y-%m-%d %H:%M}: {self.value:g}"


class ReadingRevision(models.Model):
    """A value that a later import replaced."""

    reading = models.ForeignKey(Reading, on_delete=models.CASCADE, related_name="revisions")
    value = models.FloatField()
    replaced_at = models.DateTimeField()

    class Meta:
        ordering = ["reading", "replaced_at"]

    def __str__(self) -> str:
        return f"{self.value:g} until {self.replaced_at:%Y-%m-%d %H:%M}"
