"""What owners let to the guide, and on which terms."""

from __future__ import annotations

import uuid
from datetime import date

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.ledger.fields import MoneyField, PercentField
from guiding.rivers.models import Water


class LetQuerySet(models.QuerySet["Let"]):
    def standing(self) -> LetQuerySet:
        """Lets that were neither refused nor handed back whole."""
        return self.filter(state__in=[Let.State.ASKED, Let.State.TAKEN])

    def on(self, water: Water, first: date, last: date) -> LetQuerySet:
        """Standing lets of a water that touch these days."""
        return self.standing().filter(water=water, first_date__lte=last, last_date__gte=first)


class Let(models.Model):
    """Rods of one water that an owner lets to the guide over some days, and the owner's terms."""

    class State(models.TextChoices):
        ASKED = "asked", "asked for"
        TAKEN = "taken", "taken"
        REFUSED = "refused", "refused"
        HANDED_BACK = "handed_back", "handed back"

    class Answer(models.TextChoices):
        """What an owner says to juniors, dogs or a ghillie of one's own."""

        YES = "yes", "yes"
        NO = "no", "no"
        ASK = "ask", "ask first"
        NOT_KNOWN = "not_known", "not known"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    water = models.ForeignKey(Water, on_delete=models.PROTECT, related_name="lets")
    reference = models.CharField(max_length=40, blank=True, help_text="the owner's own")
    owner = models.CharField(max_length=120, help_text="who lets it")
    state = models.CharField(max_length=12, choices=State, default=State.ASKED)
    first_date = models.DateField()
    last_date = models.DateField()
    rods = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    # Monday is 0; an empty text is every day
    weekdays = models.CharField(max_length=13, blank=True, help_text="such as 0,1,2,3,4,5")

    cost_amount = MoneyField(validators=[MinValueValidator(0)])
    balance_due_on = models.DateField(null=True, blank=True)
    hand_back_by = models.DateField(null=True, blank=True, help_text="the last day to hand back")
    hand_back_percent = PercentField(
        default=0, help_text="share of the cost that comes back until then"
    )

    wants_names = models.BooleanField(default=False)
    juniors = models.CharField(max_length=10, choices=Answer, default=Answer.NOT_KNOWN)
    dogs = models.CharField(max_length=10, choices=Answer, default=Answer.NOT_KNOWN)
    own_ghillie = models.CharField(
        max_length=10,
        choices=Answer,
        default=Answer.NOT_KNOWN,
        help_text="must the owner's ghillie come?",
    )
    guide_is_a_rod = models.CharField(
        max_length=10,
        choices=Answer,
        default=Answer.NOT_KNOWN,
        help_text="does a guide who casts to show something count as a rod?",
    )
    first_refusal_until = models.DateField(
        null=True, blank=True, help_text="last day to take the same week next year"
    )
    follows = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="followed_by"
    )
    asked_at = models.DateTimeField()
    notes = models.TextField(blank=True)

    objects = LetQuerySet.as_manager()

    class Meta:
        ordering = ["first_date", "water"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_date__gte=models.F("first_date")),
                name="let_ends_after_it_begins",
                violation_error_message="A let ends on or after the day it begins.",
            ),
            models.CheckConstraint(
                condition=Q(cost_amount__gte=0),
                name="let_cost_is_not_negative",
                violation_error_message="A let costs nothing or more.",
            ),
            models.CheckConstraint(
                condition=Q(hand_back_percent__range=(0, 100)),
                name="let_hand_back_is_a_share",
                violation_error_message="What comes back is 0 to 100 percent.",
            ),
            models.UniqueConstraint(
                fields=["follows"],
                condition=Q(state__in=["asked", "taken"]),
                name="let_is_followed_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.water} {self.first_date} to {self.last_date}, {self.rods} rods"

    def holds_on(self, day: date) -> bool:
        """Say whether the let covers a day, its weekday included."""
        if not self.first_date <= day <= self.last_date:
            return False
        return not self.weekdays or str(day.weekday()) in self.weekdays.split(",")
