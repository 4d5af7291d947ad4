"""Who gets which loan kit on a day, when several parties are out at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from briefings import gather, kit
from briefings.kit import KitList, LoanStock
from guiding.bookings.models import Booking, PartyMember
from guiding.gauges.conditions import Conditions


def kit_for(member: PartyMember, dates: Sequence[date], conditions: Conditions | None) -> KitList:
    """Return one member's kit, after what everybody booked before them on those days has out.

    Turns go by booking reference, then by place in the party, so that everybody's pack tells the
    same story whichever is written first.
    """
    stock = gather.loan_stock()
    for other in _everybody_out(dates):
        answer = kit.for_person(
            gather.guest_of(other.person, other.role, dates[0]), stock, conditions
        )
        if other.pk == member.pk:
            return answer
        stock = _without(stock, answer.set_aside)
    return kit.for_person(gather.guest_of(member.person, member.role, dates[0]), stock, conditions)


def _everybody_out(dates: Sequence[date]) -> Iterable[PartyMember]:
    return (
        PartyMember.objects.filter(booking__days__date__in=dates)
        .exclude(booking__state=Booking.State.CANCELLED)
        .exclude(role=PartyMember.Role.PAYER)
        .select_related("person")
        .order_by("booking__reference", "id")
        .distinct()
    )


def _without(
    stock: tuple[LoanStock, ...], set_aside: Iterable[tuple[str, str]]
) -> tuple[LoanStock, ...]:
    taken = list(set_aside)
    return tuple(
        replace(item, left=max(0, item.left - taken.count((item.kind, item.size))))
        for item in stock
    )
