"""What is asked for a place and all that goes with it, and the terms it is sold at."""

from __future__ import annotations

import uuid
from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.ledger.fields import MoneyField, PercentField
from guiding.ledger.models import TaxPoint, TaxTreatment
from guiding.rivers.models import Part, Water


class PriceKind(models.TextChoices):
    """What a line is for."""

    ROD = "rod", "rod"
    SHARING = "sharing", "sharing a rod"
    GUIDING = "guiding", "guiding"
    TUITION = "tuition", "tuition"
    KIT = "kit", "loan of kit"
    PERMIT = "permit", "permit passed on"
    GHILLIE = "ghillie", "ghillie"
    BOAT = "boat", "boat"
    OTHER = "other", "other"


class Price(models.Model):
    """One line of the price list. The narrowest that fits a day is taken: water, part, season."""

    class Per(models.TextChoices):
        ROD_PART = "rod_part", "a rod and part of the day"
        PERSON_PART = "person_part", "a person and part of the day"
        PERSON_DAY = "person_day", "a person and day"
        PARTY_PART = "party_part", "the party and part of the day"
        PARTY_DAY = "party_day", "the party and day"
        TRIP = "trip", "the trip"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=10, choices=PriceKind)
    words = models.CharField(max_length=120, help_text="as it stands on the invoice")
    per = models.CharField(max_length=12, choices=Per)
    # the price with tax in it, as a client is told it
    amount = MoneyField(validators=[MinValueValidator(0)])
    water = models.ForeignKey(
        Water, null=True, blank=True, on_delete=models.PROTECT, related_name="prices"
    )
    part = models.CharField(max_length=10, choices=Part, blank=True, help_text="empty: every part")
    first_date = models.DateField(help_text="the first day fished that it holds for")
    last_date = models.DateField()
    is_always = models.BooleanField(
        default=True, help_text="on every booking, or only where it is asked for"
    )
    is_passed_on = models.BooleanField(
        default=False, help_text="taken for the owner as agent, not our own sale"
    )
    owner = models.CharField(max_length=120, blank=True, help_text="for whom, if passed on")
    tax_treatment = models.CharField(
        max_length=16, choices=TaxTreatment, default=TaxTreatment.NOT_REGISTERED
    )
    tax_percent = PercentField(default=Decimal(0))
    tax_point = models.CharField(max_length=8, choices=TaxPoint, default=TaxPoint.FISHED)

    class Meta:
        ordering = ["kind", "water", "first_date"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gte=0),
                name="price_is_not_negative",
                violation_error_message="A price is nothing or more.",
            ),
            models.CheckConstraint(
                condition=Q(last_date__gte=models.F("first_date")),
                name="price_ends_after_it_begins",
                violation_error_message="The last day comes on or after the first.",
            ),
            models.CheckConstraint(
                condition=Q(is_passed_on=False) | ~Q(owner=""),
                name="price_passed_on_names_the_owner",
                violation_error_message="Say for whom it is taken.",
            ),
            models.CheckConstraint(
                condition=Q(tax_treatment__in=["standard", "reduced"]) | Q(tax_percent=0),
                name="price_taxed_only_at_a_rate",
                violation_error_message="Only a standard or reduced rate has a percentage.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.words}: {self.amount} {self.get_per_display()}"


class Terms(models.Model):
    """One version of the terms of sale. A booking keeps its own; a change is a new version."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=80)
    version = models.PositiveSmallIntegerField(default=1)
    words = models.TextField(help_text="as the client reads and accepts them")
    offer_days = models.PositiveSmallIntegerField(default=5, help_text="how long an offer holds")
    deposit_percent = PercentField(default=Decimal(25))
    deposit_days = models.PositiveSmallIntegerField(
        default=7, help_text="days after acceptance until the deposit is due"
    )
    balance_days = models.PositiveSmallIntegerField(
        default=42, help_text="days before the first day until the balance is due"
    )
    written_at = models.DateTimeField()
    is_current = models.BooleanField(default=True)

    class Meta:
        ordering = ["name", "-version"]
        verbose_name_plural = "terms"
        constraints = [
            models.UniqueConstraint(fields=["name", "version"], name="terms_version_once"),
            models.UniqueConstraint(
                fields=["is_current"],
                condition=Q(is_current=True),
                name="one_set_of_terms_in_force",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, version {self.version}"


class CancelTerm(models.Model):
    """For one reason, from so many days before the first day on: how much of the price is kept.

    The row with the most days that is not above the days still to go decides.
    """

    class Bears(models.TextChoices):
        """Who bears what was paid to an owner and does not come back."""

        CLIENT = "client", "the client"
        HOUSE = "house", "the house"

    terms = models.ForeignKey(Terms, on_delete=models.CASCADE, related_name="cancel_terms")
    reason = models.CharField(max_length=20)
    from_days = models.PositiveSmallIntegerField(help_text="days before the first day, or more")
    keep_percent = PercentField(help_text="share of our own price that is kept")
    permit_borne_by = models.CharField(max_length=10, choices=Bears)
    may_move = models.BooleanField(
        default=False, help_text="a new date without charge instead, if both agree"
    )

    class Meta:
        ordering = ["terms", "reason", "-from_days"]
        constraints = [
            models.UniqueConstraint(
                fields=["terms", "reason", "from_days"], name="cancel_term_once_a_day"
            ),
            models.CheckConstraint(
                condition=Q(keep_percent__range=(0, 100)),
                name="cancel_term_keeps_a_share",
                violation_error_message="What is kept is 0 to 100 percent.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reason} from {self.from_days} days: {self.keep_percent} %"
