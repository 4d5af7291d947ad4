"""Writing to the ledger: one entry an act, and reversals only."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction

from guiding.clients.models import Person
from guiding.ledger.models import Account, Posting
from guiding.money import to_money


class EntryRefused(ValueError):
    """An entry that cannot be written as asked; nothing of it was stored."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """An amount from one account to another. Nought moves nothing and is left out."""

    debit: str
    credit: str
    amount: Decimal
    kind: str
    words: str
    person: Person | None = None
    owner: str = ""
    is_passed_on: bool = False
    tax_treatment: str = ""
    tax_percent: Decimal | None = None
    tax_point: str = ""

    def turned(self) -> Move:
        """Return the same move with a positive amount: below nought it goes the other way."""
        if self.amount >= 0:
            return self
        return Move(
            debit=self.credit,
            credit=self.debit,
            amount=-self.amount,
            kind=self.kind,
            words=self.words,
            person=self.person,
            owner=self.owner,
            is_passed_on=self.is_passed_on,
            tax_treatment=self.tax_treatment,
            tax_percent=self.tax_percent,
            tax_point=self.tax_point,
        )


def post(
    moves: Iterable[Move], *, about: str, on: date, at: datetime, who: Any = None
) -> uuid.UUID:
    """Write one entry inside the caller's transaction and return its key."""
    entry = uuid.uuid4()
    rows = []
    for move in (wanted.turned() for wanted in moves):
        if move.debit not in Account.values or move.credit not in Account.values:
            raise EntryRefused(f"{move.debit} to {move.credit}: not two accounts of the ledger.")
        amount = to_money(move.amount)
        if amount == 0:
            continue
        rows.append(
            Posting(
                entry=entry,
                debit=move.debit,
                credit=move.credit,
                amount=amount,
                kind=move.kind,
                words=move.words[:200],
                about=about,
                person=move.person,
                owner=move.owner,
                is_passed_on=move.is_passed_on,
                tax_treatment=move.tax_treatment,
                tax_percent=move.tax_percent,
                tax_point=move.tax_point,
                happened_on=on,
                posted_at=at,
                who=who,
            )
        )
    Posting.objects.bulk_create(rows)
    return entry


def reverse(entry: uuid.UUID, *, why: str, on: date, at: datetime, who: Any = None) -> uuid.UUID:
    """Write the opposite of an entry, once."""
    written = list(Posting.objects.filter(entry=entry).order_by("id"))
    if not written:
        raise EntryRefused(f"There is no entry {entry}.")
    back = uuid.uuid4()
    rows = [
        Posting(
            entry=back,
            debit=posting.credit,
            credit=posting.debit,
            amount=posting.amount,
            kind=posting.kind,
            words=f"taken back: {why}"[:200],
            about=posting.about,
            person=posting.person,
            owner=posting.owner,
            is_passed_on=posting.is_passed_on,
            tax_treatment=posting.tax_treatment,
            tax_percent=posting.tax_percent,
            tax_point=posting.tax_point,
            happened_on=on,
            posted_at=at,
            who=who,
            reverses=posting,
        )
        for posting in written
    ]
    try:
        with transaction.atomic():
            Posting.objects.bulk_create(rows)
    except IntegrityError as error:
        raise EntryRefused("This entry was taken back before.") from error
    return back
