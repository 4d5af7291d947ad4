"""Vouchers: paid for now, owed until they are redeemed or lapse."""

from __future__ import annotations

import secrets
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F

from guiding.clients.models import Person
from guiding.history.models import record
from guiding.ledger.actions import EntryRefused, Move, post
from guiding.ledger.models import Account, Posting, Voucher
from guiding.money import LARGEST, PENNY

# no letter or digit that is taken for another when it is read aloud
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
CODE_LETTERS = 12


class VoucherRefused(EntryRefused):
    """A voucher that cannot be sold or redeemed as asked."""


def sell_voucher(
    *,
    buyer: Person,
    amount: Decimal,
    on: date,
    lapses_on: date | None,
    asked_as: str,
    at: datetime,
    words: str = "",
    who: Any = None,
) -> Voucher:
    """Sell a voucher; a request sent twice sells one."""
    if not amount.is_finite() or not 0 < amount <= LARGEST or amount != amount.quantize(PENNY):
        raise VoucherRefused(f"The amount is {amount}; it is above nought, to the penny.")
    if lapses_on is not None and lapses_on < on:
        raise VoucherRefused(f"It would lapse on {lapses_on}, before it is sold on {on}.")
    with transaction.atomic():
        before = Voucher.objects.filter(asked_as=asked_as).first()
        if before is not None:
            return before
        voucher = Voucher.objects.create(
            code="".join(secrets.choice(LETTERS) for _ in range(CODE_LETTERS)),
            buyer=buyer,
            amount=amount,
            left_amount=amount,
            sold_at=at,
            lapses_on=lapses_on,
            words=words[:200],
            asked_as=asked_as,
        )
        move = Move(
            debit=Account.BANK,
            credit=Account.VOUCHERS,
            amount=amount,
            kind=Posting.Kind.VOUCHER,
            words="voucher sold",
            person=buyer,
        )
        post([move], about=f"voucher {voucher.key}", on=on, at=at, who=who)
        record(
            "voucher sold",
            f"voucher {voucher.key}",
            at=at,
            who=who,
            after={"amount": str(amount), "lapses_on": str(lapses_on or "never")},
        )
    return voucher


def redeem(voucher: Voucher, amount: Decimal, *, on: date) -> None:
    """Take an amount off a voucher, by conditional update inside the caller's act."""
    taken = Voucher.objects.filter(pk=voucher.pk, left_amount__gte=amount, lapsed_at=None).exclude(
        lapses_on__lt=on
    )
    if not taken.update(left_amount=F("left_amount") - amount):
        voucher.refresh_from_db()
        if voucher.lapsed_at is not None or (voucher.lapses_on and voucher.lapses_on < on):
            raise VoucherRefused(f"This voucher was good until {voucher.lapses_on}.")
        raise VoucherRefused(
            f"This voucher has {voucher.left_amount} left; {amount} was asked of it."
        )


def lapse_vouchers(*, on: date, at: datetime) -> int:
    """Take what is left on vouchers past their last day as lapsed; return how many."""
    lapsed = 0
    for voucher in Voucher.objects.filter(lapses_on__lt=on, lapsed_at=None).order_by("pk"):
        with transaction.atomic():
            still = Voucher.objects.filter(pk=voucher.pk, lapsed_at=None)
            if not still.update(lapsed_at=at):
                continue
            voucher.refresh_from_db()
            move = Move(
                debit=Account.VOUCHERS,
                credit=Account.VOUCHERS_LAPSED,
                amount=voucher.left_amount,
                kind=Posting.Kind.VOUCHER,
                words="voucher lapsed",
                person=voucher.buyer,
            )
            post([move], about=f"voucher {voucher.key}", on=on, at=at)
            lapsed += 1
    return lapsed
