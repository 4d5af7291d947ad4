"""Dams and their schedules, tide places and their tables, looks at ice.

What was said of a day is never altered: a change is a new revision, and the newest on file at a
moment is what counts at that moment.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import date, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.regimes.ice_looks import Look
from guiding.regimes.releases import (
    LONGEST_MARGIN_HOURS,
    LONGEST_TRAVEL_HOURS,
    DamAbove,
    DaySchedule,
)
from guiding.regimes.releases import Release as PlannedRelease
from guiding.regimes.tides import (
    HIGHEST_TIDE_M,
    LEAST_LAG_HOURS,
    LONGEST_FLOOD_HOURS,
    LOWEST_TIDE_M,
    MOST_LAG_HOURS,
    DayTable,
    TideAtBeat,
    Turn,
)
from guiding.rivers.models import Beat, River, check_zone


class DayQuerySet(models.QuerySet):
    """Revisions of what was said of days."""

    def known_at(self, at: datetime) -> DayQuerySet:
        """What was on file at a moment, the newest revision of a day last."""
        return self.filter(typed_at__lte=at).order_by("day", "revision")


def check_moved(beat: Beat) -> None:
    """Refuse to lay a natural beat under a dam or a tide: its regime must say so first."""
    if beat.is_natural:
        raise ValidationError(
            "%(beat)s is written down as natural water. Change its regime to "
            "'below a dam or sluice' or 'tidal' first.",
            code="natural",
            params={"beat": str(beat)},
        )


class Dam(models.Model):
    """A dam or sluice that lets water go."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    river = models.ForeignKey(River, on_delete=models.PROTECT, related_name="dams")
    name = models.CharField(max_length=80, unique=True)
    phone = models.CharField(max_length=40, blank=True, help_text="whom to ring for today's times")
    normal_flow = models.CharField(
        max_length=120, blank=True, help_text="what it lets by without a release, in their words"
    )

    class Meta:
        ordering = ["river", "name"]

    def __str__(self) -> str:
        return self.name


class DamBeat(models.Model):
    """A beat below a dam: how long the water is on its way there."""

    dam = models.ForeignKey(Dam, on_delete=models.CASCADE, related_name="beat_links")
    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="dam_links")
    travel_hours = models.FloatField(
        validators=[MinValueValidator(0), MaxValueValidator(LONGEST_TRAVEL_HOURS)],
        help_text="from the dam to the head of the beat, the shortest ever seen",
    )
    margin_hours = models.FloatField(
        default=0.5,
        validators=[MinValueValidator(0), MaxValueValidator(LONGEST_MARGIN_HOURS)],
        help_text="everybody is out this long before the water can be there",
    )
    gauge_is_below = models.BooleanField(
        default=False,
        help_text="the beat's first gauge stands below this dam and rises with what it lets go",
    )

    class Meta:
        ordering = ["dam", "beat"]
        constraints = [
            models.UniqueConstraint(fields=["dam", "beat"], name="beat_lies_once_below_a_dam"),
            models.CheckConstraint(
                condition=Q(travel_hours__range=(0, LONGEST_TRAVEL_HOURS))
                & Q(margin_hours__range=(0, LONGEST_MARGIN_HOURS)),
                name="water_is_hours_on_its_way",
                violation_error_message="Water is 0 to 96 hours on its way, a margin 0 to 12.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.beat}, {self.travel_hours:g} h below {self.dam}"

    def clean(self) -> None:
        """Refuse a natural beat."""
        if self.beat_id:
            check_moved(self.beat)

    def as_value(self, schedules: tuple[DaySchedule, ...]) -> DamAbove:
        """Return the dam above the beat as a plain value."""
        return DamAbove(
            name=self.dam.name,
            travel_hours=self.travel_hours,
            margin_hours=self.margin_hours,
            gauge_is_below=self.gauge_is_below,
            schedules=schedules,
        )


class SaidOfADay(models.Model):
    """What was said of one day: who said it, when, and who typed it in when."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    day = models.DateField()
    revision = models.PositiveIntegerField(default=1)
    said_by = models.CharField(max_length=120)
    said_at = models.DateTimeField()
    typed_at = models.DateTimeField()
    typed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
    )
    came_from = models.CharField(max_length=200, blank=True, help_text="the file, if it was one")

    objects = DayQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["day", "revision"]

    def __str__(self) -> str:
        return f"{self.day}, revision {self.revision}"


class Schedule(SaidOfADay):
    """A dam's schedule of one day; without releases it says that none is planned."""

    dam = models.ForeignKey(Dam, on_delete=models.PROTECT, related_name="schedules")

    class Meta(SaidOfADay.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["dam", "day", "revision"], name="schedule_revision_once"
            )
        ]

    def as_value(self) -> DaySchedule:
        """Return the schedule as a plain value."""
        return DaySchedule(
            day=self.day,
            releases=tuple(row.as_value() for row in self.releases.all()),
            said_by=self.said_by,
            said_at=self.said_at,
            kept_at=self.typed_at,
        )


class Release(models.Model):
    """Water let go from one clock time to another, by the river's clock."""

    schedule = models.ForeignKey(Schedule, on_delete=models.CASCADE, related_name="releases")
    starts = models.TimeField()
    ends = models.TimeField(null=True, blank=True, help_text="empty: nobody said until when")
    flow = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["schedule", "starts", "pk"]

    def __str__(self) -> str:
        return self.as_value().words()

    def as_value(self) -> PlannedRelease:
        """Return the release as a plain value."""
        return PlannedRelease(starts=self.starts, ends=self.ends, flow=self.flow)


class TidePlace(models.Model):
    """A place for which a tide table is printed."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    river = models.ForeignKey(River, on_delete=models.PROTECT, related_name="tide_places")
    name = models.CharField(max_length=80, unique=True)
    zone = models.CharField(
        max_length=60,
        validators=[check_zone],
        help_text="the clock the table is printed in; many are in UTC all the year round",
    )
    is_twice_a_day = models.BooleanField(
        default=True, help_text="three or four tides a day, as on most Atlantic coasts"
    )

    class Meta:
        ordering = ["river", "name"]

    def __str__(self) -> str:
        return self.name


class TideBeat(models.Model):
    """How the tide of a place comes to a beat, as the guide has seen it."""

    place = models.ForeignKey(TidePlace, on_delete=models.CASCADE, related_name="beat_links")
    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="tide_links")
    lag_hours = models.FloatField(
        validators=[
            MinValueValidator(LEAST_LAG_HOURS),
            MaxValueValidator(MOST_LAG_HOURS),
        ],
        help_text="high water here comes this long after high water at the place",
    )
    low_lag_hours = models.FloatField(
        null=True,
        blank=True,
        validators=[
            MinValueValidator(LEAST_LAG_HOURS),
            MaxValueValidator(MOST_LAG_HOURS),
        ],
        help_text="the same for low water; empty: not known",
    )
    flood_hours = models.FloatField(
        validators=[MinValueValidator(0.1), MaxValueValidator(LONGEST_FLOOD_HOURS)],
        help_text="the flood is felt here from this long before high water here",
    )
    ebb_hours = models.FloatField(
        validators=[MinValueValidator(0.1), MaxValueValidator(LONGEST_FLOOD_HOURS)],
        help_text="and until this long after it",
    )
    margin_hours = models.FloatField(
        default=0.5,
        validators=[MinValueValidator(0), MaxValueValidator(LONGEST_FLOOD_HOURS)],
        help_text="everybody is out this long before the flood can be there",
    )
    cut_off = models.CharField(
        max_length=200, blank=True, help_text="where the flood cuts people off"
    )
    gauge_is_here = models.BooleanField(
        default=False, help_text="the beat's first gauge feels the same tide"
    )

    class Meta:
        ordering = ["place", "beat"]
        constraints = [
            models.UniqueConstraint(fields=["place", "beat"], name="tide_comes_once_to_a_beat"),
            models.CheckConstraint(
                condition=Q(lag_hours__range=(LEAST_LAG_HOURS, MOST_LAG_HOURS))
                & Q(flood_hours__gt=0, flood_hours__lte=LONGEST_FLOOD_HOURS)
                & Q(ebb_hours__gt=0, ebb_hours__lte=LONGEST_FLOOD_HOURS)
                & Q(margin_hours__range=(0, LONGEST_FLOOD_HOURS)),
                name="tide_comes_within_hours",
                violation_error_message="A lag is -3 to 12 h, flood and ebb above 0 to 12 h.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.beat}, {self.lag_hours:g} h after {self.place}"

    def clean(self) -> None:
        """Refuse a natural beat."""
        if self.beat_id:
            check_moved(self.beat)

    def as_value(self, tables: tuple[DayTable, ...]) -> TideAtBeat:
        """Return the tide at the beat as a plain value."""
        return TideAtBeat(
            place=self.place.name,
            zone=ZoneInfo(self.place.zone),
            twice_a_day=self.place.is_twice_a_day,
            lag_hours=self.lag_hours,
            low_lag_hours=self.low_lag_hours,
            flood_hours=self.flood_hours,
            ebb_hours=self.ebb_hours,
            margin_hours=self.margin_hours,
            cut_off=self.cut_off,
            gauge_is_here=self.gauge_is_here,
            tables=tables,
        )


class TideTable(SaidOfADay):
    """The tides of one day at a place, as a table prints them."""

    place = models.ForeignKey(TidePlace, on_delete=models.PROTECT, related_name="tables")

    class Meta(SaidOfADay.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["place", "day", "revision"], name="tide_table_revision_once"
            )
        ]

    def as_value(self) -> DayTable:
        """Return the table as a plain value."""
        return DayTable(
            day=self.day,
            turns=tuple(row.as_value() for row in self.turns.all()),
            said_by=self.said_by,
            said_at=self.said_at,
            kept_at=self.typed_at,
        )


class TideTurn(models.Model):
    """One high or low water, by the table's own clock."""

    table = models.ForeignKey(TideTable, on_delete=models.CASCADE, related_name="turns")
    clock = models.TimeField()
    is_high = models.BooleanField()
    height_m = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["table", "clock"]
        constraints = [
            models.CheckConstraint(
                condition=Q(height_m__isnull=True)
                | Q(height_m__range=(LOWEST_TIDE_M, HIGHEST_TIDE_M)),
                name="tide_height_is_of_this_earth",
                violation_error_message="A tide's height is -5 to 20 m.",
            )
        ]

    def __str__(self) -> str:
        return self.as_value().words()

    def as_value(self) -> Turn:
        """Return the turn as a plain value."""
        return Turn(clock=self.clock, is_high=self.is_high, height_m=self.height_m)


class IceLook(models.Model):
    """What somebody saw of ice; it speaks for its day alone. Rows are added, never altered."""

    class Seen(models.TextChoices):
        NONE = "none", "no ice"
        SHORE = "shore", "ice along the edges"
        FLOATING = "floating", "floating ice"
        COVER = "cover", "a cover of ice"
        BREAKING = "breaking", "ice breaking up"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    river = models.ForeignKey(River, on_delete=models.PROTECT, related_name="ice_looks")
    beat = models.ForeignKey(
        Beat,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="ice_looks",
        help_text="empty: the whole river was looked at",
    )
    looked_at = models.DateTimeField()
    seen = models.CharField(max_length=10, choices=Seen)
    water_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(-0.5), MaxValueValidator(35)],
        help_text="if it was measured",
    )
    who = models.CharField(max_length=120)
    typed_at = models.DateTimeField()
    typed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
    )

    class Meta:
        ordering = ["-looked_at", "-pk"]
        indexes = [models.Index(fields=["river", "looked_at"])]

    def __str__(self) -> str:
        return f"{self.get_seen_display()}, {self.beat or self.river}, {self.looked_at:%Y-%m-%d}"

    def as_value(self, beat: Beat) -> Look:
        """Return the look as a beat of its river reads it."""
        return Look(
            looked_at=self.looked_at,
            seen=self.seen,
            who=self.who,
            place=self.beat.name if self.beat else f"the whole {self.river.name}",
            is_of_this_beat=self.beat_id in (None, beat.pk),
            water_c=self.water_c,
        )


Said = TypeVar("Said", bound=SaidOfADay)


def newest_of_each_day(rows: Iterable[Said]) -> dict[date, Said]:
    """Return the newest revision of each day; rows come with the newest of a day last."""
    return {row.day: row for row in rows}
