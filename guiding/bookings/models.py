"""Places that are sold once, bookings, and the parties that come."""

from __future__ import annotations

import uuid
from datetime import date, datetime

from django.db import models
from django.db.models import Q

from guiding.clients.models import Person
from guiding.rivers.models import AccessPoint, Beat, Part, Water


class BookingQuerySet(models.QuerySet["Booking"]):
    def standing(self) -> BookingQuerySet:
        """Bookings that have not been called off."""
        return self.exclude(state=Booking.State.CANCELLED)

    def upcoming(self, day: date) -> BookingQuerySet:
        """Standing bookings with a trip day on or after this day, the next first."""
        return (
            self.standing()
            .filter(days__date__gte=day)
            .annotate(next_date=models.Min("days__date", filter=Q(days__date__gte=day)))
            .order_by("next_date", "reference")
        )


class Booking(models.Model):
    """One party's trip. It is called off by state, never deleted."""

    class State(models.TextChoices):
        OFFERED = "offered", "offered"
        ACCEPTED = "accepted", "accepted"
        FISHED = "fished", "fished"
        CANCELLED = "cancelled", "called off"

    class CalledOff(models.TextChoices):
        """Why a trip was called off: the terms of the money differ by it."""

        CLIENT = "client", "by the client"
        GUIDE_ILL = "guide_ill", "the guide is ill"
        OWNER = "owner", "by the owner"
        UNFISHABLE = "unfishable", "the river cannot be fished"
        DANGEROUS = "dangerous", "the water or the weather is dangerous"
        CLOSED = "closed", "closed by order"
        NO_SHOW = "no_show", "nobody came"

    FISH = (("salmon", "salmon"), ("sea_trout", "sea trout"))

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    reference = models.CharField(max_length=20, unique=True)
    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="bookings")
    payer = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="paid_bookings")
    state = models.CharField(max_length=10, choices=State, default=State.OFFERED)
    fish = models.CharField(
        max_length=10,
        choices=FISH,
        default="salmon",
    )
    taken_at = models.DateTimeField()
    called_off_for = models.CharField(max_length=20, choices=CalledOff, blank=True, default="")
    notes = models.TextField(blank=True, help_text="for the house only")

    objects = BookingQuerySet.as_manager()

    class Meta:
        ordering = ["reference"]

    def __str__(self) -> str:
        return self.reference


class TripDay(models.Model):
    """One part of one day of a booking: which beat, where to meet, when it ends."""

    booking = models.ForeignKey(Booking, on_delete=models.CASCADE, related_name="days")
    date = models.DateField()
    part = models.CharField(max_length=10, choices=Part)
    # the owner assigns the beat and may swap it at lunch: the sale does not change
    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="trip_days")
    meeting_point = models.ForeignKey(AccessPoint, on_delete=models.PROTECT, related_name="+")
    meets_at = models.DateTimeField()
    ends_at = models.DateTimeField()

    class Meta:
        ordering = ["date", "meets_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["booking", "date", "part"], name="trip_part_once_a_booking"
            ),
            models.CheckConstraint(
                condition=Q(ends_at__gt=models.F("meets_at")),
                name="trip_day_ends_after_it_begins",
                violation_error_message="A trip must end after it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.booking} {self.date} {self.part}"


class PartyMember(models.Model):
    """A person in a booking, and what they are there: a person is not a rod and not a payer."""

    class Role(models.TextChoices):
        ROD = "rod", "rod"
        SHARES = "shares", "shares a rod"
        GUEST = "guest", "guest who watches"
        PAYER = "payer", "pays only"

    booking = models.ForeignKey(Booking, on_delete=models.CASCADE, related_name="party")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role, default=Role.ROD)
    shares_with = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="sharers"
    )

    class Meta:
        ordering = ["booking", "id"]
        constraints = [
            models.UniqueConstraint(fields=["booking", "person"], name="person_once_a_booking")
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.get_role_display()}"

    @property
    def comes(self) -> bool:
        """Say whether this person will stand on the bank."""
        return self.role != self.Role.PAYER


class PlaceQuerySet(models.QuerySet["Place"]):
    def free_at(self, moment: datetime) -> PlaceQuerySet:
        """Places nobody has: an expired hold is free even before anything tidies it."""
        return self.filter(
            Q(state=Place.State.FREE) | Q(state=Place.State.HELD, held_until__lte=moment)
        )


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
    held_until = models.DateTimeField(null=True, blank=True)

    objects = PlaceQuerySet.as_manager()

    class Meta:
        ordering = ["water", "date", "part", "seat"]
        constraints = [
            models.UniqueConstraint(
                fields=["water", "date", "part", "seat"], name="place_exists_once"
            ),
            models.CheckConstraint(
                condition=(
                    Q(state__in=["free", "closed"], booking__isnull=True)
                    | Q(state__in=["held", "sold"], booking__isnull=False)
                ),
                name="place_taken_only_by_a_booking",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.water} {self.date} {self.part} seat {self.seat}"


class RodPlace(models.Model):
    """Who fishes a place: two who share a rod fish one place."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="rods")
    member = models.ForeignKey(PartyMember, on_delete=models.CASCADE, related_name="rod_places")
    # copied from place and member so that the database can refuse two places at one time
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    date = models.DateField()
    part = models.CharField(max_length=10, choices=Part)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "date", "part"],
                name="person_fishes_one_place_at_a_time",
                violation_error_message="This person already fishes in that part of that day.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.place}"
