"""The lines a booking sold at, and what was paid for it: both kept as they were."""

from __future__ import annotations

import uuid
from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.bookings.tables.bookings import Booking
from guiding.bookings.tables.prices import PriceKind
from guiding.clients.models import Person
from guiding.ledger.fields import MoneyField, PercentField
from guiding.ledger.models import TaxPoint, TaxTreatment, Voucher


class BookingLine(models.Model):
    """One line a booking sold at. It never changes; a change of the sale adds lines.

    `amount` has the tax in it; below nought it takes back a line.
    """

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="lines")
    kind = models.CharField(max_length=10, choices=PriceKind)
    words = models.CharField(max_length=160)
    date = models.DateField(null=True, blank=True)
    part = models.CharField(max_length=10, blank=True)
    quantity = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    unit_amount = MoneyField()
    amount = MoneyField()
    is_passed_on = models.BooleanField(default=False)
    owner = models.CharField(max_length=120, blank=True)
    tax_treatment = models.CharField(max_length=16, choices=TaxTreatment)
    tax_percent = PercentField(default=Decimal(0))
    tax_amount = MoneyField(default=Decimal(0))
    tax_point = models.CharField(max_length=8, choices=TaxPoint)
    sold_at = models.DateTimeField()
    takes_back = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="taken_back_by"
    )

    class Meta:
        ordering = ["booking", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount=models.F("quantity") * models.F("unit_amount"))
                | Q(takes_back__isnull=False),
                name="line_is_quantity_times_price",
            )
        ]

    def __str__(self) -> str:
        return f"{self.words}: {self.amount}"


class Payment(models.Model):
    """Money that came in for a booking, or went back; recorded by somebody of the house."""

    class How(models.TextChoices):
        TRANSFER = "transfer", "bank transfer"
        CARD = "card", "card"
        CASH = "cash", "cash"
        CHEQUE = "cheque", "cheque"
        VOUCHER = "voucher", "voucher"
        BROUGHT_IN = "brought_in", "before this ledger began"

    class Purpose(models.TextChoices):
        TRIP = "trip", "for the trip"
        TIP = "tip", "tip"
        REFUND = "refund", "refund"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="payments")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="payments")
    purpose = models.CharField(max_length=8, choices=Purpose, default=Purpose.TRIP)
    how = models.CharField(max_length=12, choices=How)
    amount = MoneyField()
    received_on = models.DateField()
    reference = models.CharField(max_length=80, blank=True)
    voucher = models.ForeignKey(
        Voucher, null=True, blank=True, on_delete=models.PROTECT, related_name="payments"
    )
    entry = models.UUIDField(help_text="the ledger's entry")
    recorded_at = models.DateTimeField()
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    # a form sent twice is one payment
    asked_as = models.CharField(max_length=80, unique=True)
    reversed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["received_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="payment_is_more_than_nothing",
                violation_error_message="A payment is more than nothing.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.amount} for {self.booking}"
