"""Places on the map: river, water (what an owner lets as one), beat, pool, access."""

from __future__ import annotations

import uuid
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

LATITUDE = [MinValueValidator(-90), MaxValueValidator(90)]
LONGITUDE = [MinValueValidator(-180), MaxValueValidator(180)]


class Part(models.TextChoices):
    """A part of the day. Night belongs to the date on which it begins."""

    MORNING = "morning", "morning"
    AFTERNOON = "afternoon", "afternoon"
    EVENING = "evening", "evening"
    NIGHT = "night", "night"


def check_zone(name: str) -> None:
    """Refuse a zone that the zone database does not hold."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValidationError(
            "%(zone)r is not a time zone. Use a name such as Europe/London.",
            code="zone",
            params={"zone": name},
        ) from error


class NamedQuerySet(models.QuerySet):
    def named(self, text: str) -> NamedQuerySet:
        """Rows whose name is this text, whatever its case."""
        return self.filter(name__iexact=text.strip())


class River(models.Model):
    """A river, and the zone in which its days are counted."""

    class Grid(models.TextChoices):
        OSGB = "osgb", "Ordnance Survey National Grid"
        UTM = "utm", "Universal Transverse Mercator"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=80, unique=True)
    zone = models.CharField(max_length=60, default="Europe/London", validators=[check_zone])
    grid = models.CharField(max_length=10, choices=Grid, default=Grid.UTM)
    latitude = models.FloatField(validators=LATITUDE)
    longitude = models.FloatField(validators=LONGITUDE)
    is_peaty = models.BooleanField(default=False)
    emergency_number = models.CharField(max_length=20, default="112")
    hospital = models.TextField(blank=True, help_text="nearest with an emergency department")
    no_signal_plan = models.TextField(blank=True)

    objects = NamedQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def zoneinfo(self) -> ZoneInfo:
        """Return the river's zone."""
        return ZoneInfo(self.zone)

    def moment(self, day: date, clock: time) -> datetime:
        """Join a fishing day and a clock time into an aware moment in the river's zone."""
        return datetime.combine(day, clock, tzinfo=self.zoneinfo)

    def day_of(self, moment: datetime) -> date:
        """Return the calendar day on this river at an aware moment."""
        return moment.astimezone(self.zoneinfo).date()


class Water(models.Model):
    """What an owner lets as one: a beat, or several fished in rotation."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    river = models.ForeignKey(River, on_delete=models.PROTECT, related_name="waters")
    name = models.CharField(max_length=80, unique=True)
    rods_a_day = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    let_by = models.CharField(max_length=120, blank=True)
    fishery_phone = models.CharField(max_length=40, blank=True)
    fishery_rules = models.TextField(
        blank=True, help_text="what the fishery told us, in our words, one rule a line"
    )

    objects = NamedQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class PartHours(models.Model):
    """When a part of the day begins and ends on a water, from one month-day to another."""

    water = models.ForeignKey(Water, on_delete=models.CASCADE, related_name="part_hours")
    part = models.CharField(max_length=10, choices=Part)
    first_month_day = models.CharField(max_length=5, default="01-01")
    last_month_day = models.CharField(max_length=5, default="12-31")
    starts = models.TimeField()
    ends = models.TimeField(help_text="before the start: the next calendar day")

    class Meta:
        ordering = ["water", "part", "first_month_day"]
        verbose_name_plural = "part hours"
        constraints = [
            models.UniqueConstraint(
                fields=["water", "part", "first_month_day"], name="part_hours_once_a_season"
            )
        ]

    def __str__(self) -> str:
        return f"{self.water} {self.part} {self.starts:%H:%M} to {self.ends:%H:%M}"

    def holds_on(self, day: date) -> bool:
        """Say whether these hours are in force on a day; the season may cross the new year."""
        here = f"{day:%m-%d}"
        if self.first_month_day <= self.last_month_day:
            return self.first_month_day <= here <= self.last_month_day
        return here >= self.first_month_day or here <= self.last_month_day

    def interval(self, day: date) -> tuple[datetime, datetime]:
        """Return the aware start and end of this part on a day, in the river's zone."""
        river = self.water.river
        last = day if self.ends > self.starts else day + timedelta(days=1)
        return river.moment(day, self.starts), river.moment(last, self.ends)


class Beat(models.Model):
    """A stretch of one water, fished by its rods in turn."""

    class Regime(models.TextChoices):
        NATURAL = "natural", "natural"
        REGULATED = "regulated", "below a dam or sluice"
        TIDAL = "tidal", "tidal"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="beats")
    name = models.CharField(max_length=80, unique=True)
    order = models.PositiveSmallIntegerField(default=1)
    regime = models.CharField(max_length=10, choices=Regime, default=Regime.NATURAL)
    power_lines = models.TextField(blank=True, help_text="where lines cross or run near the bank")
    hazards = models.TextField(blank=True, help_text="what hurts people here, one a line")

    objects = NamedQuerySet.as_manager()

    class Meta:
        ordering = ["water", "order", "name"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_natural(self) -> bool:
        """Say whether rain and recession alone move this water."""
        return self.regime == self.Regime.NATURAL


class Pool(models.Model):
    """One pool of a beat, head to tail."""

    class Bottom(models.TextChoices):
        GRAVEL = "gravel", "gravel"
        COBBLE = "cobble", "cobble"
        BOULDER = "boulder", "boulders"
        BEDROCK = "bedrock", "bedrock"
        MIXED = "mixed", "mixed"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="pools")
    name = models.CharField(max_length=80)
    order = models.PositiveSmallIntegerField(default=1)
    length_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(1)])
    bottom = models.CharField(max_length=10, choices=Bottom, blank=True)
    fished_from = models.CharField(max_length=10, blank=True, help_text="left or right bank")
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["beat", "order", "name"]
        constraints = [
            models.UniqueConstraint(fields=["beat", "name"], name="pool_name_once_a_beat")
        ]

    def __str__(self) -> str:
        return self.name


class AccessPoint(models.Model):
    """Where to stand or park: a meeting point of a water, or the way to a pool."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    water = models.ForeignKey(Water, on_delete=models.CASCADE, related_name="access_points")
    pool = models.ForeignKey(
        Pool, null=True, blank=True, on_delete=models.CASCADE, related_name="access_points"
    )
    name = models.CharField(max_length=80)
    latitude = models.FloatField(validators=LATITUDE, help_text="WGS 84, as a phone gives it")
    longitude = models.FloatField(validators=LONGITUDE)
    directions = models.TextField(blank=True)
    is_meeting_point = models.BooleanField(default=False)

    class Meta:
        ordering = ["water", "-is_meeting_point", "name"]
        constraints = [
            models.UniqueConstraint(fields=["water", "name"], name="access_name_once_a_water"),
            models.CheckConstraint(
                condition=Q(latitude__range=(-90, 90)) & Q(longitude__range=(-180, 180)),
                name="access_point_is_on_earth",
                violation_error_message="A latitude is -90 to 90, a longitude -180 to 180.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
