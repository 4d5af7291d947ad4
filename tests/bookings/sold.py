"""Builders of what a sale rests on: terms, lines, an offer, somebody of the house."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from django.contrib.auth import get_user_model

from guiding.bookings.actions import next_reference, open_places
from guiding.bookings.models import CancelTerm, Reason, Terms
from guiding.bookings.offers import offer
from guiding.bookings.pricing import LineWanted
from guiding.bookings.wanted import PartyWanted
from tests.factories import make_day, make_person, make_water

AT = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
DAY = date(2026, 6, 24)
BORNE_BY_US = (Reason.GUIDE_ILL, Reason.UNSAFE, Reason.CLOSED_BY_ORDER)


def make_terms(**changes):
    """Return terms in force: a quarter down; 10 % kept from 60 days, half from 30, then all."""
    fields = {
        "name": "House terms",
        "words": "As agreed.",
        "written_at": AT,
        "deposit_percent": Decimal(25),
        **changes,
    }
    terms = Terms.objects.create(**fields)
    rows = [("client", 60, 10), ("client", 30, 50), ("client", 0, 100)]
    rows += [(str(reason), 0, 0) for reason in Reason if reason != Reason.CLIENT]
    CancelTerm.objects.bulk_create(
        CancelTerm(
            terms=terms,
            reason=reason,
            from_days=days,
            keep_percent=keep,
            permit_borne_by="house" if reason in BORNE_BY_US else "client",
        )
        for reason, days, keep in rows
    )
    return terms


def make_user(**changes):
    """Return somebody of the house."""
    fields = {"username": f"staff{get_user_model().objects.count()}", "first_name": "Una"}
    return get_user_model().objects.create(**{**fields, **changes})


def own(amount="300.00", **changes):
    fields = {
        "kind": "rod",
        "words": "a rod",
        "quantity": 1,
        "unit_amount": Decimal(amount),
        "date": DAY,
        "part": "morning",
        "tax_treatment": "standard",
        "tax_percent": Decimal(20),
        **changes,
    }
    return LineWanted(**fields)


def passed_on(amount="80.00"):
    return own(
        amount,
        kind="permit",
        words="permit",
        is_passed_on=True,
        owner="The owner",
        tax_treatment="outside",
        tax_percent=Decimal(0),
    )


def make_offer(**changes):
    """Return an offer of one rod on one morning, held for five days on a named person's word."""
    day = changes.pop("day", DAY)
    water = changes.pop("water", None) or make_water()
    person = changes.pop("payer", None) or make_person()
    open_places(water, day, day, ("morning",), at=AT)
    fields = {
        "reference": next_reference(day.year),
        "water": water,
        "payer": person,
        "party": (PartyWanted(person=person, role="rod"),),
        "days": (make_day(water, day),),
        "lines": (own(), passed_on()),
        "until": AT + timedelta(days=5),
        "override_reason": "the keeper said so by telephone",
        "at": AT,
        **changes,
    }
    if "terms" not in fields:
        fields["terms"] = make_terms(name=f"Terms {Terms.objects.count()}", is_current=False)
    if "who" not in fields:
        fields["who"] = make_user()
    return offer(**fields)
