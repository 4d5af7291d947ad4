"""Places, guides, ghillies and boats: each row is claimed once, by conditional update."""

from __future__ import annotations

import uuid
from datetime import datetime

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.bookings.tables.bookings import Booking
from guiding.clients.models import Person
from guiding.rivers.models import Part, Water


class FirstRefusal(models.Model):
    """A client's right to the same week next year, until its last day; then it is free by itself.

    The places it keeps are held until midnight after the last day by the river's clock.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    booking = models.OneToOneField(
        Booking, on_delete=models.PROTECT, related_name="first_refusal", help_text="this year's"
    )
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="first_refusals")
    first_date = models.DateField(help_text="next year's first day: the same weekday")
    last_date = models.DateField()
    rods = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    last_day = models.DateField(help_text="the last day to say yes")
    given_at = models.DateTimeField()
    taken_up_by = models.ForeignKey(
        Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    let_go_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["last_day"]

    def __str__(self) -> str:
        return f"{self.person}, {self.first_date} to {self.last_date}, until {self.last_day}"


class ClaimedOnceQuerySet(models.QuerySet):
    def free_at(self, moment: datetime) -> ClaimedOnceQuerySet:
        """Rows nobody has: an expired hold is free even before anything tidies it."""
        return self.filter(Q(state="free") | Q(state="held", held_until__lte=moment))

    def had_at(self, moment: datetime) -> ClaimedOnceQuerySet:
        """Rows sold, or held by a hold that still stands."""
        return self.filter(Q(state="sold") | Q(state="held", held_until__gt=moment))


class Place(models.Model):
    """One rod's seat on one water in one part of one day."""

    class State(models.TextChoices):
        FREE = "free", "free"
        HELD = "held", "held"
        SOLD = "sold", "sold"
        CLOSED = "closed", "closed"

    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="places")
    date = models.DateField()
    part = models.CharField(max_length=10, choices=Part)
    seat = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=State, default=State.FREE)
    booking = models.ForeignKey(
        Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="places"
    )
    first_refusal = models.ForeignKey(
        FirstRefusal, null=True, blank=True, on_delete=models.PROTECT, related_name="places"
    )
    held_until = models.DateTimeField(null=True, blank=True)
    closed_why = models.CharField(max_length=200, blank=True)

    objects = ClaimedOnceQuerySet.as_manager()

    class Meta:
        ordering = ["water", "date", "part", "seat"]
        indexes = [models.Index(fields=["date", "water", "part", "state"])]
        constraints = [
            models.UniqueConstraint(
                fields=["water", "date", "part", "seat"], name="place_exists_once"
            ),
            models.CheckConstraint(
                condition=(
                    Q(state__in=["free", "closed"], booking=None, first_refusal=None)
                    | Q(state="held", booking__isnull=False, first_refusal=None)
                    | Q(state="held", booking=None, first_refusal__isnull=False)
                    | Q(state="sold", booking__isnull=False, first_refusal=None)
                ),
                name="place_taken_only_by_a_booking",
            ),
            models.CheckConstraint(
                condition=Q(state="held", held_until__isnull=False)
                | (~Q(state="held") & Q(held_until=None)),
                name="place_hold_has_an_end",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.water} {self.date} {self.part} seat {self.seat}"


class Resource(models.Model):
    """A guide, a ghillie or a boat: one trip at a time."""

    class Kind(models.TextChoices):
        GUIDE = "guide", "guide"
        GHILLIE = "ghillie", "ghillie"
        BOAT = "boat", "boat"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField(max_length=80, unique=True)
    water = models.ForeignKey(
        Water,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="resources",
        help_text="the only water it works on, if there is one",
    )
    people_at_most = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(20)],
        help_text="people on the bank or aboard, rods or not",
    )
    is_working = models.BooleanField(default=True)

    class Meta:
        ordering = ["kind", "name"]

    def __str__(self) -> str:
        return f"{self.name}, {self.get_kind_display()}"


class Assignment(models.Model):
    """A guide, ghillie or boat in one part of one day."""

    State = Place.State

    resource = models.ForeignKey(Resource, on_delete=models.PROTECT, related_name="assignments")
    date = models.DateField()
    part = models.CharField(max_length=10, choices=Part)
    state = models.CharField(max_length=10, choices=Place.State, default=Place.State.FREE)
    booking = models.ForeignKey(
        Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="assignments"
    )
    held_until = models.DateTimeField(null=True, blank=True)

    objects = ClaimedOnceQuerySet.as_manager()

    class Meta:
        ordering = ["date", "part", "resource"]
        constraints = [
            models.UniqueConstraint(
                fields=["resource", "date", "part"],
                name="resource_is_in_one_place_at_a_time",
                violation_error_message="Already out with another party in that part of that day.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(state__in=["free", "closed"], booking=None)
                    | Q(state__in=["held", "sold"], booking__isnull=False)
                ),
                name="assignment_taken_only_by_a_booking",
            ),
            models.CheckConstraint(
                condition=Q(state="held", held_until__isnull=False)
                | (~Q(state="held") & Q(held_until=None)),
                name="assignment_hold_has_an_end",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.resource} {self.date} {self.part}"
