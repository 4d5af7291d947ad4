"""From offer to closed, and what each step leaves in places and ledger."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal as D

import pytest

from guiding.bookings.models import Booking, Place, Resource, SaleOverride
from guiding.bookings.offers import accept, cancel, close, make_ready, mark_fished
from guiding.bookings.payments import refund, take_payment
from guiding.bookings.saleable import give_override, may_sell
from guiding.bookings.wanted import (
    AlreadyDecided,
    BookingRefused,
    HoldExpired,
    NotForSale,
    PartyWanted,
    ResourceTaken,
)
from guiding.history.models import Event
from guiding.permits.models import Let
from tests.bookings.sold import AT, DAY, make_offer, make_user, own
from tests.factories import make_person, make_water
from tests.journeys.order import disorder

pytestmark = pytest.mark.django_db


def pay(booking, amount, asked_as="p1", **changes):
    fields = {
        "person": booking.payer,
        "amount": D(amount),
        "how": "transfer",
        "received_on": AT.date(),
        "at": AT,
        **changes,
    }
    return take_payment(booking, asked_as=asked_as, **fields)


def test_a_trip_goes_from_offer_to_closed_and_everything_agrees_at_each_step():
    booking = make_offer()
    assert (booking.state, booking.total_amount) == ("offered", D("380.00"))
    assert booking.deposit_amount == D("95.00")
    assert disorder(AT) == []

    accept(booking, at=AT)
    assert (booking.state, booking.owed_amount) == ("accepted", D("380.00"))

    pay(booking, "95.00")
    booking.refresh_from_db()
    assert (booking.state, booking.owed_amount) == ("deposit_in", D("285.00"))

    after = datetime(2026, 6, 24, 20, tzinfo=UTC)
    mark_fished(booking, at=after)
    with pytest.raises(BookingRefused, match=r"285\.00 is still owed"):
        close(booking, at=after)
    pay(booking, "285.00", "p2")
    close(booking, at=after)
    assert booking.state == "closed"
    assert disorder(after) == []


def test_a_place_of_which_nothing_is_known_needs_a_named_persons_word_and_reason():
    with pytest.raises(NotForSale, match=r"Not known: No rule, season or permit is on file"):
        make_offer(override_reason="")
    with pytest.raises(NotForSale, match="A named person"):
        make_offer(who=None)
    assert Booking.objects.count() == 0

    booking = make_offer()

    kept = SaleOverride.objects.get(booking=booking)
    assert kept.reason == "the keeper said so by telephone"
    assert may_sell(booking.water, [(DAY, "morning")], at=AT).answer == "not_known"
    assert may_sell(booking.water, [(DAY, "morning")], at=AT, booking=booking).words == (
        f"Nothing is on file for {booking.water}; sold on Una's word: "
        "the keeper said so by telephone"
    )


def test_one_word_for_a_water_and_its_season_will_do():
    water = make_water()
    give_override(water, DAY, DAY, reason="season ticket seen", who=make_user(), at=AT)

    booking = make_offer(water=water, override_reason="", who=None)

    assert booking.state == "offered"
    assert may_sell(water, [(DAY + timedelta(days=1), "morning")], at=AT).answer == "not_known"


def test_what_is_not_allowed_is_sold_on_nobodys_word():
    water = make_water()
    Let.objects.create(
        water=water,
        owner="The owner",
        state="taken",
        first_date=DAY,
        last_date=DAY,
        rods=2,
        cost_amount=D(100),
        juniors="no",
        asked_at=AT,
    )
    child = make_person(is_junior=True)
    adult = make_person()
    party = (PartyWanted(person=adult, role="rod"), PartyWanted(person=child, role="rod"))

    with pytest.raises(NotForSale, match=r"Not allowed: The owner lets .* without juniors"):
        make_offer(water=water, payer=adult, party=party)

    assert Place.objects.exclude(state="free").count() == 0


def test_an_offer_whose_time_is_over_holds_nothing():
    water = make_water(rods_a_day=1)
    first = make_offer(water=water)
    with pytest.raises(BookingRefused, match="1 wanted, 0 free"):
        make_offer(water=water)
    late = AT + timedelta(days=5)

    second = make_offer(water=water, at=late, until=late + timedelta(days=1))

    with pytest.raises(HoldExpired, match="0 of 1 places are still held"):
        accept(first, at=late)
    accept(second, at=late)
    assert disorder(late) == []


def test_calling_off_keeps_what_the_terms_say_and_no_more_goes_back_than_came_in():
    booking = make_offer()
    accept(booking, at=AT)
    pay(booking, "380.00")
    at = datetime(2026, 5, 25, 11, tzinfo=UTC)  # 30 days: half of 300.00, and the owner's 80.00

    with pytest.raises(BookingRefused, match=r"By now 230\.00 would be kept, and not 1"):
        cancel(booking, reason="client", at=at, expected=D(1))
    cost = cancel(booking, reason="client", at=at, expected=D("230.00"))

    assert (cost.refund_amount, booking.owed_amount) == (D("150.00"), D("-150.00"))
    assert booking.places.count() == 0
    with pytest.raises(BookingRefused, match=r"151 is more than the 150\.00 we owe"):
        refund(booking, amount=D(151), how="transfer", paid_on=at.date(), asked_as="r1", at=at)
    refund(booking, amount=D(150), how="transfer", paid_on=at.date(), asked_as="r2", at=at)
    assert disorder(at) == []
    with pytest.raises(AlreadyDecided, match="nothing can be called off"):
        cancel(booking, reason="client", at=at)
    assert Event.objects.filter(what="booking called off").count() == 1


def test_where_the_house_bears_the_permit_the_client_pays_nothing_and_the_owner_is_owed():
    booking = make_offer()
    accept(booking, at=AT)

    cost = cancel(booking, reason="unsafe", at=AT)

    assert (cost.kept_amount, cost.house_bears_amount) == (D("0.00"), D("80.00"))
    assert booking.owed_amount == 0
    assert disorder(AT) == []


def test_a_guide_is_out_with_one_party_at_a_time_and_takes_no_more_people_than_said():
    guide = Resource.objects.create(kind="guide", name="Orla", people_at_most=2)
    adult, child = make_person(), make_person(is_junior=True)
    party = (
        PartyWanted(person=adult, role="rod"),
        PartyWanted(person=child, role="shares", shares_with=adult),
    )
    booking = make_offer(payer=adult, party=party, guides=(guide,))
    assert (booking.places.count(), booking.party.count()) == (1, 2)

    with pytest.raises(ResourceTaken, match="Orla is out with another party"):
        make_offer(guides=(guide,))
    Resource.objects.filter(pk=guide.pk).update(people_at_most=1)
    guide.refresh_from_db()
    with pytest.raises(BookingRefused, match="2 people come; Orla may take 1"):
        make_offer(payer=adult, party=party, guides=(guide,), day=DAY + timedelta(days=1))

    cancel(booking, reason="client", at=AT)
    assert make_offer(guides=(guide,)).assignments.count() == 1
    assert disorder(AT) == []


def test_ready_is_refused_with_what_is_missing():
    booking = make_offer()
    accept(booking, at=AT)

    with pytest.raises(BookingRefused, match=r"Missing: .*your licence"):
        make_ready(booking, at=AT)


def test_a_trip_is_not_fished_before_it_began():
    booking = make_offer(lines=(own(),))
    accept(booking, at=AT)

    with pytest.raises(BookingRefused, match="has not been fished yet"):
        mark_fished(booking, at=AT)
