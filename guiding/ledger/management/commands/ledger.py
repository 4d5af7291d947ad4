"""`ledger`: the trial balance as of a day."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import CommandParser

from guiding.command_line import OneLineCommand, day
from guiding.ledger.balances import TrialBalance, trial_balance


class Command(OneLineCommand):
    help = "Print the trial balance: every account with what stands on it, debit and credit."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--as-of", type=day, metavar="D", help="at the end of this day")
        parser.add_argument("--json", action="store_true", help="print one object")

    def handle(self, *args: Any, **options: Any) -> None:
        found = trial_balance(options["as_of"])
        if options["json"]:
            self.say_json(_as_json(found))
        else:
            self._say_lines(found)
        if not found.is_balanced:
            sys.stderr.write("Debit and credit do not come to the same.\n")
            sys.exit(1)

    def _say_lines(self, found: TrialBalance) -> None:
        for row in found.balances:
            if row.debit_amount or row.credit_amount:
                side = "debit" if row.amount >= 0 else "credit"
                self.stdout.write(f"{row.name:<42} {abs(row.amount):>12} {side}")
        self.stdout.write(f"{'debit':<42} {found.debit_amount:>12}")
        self.stdout.write(f"{'credit':<42} {found.credit_amount:>12}")


def _as_json(found: TrialBalance) -> dict[str, Any]:
    return {
        "as_of": found.as_of.isoformat() if found.as_of else None,
        "accounts": [
            {
                "account": row.account,
                "debit": str(row.debit_amount),
                "credit": str(row.credit_amount),
                "balance": str(row.amount),
            }
            for row in found.balances
        ],
        "debit": str(found.debit_amount),
        "credit": str(found.credit_amount),
        "is_balanced": found.is_balanced,
    }
