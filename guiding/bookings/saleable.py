"""The one question every sale asks: may these places be sold, and on whose word?

Rules and permits are not on file yet. Until they are, what is not known is sold only on a named
person's word with a reason, for one booking or for a water and its season.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from guiding.bookings.models import Booking, PartyMember, Place, SaleOverride
from guiding.bookings.wanted import BookingRefused, NotForSale, PartyWanted, is_junior
from guiding.history.models import record
from guiding.permits.models import Let
from guiding.rivers.models import Water

ANSWERS = ("not_allowed", "not_known", "conditions", "allowed")  # the worst first
QUESTION = "No rule, season or permit is on file for {water}: may it be fished?"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that bears on a sale."""

    answer: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Saleable:
    """The answer, which is the worst of its findings."""

    answer: str
    findings: tuple[Finding, ...]

    @property
    def words(self) -> str:
        """Return what bears on it in one line, the worst first."""
        order = sorted(self.findings, key=lambda finding: ANSWERS.index(finding.answer))
        return " ".join(finding.words for finding in order)


def may_sell(
    water: Water,
    days: Sequence[tuple[date, str]],
    *,
    party: Iterable[PartyWanted] = (),
    at: datetime,
    booking: Booking | None = None,
) -> Saleable:
    """Say whether places on these parts of these days may be sold to this party.

    Nothing on file is "not known", never a yes.
    """
    if not days:
        raise ValueError("days is empty; at least one part of a day is needed.")
    dates = sorted({day for day, _ in days})
    found = _closed(water, days)
    lets = list(Let.objects.on(water, dates[0], dates[-1]))
    overrides = list(standing_overrides(water, dates[0], dates[-1]).select_related("who"))
    for day in dates:
        found += _terms(day, lets, tuple(party))
        found.append(_on_whose_word(water, day, overrides, booking))
    once = tuple(dict.fromkeys(found))
    worst = min((finding.answer for finding in once), key=ANSWERS.index)
    return Saleable(answer=worst, findings=once)


def standing_overrides(water: Water, first: date, last: date) -> Any:
    """Return the words that were given for a water and touch these days."""
    return SaleOverride.objects.filter(
        water=water, withdrawn_at=None, first_date__lte=last, last_date__gte=first
    )


def give_override(
    water: Water,
    first: date,
    last: date,
    *,
    reason: str,
    who: Any,
    at: datetime,
    booking: Booking | None = None,
    question: str = "",
) -> SaleOverride:
    """Keep a named person's word that places may be sold of which nothing is known."""
    if who is None or not getattr(who, "pk", None):
        raise BookingRefused("An override needs a named person of the house.")
    if not reason.strip():
        raise BookingRefused("An override needs a reason: it stands on the trip.")
    if last < first:
        raise BookingRefused(f"The override ends on {last}, before it begins on {first}.")
    given = SaleOverride.objects.create(
        water=water,
        booking=booking,
        first_date=first,
        last_date=last,
        question=question or QUESTION.format(water=water),
        who=who,
        reason=reason.strip(),
        given_at=at,
    )
    record(
        "sold on somebody's word",
        booking.about if booking else f"water {water.key}",
        at=at,
        who=who,
        after={
            "water": water.name,
            "first": first.isoformat(),
            "last": last.isoformat(),
            "reason": reason.strip(),
        },
    )
    return given


def withdraw_override(override: SaleOverride, *, at: datetime, who: Any) -> None:
    """Take a word back; what was sold on it stays sold and keeps it on the trip."""
    if SaleOverride.objects.filter(pk=override.pk, withdrawn_at=None).update(withdrawn_at=at):
        record(
            "word on a sale taken back",
            f"water {override.water.key}",
            at=at,
            who=who,
            before={"first": str(override.first_date), "last": str(override.last_date)},
        )


def check_sale(
    water: Water,
    days: Sequence[tuple[date, str]],
    *,
    party: Iterable[PartyWanted] = (),
    override_reason: str = "",
    who: Any = None,
    at: datetime,
    booking: Booking | None = None,
) -> tuple[str, ...]:
    """Refuse a sale that may not be; return what a named person has to answer for.

    The questions returned are empty where nothing needs an override.
    """
    sale = may_sell(water, days, party=party, at=at, booking=booking)
    if sale.answer == "not_allowed":
        raise NotForSale(f"Not allowed: {sale.words}")
    if sale.answer != "not_known":
        return ()
    if not override_reason.strip() or who is None:
        raise NotForSale(
            f"Not known: {sale.words} A named person may sell it nevertheless, with a reason."
        )
    return tuple(row.words for row in sale.findings if row.answer == "not_known")


def _closed(water: Water, days: Sequence[tuple[date, str]]) -> list[Finding]:
    wanted = set(days)
    dates = [day for day, _ in days]
    rows = Place.objects.filter(
        water=water, date__range=(min(dates), max(dates)), state=Place.State.CLOSED
    ).exclude(closed_why="")
    return [
        Finding(
            answer="not_allowed",
            words=f"{water} is closed on {place.date} in the {place.part}: {place.closed_why}.",
        )
        for place in rows
        if (place.date, place.part) in wanted
    ]


def _terms(day: date, lets: Sequence[Let], party: Sequence[PartyWanted]) -> list[Finding]:
    found = []
    has_junior = any(_is_junior(wanted, day) for wanted in party)
    for let in lets:
        if not let.holds_on(day) or not has_junior:
            continue
        if let.juniors == Let.Answer.NO:
            words = f"{let.owner} lets {let.water} without juniors."
            found.append(Finding(answer="not_allowed", words=words))
        elif let.juniors != Let.Answer.YES:
            words = f"Whether {let.owner} has juniors on {let.water} is not known: ask first."
            found.append(Finding(answer="not_known", words=words))
    return found


def _is_junior(wanted: PartyWanted, day: date) -> bool:
    return wanted.role != PartyMember.Role.PAYER and is_junior(wanted.person, day)


def _on_whose_word(
    water: Water, day: date, overrides: Sequence[SaleOverride], booking: Booking | None
) -> Finding:
    for override in overrides:
        if not override.first_date <= day <= override.last_date:
            continue
        if override.booking_id is None or (booking and override.booking_id == booking.pk):
            words = (
                f"Nothing is on file for {water}; sold on {_name(override.who)}'s word: "
                f"{override.reason}"
            )
            return Finding(answer="conditions", words=words)
    return Finding(answer="not_known", words=QUESTION.format(water=water))


def _name(user: Any) -> str:
    return user.get_full_name() or user.username
