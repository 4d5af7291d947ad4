"""From rows to prices: what a trip would cost, and what calling it off costs now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Q

from guiding.bookings.cancellation import (
    CancelCost,
    CancelQuestion,
    SoldLine,
    TermRow,
    cancel_cost,
)
from guiding.bookings.models import Booking, BookingLine, PartyMember, Price, Reason
from guiding.bookings.pricing import LineWanted, PartyCount, PriceOnFile, lines_for
from guiding.bookings.settling import paid_for, standing_lines, today_of
from guiding.bookings.wanted import AlreadyDecided, BookingRefused, PartyWanted
from guiding.money import NOUGHT
from guiding.permits.models import Let
from guiding.rivers.models import Water

MAY_BE_CALLED_OFF = (
    Booking.State.OFFERED,
    Booking.State.ACCEPTED,
    Booking.State.DEPOSIT_IN,
    Booking.State.READY,
)


class NoPrice(BookingRefused):
    """The price list has nothing for a rod on that water and day."""


def quote(
    *,
    water: Water,
    party: Iterable[PartyWanted],
    days: Sequence[tuple[date, str]],
    wants: Sequence[str] = (),
) -> tuple[LineWanted, ...]:
    """Return the lines of an offer from the price list, or refuse where a rod has no price."""
    dates = [day for day, _ in days]
    rows = Price.objects.filter(
        Q(water=water) | Q(water=None), first_date__lte=max(dates), last_date__gte=min(dates)
    ).select_related("water")
    prices = tuple(_on_file(row) for row in rows.order_by("pk"))
    rods = [price for price in prices if price.kind == "rod" and price.is_always]
    for day, part in sorted(set(days)):
        if not any(price.fits(water.name, day, part) for price in rods):
            raise NoPrice(f"No price for a rod is on file for {water} on {day} in the {part}.")
    return lines_for(prices, water=water.name, days=days, party=_count(party), wants=wants)


def cancel_cost_of(booking: Booking, *, reason: str, at: datetime) -> CancelCost:
    """Return what calling a booking off costs at a moment, by the terms it was sold at."""
    if reason not in Reason.values:
        raise BookingRefused(f"reason is {reason!r}; it is one of {', '.join(Reason.values)}.")
    if booking.state not in MAY_BE_CALLED_OFF:
        raise AlreadyDecided(
            f"{booking.reference} is {booking.get_state_display()}; nothing can be called off."
        )
    if booking.first_date is None or booking.last_date is None:
        raise BookingRefused(f"{booking.reference} has no day.")
    is_sold = booking.state != Booking.State.OFFERED
    lines = standing_lines(booking) if is_sold else []
    lets = list(Let.objects.on(booking.water, booking.first_date, booking.last_date))
    return cancel_cost(
        CancelQuestion(
            reason=reason,
            at=at,
            first_date=booking.first_date,
            zone=booking.water.river.zoneinfo,
            lines=tuple(_sold(line, lets, booking, at) for line in lines),
            paid_amount=paid_for(booking),
            terms=_terms(booking, reason, has_lines=bool(lines)),
        )
    )


def _terms(booking: Booking, reason: str, *, has_lines: bool) -> tuple[TermRow, ...]:
    if not has_lines:
        # nothing was sold, so nothing is kept, whatever the terms say
        return (TermRow(reason=reason, from_days=0, keep_percent=NOUGHT, permit_borne_by="house"),)
    if booking.terms is None:
        return ()
    return tuple(
        TermRow(
            reason=row.reason,
            from_days=row.from_days,
            keep_percent=row.keep_percent,
            permit_borne_by=row.permit_borne_by,
            may_move=row.may_move,
        )
        for row in booking.terms.cancel_terms.all()
    )


def _sold(line: BookingLine, lets: Sequence[Let], booking: Booking, at: datetime) -> SoldLine:
    return SoldLine(
        words=line.words,
        amount=line.amount,
        is_passed_on=line.is_passed_on,
        owner=line.owner,
        comes_back_percent=_comes_back(line, lets, today_of(booking, at)),
    )


def _comes_back(line: BookingLine, lets: Sequence[Let], today: date) -> Decimal:
    """Return the share an owner gives back if it is handed back today; unknown gives nothing."""
    shares = [
        let.hand_back_percent
        for let in lets
        if line.is_passed_on
        and let.owner == line.owner
        and let.hand_back_by is not None
        and today <= let.hand_back_by
    ]
    return min(shares, default=NOUGHT)


def _on_file(row: Price) -> PriceOnFile:
    return PriceOnFile(
        kind=row.kind,
        words=row.words,
        per=row.per,
        amount=row.amount,
        water=row.water.name if row.water else "",
        part=row.part,
        first_date=row.first_date,
        last_date=row.last_date,
        is_always=row.is_always,
        is_passed_on=row.is_passed_on,
        owner=row.owner,
        tax_treatment=row.tax_treatment,
        tax_percent=row.tax_percent,
        tax_point=row.tax_point,
    )


def _count(party: Iterable[PartyWanted]) -> PartyCount:
    roles = [wanted.role for wanted in party]
    sharers = roles.count(PartyMember.Role.SHARES)
    rods = roles.count(PartyMember.Role.ROD)
    return PartyCount(rods=rods, sharers=sharers, people=rods + sharers)
