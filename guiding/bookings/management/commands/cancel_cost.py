"""`cancel_cost BOOKING --reason R`: what calling a booking off costs, to the penny."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.bookings.cancellation import CancelCost
from guiding.bookings.models import Booking
from guiding.bookings.quotes import cancel_cost_of
from guiding.bookings.wanted import BookingRefused
from guiding.command_line import OneLineCommand, moment, refuse


class Command(OneLineCommand):
    help = (
        "Say what calling a booking off costs at a moment, by the terms it was sold at. Nothing is "
        "changed. Where no term covers the case the answer is not known."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("booking", metavar="BOOKING", help="the reference, such as 2026-014")
        parser.add_argument("--reason", required=True, metavar="R")
        parser.add_argument("--at", type=moment, metavar="ISO", help="the moment; now if left out")
        parser.add_argument("--json", action="store_true", help="print one object")

    def handle(self, *args: Any, **options: Any) -> None:
        booking = (
            Booking.objects.select_related("water__river", "terms")
            .filter(reference=options["booking"])
            .first()
        )
        if booking is None:
            raise refuse(f"There is no booking {options['booking']!r}.")
        try:
            cost = cancel_cost_of(
                booking, reason=options["reason"], at=options["at"] or timezone.now()
            )
        except BookingRefused as refusal:
            raise refuse(str(refusal)) from refusal
        if options["json"]:
            self.say_json(_as_json(booking, cost))
            return
        self.stdout.write(cost.why)
        if cost.is_known:
            self.stdout.write(
                f"Of {cost.total_amount} we keep {cost.kept_amount}; {cost.refund_amount} goes "
                f"back, {cost.still_due_amount} is still due."
            )


def _as_json(booking: Booking, cost: CancelCost) -> dict[str, Any]:
    amounts = {
        "total": cost.total_amount,
        "kept": cost.kept_amount,
        "refund": cost.refund_amount,
        "still_due": cost.still_due_amount,
        "house_bears": cost.house_bears_amount,
    }
    return {
        "booking": booking.reference,
        "reason": cost.reason,
        "days_to_go": cost.days_to_go,
        "is_known": cost.is_known,
        "why": cost.why,
        "may_move": cost.may_move,
        "permit_borne_by": cost.permit_borne_by,
        **{name: str(amount) if cost.is_known else None for name, amount in amounts.items()},
    }
