"""Who gets which loan kit on a day, when several parties are out at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from briefings import gather
from briefings.kit import person as kit
from briefings.kit.person import KitList, LoanStock
from guiding.bookings.models import Booking, PartyMember
from guiding.gauges.conditions.values import Conditions


def kits_on(
    dates: Sequence[date],
    conditions: Sequence[Conditions | None],
    *,
    noon_sun_deg: float | None = None,
) -> Mapping[int, KitList]:
    """Return the kit of everybody who is out on these days, keyed by party member.

    Turns go by booking reference, then by place in the party, so that everybody's pack tells the
    same story whichever is written first.
    """
    return share_out(
        everybody_out(dates),
        gather.loan_stock(),
        min(dates),
        conditions,
        noon_sun_deg=noon_sun_deg,
    )


def everybody_out(dates: Sequence[date]) -> tuple[PartyMember, ...]:
    """Return who comes on any of these days, in the order of their turns."""
    return tuple(
        PartyMember.objects.filter(booking__days__date__in=dates)
        .exclude(booking__state=Booking.State.CANCELLED)
        .exclude(role=PartyMember.Role.PAYER)
        .select_related("person")
        .order_by("booking__reference", "id")
        .distinct()
    )


def share_out(
    members: Iterable[PartyMember],
    stock: tuple[LoanStock, ...],
    day: date,
    conditions: Sequence[Conditions | None],
    *,
    noon_sun_deg: float | None = None,
) -> Mapping[int, KitList]:
    """Give each in turn what fits of what is left. `conditions`: of each part of the day."""
    kits = {}
    for member in members:
        guest = gather.guest_of(member.person, member.role, day)
        answers = [
            kit.for_person(guest, stock, part, noon_sun_deg=noon_sun_deg) for part in conditions
        ]
        kits[member.pk] = answer = _for_all_parts(answers)
        stock = _without(stock, answer.set_aside)
    return kits


def _for_all_parts(answers: Sequence[KitList]) -> KitList:
    """Return one list for the whole day: sizes are the same in every part, clothes add up."""
    bring = dict.fromkeys(line for answer in answers for line in answer.bring)
    return replace(answers[0], bring=tuple(bring))


def _without(
    stock: tuple[LoanStock, ...], set_aside: Iterable[tuple[str, str]]
) -> tuple[LoanStock, ...]:
    taken = list(set_aside)
    return tuple(
        replace(item, left=max(0, item.left - taken.count((item.kind, item.size))))
        for item in stock
    )
