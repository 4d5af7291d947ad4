"""What stands on each account, and what is owed to whom."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from guiding.ledger.models import Account, Posting
from guiding.money import NOUGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """One account: what came in on its debit side, on its credit side, and the difference."""

    account: str
    name: str
    debit_amount: Decimal
    credit_amount: Decimal

    @property
    def amount(self) -> Decimal:
        """Return debit less credit: above nought we have it or are owed it, below we owe it."""
        return self.debit_amount - self.credit_amount


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialBalance:
    """Every account as of a day. Debit and credit must come to the same."""

    as_of: date | None
    balances: tuple[Balance, ...]

    @property
    def debit_amount(self) -> Decimal:
        """Return the sum of what stands on the debit side."""
        return sum((max(row.amount, NOUGHT) for row in self.balances), NOUGHT)

    @property
    def credit_amount(self) -> Decimal:
        """Return the sum of what stands on the credit side."""
        return sum((max(-row.amount, NOUGHT) for row in self.balances), NOUGHT)

    @property
    def is_balanced(self) -> bool:
        """Say whether both sides come to the same."""
        return self.debit_amount == self.credit_amount


def trial_balance(as_of: date | None = None) -> TrialBalance:
    """Return the balance of every account at the end of a day; None is everything on file."""
    postings = Posting.objects.order_by()
    if as_of is not None:
        postings = postings.filter(happened_on__lte=as_of)
    debits: dict[str, Decimal] = dict(
        postings.values("debit").annotate(all=Sum("amount")).values_list("debit", "all")
    )
    credits_: dict[str, Decimal] = dict(
        postings.values("credit").annotate(all=Sum("amount")).values_list("credit", "all")
    )
    return TrialBalance(
        as_of=as_of,
        balances=tuple(
            Balance(
                account=account.value,
                name=str(account.label),
                debit_amount=debits.get(account.value, NOUGHT),
                credit_amount=credits_.get(account.value, NOUGHT),
            )
            for account in Account
        ),
    )


def owed_to(account: Account) -> dict[tuple[str, str], Decimal]:
    """Return what we owe on an account by (owner, person's key), nothing left out but noughts."""
    owed: defaultdict[tuple[str, str], Decimal] = defaultdict(lambda: NOUGHT)
    for side, sign in (("credit", 1), ("debit", -1)):
        rows = (
            Posting.objects.filter(**{side: account})
            .order_by()
            .values_list("owner", "person__key")
            .annotate(all=Sum("amount"))
        )
        for owner, person, amount in rows:
            owed[owner, str(person or "")] += sign * amount
    return {key: amount for key, amount in owed.items() if amount}
