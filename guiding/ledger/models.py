"""The ledger: amounts from one account to another, added and never altered; papers; vouchers."""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.clients.models import Person
from guiding.documents.models import Document
from guiding.ledger.fields import MoneyField, PercentField


class Account(models.TextChoices):
    """Where an amount lies. A debit adds to what we have or spend, a credit to what we owe."""

    BANK = "bank", "bank and cash"
    CLIENTS = "clients", "what clients owe us"
    SOLD_AHEAD = "sold_ahead", "sold, not fished yet"
    SALES = "sales", "sales"
    KEPT_ON_CANCELLATION = "kept_on_cancellation", "kept when a trip is called off"
    TAX = "tax", "tax we owe"
    OWNERS = "owners", "what we owe to owners"
    WATER_COSTS = "water_costs", "cost of water we let"
    HANDED_BACK = "handed_back", "owed by owners for what was handed back"
    VOUCHERS = "vouchers", "vouchers not redeemed"
    VOUCHERS_LAPSED = "vouchers_lapsed", "vouchers that lapsed"
    AGENTS = "agents", "what we owe to agents"
    COMMISSION = "commission", "agents' commission"
    TIPS = "tips", "tips held for those they were given to"
    WRITTEN_OFF = "written_off", "written off"


class TaxTreatment(models.TextChoices):
    """How a line stands to the tax on sales. Which one holds is the house's own to say."""

    STANDARD = "standard", "standard rate"
    REDUCED = "reduced", "reduced rate"
    ZERO = "zero", "zero rate"
    EXEMPT = "exempt", "exempt"
    OUTSIDE = "outside", "outside the scope"
    NOT_REGISTERED = "not_registered", "not registered"


class TaxPoint(models.TextChoices):
    """When the tax on a line falls due."""

    SOLD = "sold", "when it is sold"
    PAID = "paid", "as it is paid"
    FISHED = "fished", "when it was fished"


class LedgerIsAppendOnly(TypeError):
    """A posting stands as it was written; a wrong one is reversed by another."""


class PostingQuerySet(models.QuerySet["Posting"]):
    def update(self, **changes: Any) -> int:
        raise LedgerIsAppendOnly("A posting is never altered; reverse it.")

    def delete(self) -> Any:
        raise LedgerIsAppendOnly("A posting is never deleted; reverse it.")


class Posting(models.Model):
    """One amount from a credit account to a debit account: it balances by construction."""

    class Kind(models.TextChoices):
        SALE = "sale", "sale"
        FISHED = "fished", "fished"
        PAYMENT = "payment", "payment"
        REFUND = "refund", "refund"
        CANCELLATION = "cancellation", "cancellation"
        TAX = "tax", "tax"
        VOUCHER = "voucher", "voucher"
        COMMISSION = "commission", "commission"
        TIP = "tip", "tip"
        LET = "let", "let"
        OWNER_PAID = "owner_paid", "paid to an owner"
        AGENT_PAID = "agent_paid", "paid to an agent"
        TIP_PAID = "tip_paid", "tip passed on"
        WRITE_OFF = "write_off", "write-off"
        BROUGHT_IN = "brought_in", "brought in from before"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    # what one act wrote carries one entry
    entry = models.UUIDField(db_index=True)
    debit = models.CharField(max_length=24, choices=Account)
    credit = models.CharField(max_length=24, choices=Account)
    amount = MoneyField()
    kind = models.CharField(max_length=16, choices=Kind)
    words = models.CharField(max_length=200)
    about = models.CharField(max_length=80, help_text='kind and key, such as "booking 5f0c..."')
    # who owes or is owed, where the account is somebody's
    person = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="postings"
    )
    owner = models.CharField(max_length=120, blank=True, help_text="for owners: who lets the water")
    is_passed_on = models.BooleanField(
        default=False, help_text="taken for an owner as agent, not our own sale"
    )
    tax_treatment = models.CharField(max_length=16, choices=TaxTreatment, blank=True)
    tax_percent = PercentField(null=True, blank=True)
    tax_point = models.CharField(max_length=8, choices=TaxPoint, blank=True)
    happened_on = models.DateField(help_text="the day it counts on, by the house's calendar")
    posted_at = models.DateTimeField()
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )

    objects = PostingQuerySet.as_manager()

    class Meta:
        ordering = ["happened_on", "id"]
        indexes = [
            models.Index(fields=["about", "id"]),
            models.Index(fields=["debit", "happened_on"]),
            models.Index(fields=["credit", "happened_on"]),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="posting_amount_is_positive",
                violation_error_message="A posting moves more than nothing.",
            ),
            models.CheckConstraint(
                condition=~Q(debit=models.F("credit")),
                name="posting_moves_between_two_accounts",
                violation_error_message="A posting moves an amount from one account to another.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.happened_on} {self.words}: {self.amount}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.pk is not None:
            raise LedgerIsAppendOnly("A posting is never altered; reverse it.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> Any:
        raise LedgerIsAppendOnly("A posting is never deleted; reverse it.")


class PaperNumber(models.Model):
    """The next number of a series. It moves in the transaction that writes the paper: no gaps."""

    series = models.CharField(max_length=20, unique=True, help_text="such as invoice-2026")
    next_number = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"{self.series}: {self.next_number}"


class Paper(models.Model):
    """A numbered invoice, receipt or credit note: frozen words, then a stored PDF."""

    class Kind(models.TextChoices):
        INVOICE = "invoice", "invoice"
        RECEIPT = "receipt", "receipt"
        CREDIT_NOTE = "credit_note", "credit note"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=12, choices=Kind)
    series = models.CharField(max_length=20)
    number = models.PositiveIntegerField()
    about = models.CharField(max_length=80, db_index=True)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="papers")
    issued_on = models.DateField()
    written_at = models.DateTimeField()
    total_amount = MoneyField()
    content = models.JSONField(help_text="every word and amount on it, as it was issued")
    document = models.ForeignKey(
        Document, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    # a worker's lease while it makes the PDF
    claimed_until = models.DateTimeField(null=True, blank=True)
    corrects = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    # the same request sent twice writes one paper
    asked_as = models.CharField(max_length=80, unique=True)

    class Meta:
        ordering = ["-written_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["series", "number"], name="paper_number_once_a_series")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.label}"

    @property
    def label(self) -> str:
        """Return the number as it is printed, such as invoice-2026-0007."""
        return f"{self.series}-{self.number:04d}"


class Voucher(models.Model):
    """Paid for now, fished for later: owed until it is redeemed or lapses."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=20, unique=True)
    buyer = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="vouchers_bought")
    amount = MoneyField(validators=[MinValueValidator(0)])
    left_amount = MoneyField()
    sold_at = models.DateTimeField()
    lapses_on = models.DateField(null=True, blank=True, help_text="the last day it is taken")
    lapsed_at = models.DateTimeField(null=True, blank=True)
    words = models.CharField(max_length=200, blank=True)
    asked_as = models.CharField(max_length=80, unique=True)

    class Meta:
        ordering = ["-sold_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gt=0)
                & Q(left_amount__gte=0)
                & Q(left_amount__lte=models.F("amount")),
                name="voucher_has_no_more_left_than_it_cost",
                violation_error_message="A voucher holds between nothing and what was paid for it.",
            )
        ]

    def __str__(self) -> str:
        return f"voucher of {self.amount}"
