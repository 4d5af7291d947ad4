"""Bookings from offer to closed, their days, what was changed, and what was sold on whose word."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.bookings.tables.prices import Terms
from guiding.clients.models import Person
from guiding.ledger.fields import MoneyField, PercentField
from guiding.rivers.models import AccessPoint, Beat, Part, Water

FISH = (("salmon", "salmon"), ("sea_trout", "sea trout"))


class Method(models.TextChoices):
    """How it is fished. Which is allowed where is the fishery's to say."""

    FLY = "fly", "fly"
    SPINNING = "spinning", "spinning"
    BAIT = "bait", "bait"


class Reason(models.TextChoices):
    """Why a trip is called off, moved or cut short: the terms of the money differ by it."""

    CLIENT = "client", "by the client"
    GUIDE_ILL = "guide_ill", "the guide is ill"
    OWNER = "owner", "by the owner"
    UNFISHABLE = "unfishable", "the river cannot be fished"
    UNSAFE = "unsafe", "the water or the weather is dangerous"
    CLOSED_BY_ORDER = "closed_by_order", "closed by order"
    NO_SHOW = "no_show", "nobody came"


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

    def sold(self) -> BookingQuerySet:
        """Bookings that a client has said yes to, and that stand."""
        return self.filter(state__in=Booking.SOLD)

    def lapsed(self, at: datetime) -> BookingQuerySet:
        """Offers whose time is over; their places are free already."""
        return self.filter(state=Booking.State.OFFERED, offered_until__lte=at)


class Booking(models.Model):
    """One party's trip. It is called off by state, never deleted."""

    class State(models.TextChoices):
        OFFERED = "offered", "offered"
        ACCEPTED = "accepted", "accepted"
        DEPOSIT_IN = "deposit_in", "deposit in"
        READY = "ready", "ready"
        FISHED = "fished", "fished"
        CLOSED = "closed", "closed"
        CANCELLED = "cancelled", "called off"

    SOLD = (
        State.ACCEPTED.value,
        State.DEPOSIT_IN.value,
        State.READY.value,
        State.FISHED.value,
        State.CLOSED.value,
    )

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    reference = models.CharField(max_length=20, unique=True)
    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="bookings")
    payer = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="paid_bookings")
    state = models.CharField(max_length=10, choices=State, default=State.OFFERED)
    fish = models.CharField(max_length=10, choices=FISH, default="salmon")
    method = models.CharField(max_length=10, choices=Method, default=Method.FLY)
    taken_at = models.DateTimeField()
    offered_until = models.DateTimeField(null=True, blank=True)
    # kept beside the days so that lists need not look at them
    first_date = models.DateField(null=True, blank=True)
    last_date = models.DateField(null=True, blank=True)

    # the terms it was sold at; a version is never altered
    terms = models.ForeignKey(
        Terms, null=True, blank=True, on_delete=models.PROTECT, related_name="bookings"
    )
    total_amount = MoneyField(default=Decimal(0))
    # what the client owes by the ledger, written with each posting; below nought we owe them
    owed_amount = MoneyField(default=Decimal(0))
    deposit_amount = MoneyField(default=Decimal(0))
    deposit_due_on = models.DateField(null=True, blank=True)
    balance_due_on = models.DateField(null=True, blank=True)
    agent = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="brought_bookings"
    )
    commission_percent = PercentField(default=Decimal(0))
    repeats = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="repeated_as"
    )

    called_off_for = models.CharField(max_length=20, choices=Reason, blank=True, default="")
    called_off_at = models.DateTimeField(null=True, blank=True)
    notes = models.TextField(blank=True, help_text="for the house only; nothing medical")

    objects = BookingQuerySet.as_manager()

    class Meta:
        ordering = ["reference"]
        indexes = [
            models.Index(fields=["state", "first_date"]),
            models.Index(fields=["last_date"]),
            models.Index(
                fields=["balance_due_on"], condition=~Q(owed_amount=0), name="booking_still_owed"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(total_amount__gte=0) & Q(deposit_amount__gte=0),
                name="booking_amounts_are_not_negative",
                violation_error_message="A total and a deposit are nothing or more.",
            )
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def about(self) -> str:
        """Return how history, ledger and letters speak of this booking."""
        return f"booking {self.key}"

    def is_lapsed(self, at: datetime) -> bool:
        """Say whether this is an offer whose time is over."""
        return (
            self.state == self.State.OFFERED
            and self.offered_until is not None
            and self.offered_until <= at
        )


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
        indexes = [models.Index(fields=["date"]), models.Index(fields=["ends_at"])]
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


class TripChange(models.Model):
    """One act that changed a trip already offered: moved, beats swapped, cut short."""

    class Kind(models.TextChoices):
        MOVED = "moved", "moved"
        BEATS = "beats", "beats swapped"
        CUT_SHORT = "cut_short", "ended early"

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="changes")
    kind = models.CharField(max_length=10, choices=Kind)
    reason = models.CharField(max_length=20, choices=Reason, blank=True)
    changed_at = models.DateTimeField()
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    # what has to be told to whom: [{"whom": ..., "what": ..., "done_at": null}]
    to_tell = models.JSONField(default=list)

    class Meta:
        ordering = ["changed_at", "id"]

    def __str__(self) -> str:
        return f"{self.booking} {self.get_kind_display()}"


class SaleOverride(models.Model):
    """A named person's word that a place of which nothing is on file may be sold, and why."""

    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="sale_overrides")
    # for one booking, or for every sale of these days
    booking = models.ForeignKey(
        Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="sale_overrides"
    )
    first_date = models.DateField()
    last_date = models.DateField()
    question = models.CharField(max_length=200, help_text="what was not known")
    who = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.TextField()
    given_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-given_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_date__gte=models.F("first_date")),
                name="override_ends_after_it_begins",
                violation_error_message="The last day comes on or after the first.",
            ),
            models.CheckConstraint(
                condition=~Q(reason=""),
                name="override_has_a_reason",
                violation_error_message="Say why.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.water} {self.first_date} to {self.last_date}, on {self.who}'s word"


class Enquiry(models.Model):
    """What somebody asked for, before anything is offered."""

    class State(models.TextChoices):
        OPEN = "open", "open"
        OFFERED = "offered", "offered"
        CLOSED = "closed", "closed"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="enquiries")
    words = models.TextField(blank=True, help_text="as they wrote or said it")
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    water = models.ForeignKey(
        Water, null=True, blank=True, on_delete=models.PROTECT, related_name="enquiries"
    )
    first_date = models.DateField(help_text="the earliest day that would do")
    last_date = models.DateField()
    days = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    rods = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(40)]
    )
    people = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(80)]
    )
    parts = models.CharField(max_length=40, blank=True, help_text="such as evening,night")
    method = models.CharField(max_length=10, choices=Method, default=Method.FLY)
    fish = models.CharField(max_length=10, choices=FISH, blank=True)
    experience = models.TextField(blank=True)
    booking = models.ForeignKey(
        Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="enquiries"
    )
    asked_at = models.DateTimeField()

    class Meta:
        ordering = ["-asked_at"]
        verbose_name_plural = "enquiries"
        indexes = [models.Index(fields=["state", "first_date"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_date__gte=models.F("first_date")),
                name="enquiry_ends_after_it_begins",
                violation_error_message="The last day comes on or after the first.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.rods} rods, {self.first_date} to {self.last_date}"


class Waiting(models.Model):
    """An enquiry that waits for a place; it hears once, in the order in which they came."""

    enquiry = models.OneToOneField(Enquiry, on_delete=models.PROTECT, related_name="waiting")
    since_at = models.DateTimeField()
    told_at = models.DateTimeField(null=True, blank=True)
    told_of = models.JSONField(default=list, help_text="the places it was told of")
    turn_ends_at = models.DateTimeField(
        null=True, blank=True, help_text="until then nobody behind hears of the same places"
    )
    left_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["since_at", "id"]
        verbose_name_plural = "waiting"

    def __str__(self) -> str:
        return f"{self.enquiry} waits"
