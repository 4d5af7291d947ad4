"""Gauges, their marks and soundings, and what they speak for."""

from __future__ import annotations

import uuid

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from guiding.gauges.hydrology.record import MarkLevel
from guiding.rivers.models import LATITUDE, LONGITUDE, Beat, NamedQuerySet, Pool, River


class Gauge(models.Model):
    """A gauge: where the level is read, and what it can read."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    river = models.ForeignKey(River, on_delete=models.PROTECT, related_name="gauges")
    name = models.CharField(max_length=80, unique=True)
    latitude = models.FloatField(validators=LATITUDE)
    longitude = models.FloatField(validators=LONGITUDE)
    altitude_m = models.FloatField(null=True, blank=True)
    lowest_m = models.FloatField(default=-1, help_text="a reading below this is refused")
    highest_m = models.FloatField(default=20, help_text="a reading above this is refused")
    step_minutes = models.PositiveIntegerField(
        default=60, help_text="the record's own step: 60 hourly, 1440 daily"
    )
    catchment_km2 = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.01)])
    # flow_m3s = rating_a * (level_m - rating_h0_m) ** rating_b, where a rating is stated
    rating_a = models.FloatField(null=True, blank=True, validators=[MinValueValidator(1e-9)])
    rating_b = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.1)])
    rating_h0_m = models.FloatField(null=True, blank=True)
    rating_source = models.CharField(max_length=200, blank=True)
    source = models.CharField(max_length=200, blank=True, help_text="whose gauge it is")
    page_url = models.URLField(blank=True)
    may_ice = models.BooleanField(default=False, help_text="this river can carry or lie under ice")
    # the source became another one, so the marks no longer mean what they did; empty: they hold
    marks_suspended_since = models.DateTimeField(null=True, blank=True, editable=False)
    marks_suspended_why = models.CharField(max_length=300, blank=True, editable=False)
    # what is wrong with where its weather runs come from, in plain words; empty: nothing
    weather_trouble = models.CharField(max_length=300, blank=True, editable=False)
    weather_trouble_since = models.DateTimeField(null=True, blank=True, editable=False)

    objects = NamedQuerySet.as_manager()

    class Meta:
        ordering = ["river", "name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(lowest_m__lt=F("highest_m")),
                name="gauge_range_is_a_range",
                violation_error_message="The lowest reading must be below the highest.",
            ),
            models.CheckConstraint(
                condition=Q(step_minutes__in=[60, 1440]),
                name="gauge_step_is_hourly_or_daily",
                violation_error_message="The record's step is 60 (hourly) or 1440 (daily) minutes.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def has_rating(self) -> bool:
        """Say whether flow can be turned into level here."""
        return None not in (self.rating_a, self.rating_b, self.rating_h0_m)


class BeatGauge(models.Model):
    """Which gauge speaks for a beat, the nearest first; a further one may stand in for it."""

    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="gauge_links")
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="beat_links")
    delay_hours = models.FloatField(
        default=0, help_text="water at the gauge now is here this later"
    )
    order = models.PositiveSmallIntegerField(default=1)
    ratio = models.FloatField(
        default=1,
        validators=[MinValueValidator(0.05), MaxValueValidator(20)],
        help_text="metres at the beat's first gauge for one metre here",
    )
    # how delay and ratio were learned from both records: {"at", "hours", "r2", "spread_m"};
    # empty where somebody typed them in
    learned = models.JSONField(default=dict, blank=True, editable=False)

    class Meta:
        ordering = ["beat", "order"]
        constraints = [
            models.UniqueConstraint(fields=["beat", "gauge"], name="gauge_speaks_once_for_a_beat")
        ]

    def __str__(self) -> str:
        return f"{self.gauge} for {self.beat}"


class PoolGauge(models.Model):
    """How much a pool's depth changes when the gauge's level changes by one metre."""

    pool = models.ForeignKey(Pool, on_delete=models.CASCADE, related_name="gauge_ratios")
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="pool_ratios")
    ratio = models.FloatField(default=1, validators=[MinValueValidator(0.1), MaxValueValidator(5)])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["pool", "gauge"], name="one_ratio_a_pool_and_gauge")
        ]

    def __str__(self) -> str:
        return f"{self.pool} moves {self.ratio:g} times {self.gauge}"


class Mark(models.Model):
    """A level on a gauge that means something to the guide, and what is seen there.

    The marks cut every level into classes without holes: below the lowest mark is `low`, and
    from each mark up to the next the class is that mark's own.
    """

    class Kind(models.TextChoices):
        SUMMER = "summer", "summer level"
        GOOD = "good", "good"
        HIGH = "high", "high"
        BIG = "big", "big"
        BANK = "over_bank", "over the bank"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="marks")
    beat = models.ForeignKey(
        Beat,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="marks",
        help_text="empty: for every beat this gauge speaks for",
    )
    kind = models.CharField(max_length=10, choices=Kind)
    level_m = models.FloatField()
    seen = models.CharField(
        max_length=120, blank=True, help_text="such as: flat stone just covered"
    )

    class Meta:
        ordering = ["gauge", "level_m"]
        constraints = [
            models.UniqueConstraint(
                fields=["gauge", "beat", "kind"],
                name="one_mark_of_a_kind_a_beat",
                violation_error_message="This gauge has a mark of that kind for that beat.",
            ),
            models.UniqueConstraint(
                fields=["gauge", "kind"],
                condition=Q(beat__isnull=True),
                name="one_mark_of_a_kind_a_gauge",
                violation_error_message="This gauge has a mark of that kind already.",
            ),
            models.CheckConstraint(
                condition=Q(level_m__range=(-1, 20)), name="mark_is_a_river_level"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} from {self.level_m:.2f} m"

    def as_level(self) -> MarkLevel:
        """Return the mark as a plain value."""
        return MarkLevel(
            kind=self.kind,
            name=self.get_kind_display(),
            level_m=self.level_m,
            seen=self.seen,
        )


class Sounding(models.Model):
    """A depth and a speed measured at one spot of a pool, with the gauge's level at the time."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    pool = models.ForeignKey(Pool, on_delete=models.CASCADE, related_name="soundings")
    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, related_name="soundings")
    spot = models.CharField(max_length=60, default="wading line")
    level_m = models.FloatField()
    depth_m = models.FloatField()
    speed_ms = models.FloatField(null=True, blank=True)
    measured_on = models.DateField()
    measured_by = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["pool", "spot", "level_m"]
        constraints = [
            models.CheckConstraint(
                condition=Q(depth_m__gt=0) & Q(depth_m__lte=10),
                name="sounding_depth_is_real",
                violation_error_message="A measured depth is above 0 and at most 10 m.",
            ),
            models.CheckConstraint(
                condition=Q(speed_ms__isnull=True) | Q(speed_ms__range=(0, 6)),
                name="sounding_speed_is_real",
                violation_error_message="A measured speed is 0 to 6 m/s.",
            ),
            models.CheckConstraint(
                condition=Q(level_m__range=(-1, 20)), name="sounding_level_is_a_river_level"
            ),
            models.UniqueConstraint(
                fields=["pool", "gauge", "spot", "measured_on", "level_m"],
                name="sounding_listed_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pool} {self.spot}: {self.depth_m:.2f} m at {self.level_m:.2f} m"
