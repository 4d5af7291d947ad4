"""Places are claimed one a rod a part of a day, whole or not at all."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.db import IntegrityError, transaction

from guiding.bookings.actions import (
    next_reference,
    open_places,
    take_booking,
)
from guiding.bookings.models import Booking, PartyMember, Place, RodPlace, TripDay
from guiding.bookings.offers import accept, cancel
from guiding.bookings.wanted import (
    AlreadyDecided,
    BookingRefused,
    HoldExpired,
    PartyWanted,
    PersonBusy,
    PlaceTaken,
)
from guiding.history.models import Event
from tests.factories import (
    make_access_point,
    make_beat,
    make_booking,
    make_day,
    make_person,
    make_river,
    make_water,
)

pytestmark = pytest.mark.django_db

DAY = date(2026, 5, 28)


def rod(person):
    return PartyWanted(person=person, role="rod")


def states(water):
    return list(Place.objects.filter(water=water).values_list("state", flat=True))


def test_places_are_opened_from_the_capacity_and_once_only(moment):
    water = make_water(rods_a_day=3)

    first = open_places(water, DAY, DAY + timedelta(days=1), ("morning", "night"), at=moment)
    again = open_places(water, DAY, DAY + timedelta(days=2), ("morning", "night"), at=moment)

    assert (first, again) == (12, 6)
    assert Place.objects.filter(water=water).count() == 18
    assert Event.objects.filter(what="places opened").count() == 2


def test_a_lowered_capacity_closes_what_is_free_and_leaves_what_is_sold(moment):
    water = make_water(rods_a_day=3)
    people = [make_person() for _ in range(2)]
    make_booking(water=water, day=DAY, party=tuple(rod(p) for p in people))
    water.rods_a_day = 1
    water.save()

    open_places(water, DAY, DAY, ("morning",), at=moment)

    assert states(water) == ["sold", "sold", "closed"]


@pytest.mark.parametrize(
    ("last", "parts", "says"),
    [
        (DAY - timedelta(days=1), ("morning",), "0 days"),
        (DAY + timedelta(days=4000), ("morning",), "4001 days"),
        (DAY, ("dawn",), "part is 'dawn'; it is one of morning, afternoon, evening, night"),
    ],
)
def test_places_are_not_opened_for_days_or_parts_that_are_not(moment, last, parts, says):
    water = make_water()

    with pytest.raises(BookingRefused, match=says):
        open_places(water, DAY, last, parts, at=moment)

    assert not Place.objects.exists()


def test_a_booking_writes_its_party_its_days_its_places_and_its_history(moment):
    water = make_water(rods_a_day=4)
    payer, adult, junior, guest = (make_person() for _ in range(4))
    party = (
        PartyWanted(person=payer, role="payer"),
        PartyWanted(person=junior, role="shares", shares_with=adult),
        PartyWanted(person=guest, role="guest"),
        rod(adult),
    )
    days = (make_day(water, DAY + timedelta(days=1)), make_day(water, DAY))

    booking = make_booking(water=water, payer=payer, party=party, days=days, at=moment)

    assert booking.state == Booking.State.ACCEPTED
    assert [d.date for d in booking.days.all()] == [DAY, DAY + timedelta(days=1)]
    assert booking.places.count() == 2
    on_the_day = RodPlace.objects.filter(date=DAY)
    assert {r.person for r in on_the_day} == {adult, junior}
    assert len({r.place_id for r in on_the_day}) == 1
    assert booking.party.get(person=junior).shares_with.person == adult
    event = Event.objects.get(about=f"booking {booking.key}")
    assert (event.what, event.after["rods"]) == ("booking taken", 1)


def test_a_second_sale_of_the_same_place_is_refused_and_leaves_nothing(moment):
    water = make_water(name="Alder Water", rods_a_day=2)
    make_booking(water=water, day=DAY)
    party = (rod(make_person()), rod(make_person()))

    with pytest.raises(
        PlaceTaken, match=r"^Alder Water, 2026-05-28 morning: 2 wanted, 1 free\.$"
    ) as refused:
        make_booking(water=water, day=DAY, party=party)

    assert (refused.value.wanted, refused.value.free) == (2, 1)
    assert states(water) == ["sold", "free"]
    assert Booking.objects.count() == 1
    assert (TripDay.objects.count(), PartyMember.objects.count()) == (1, 1)


def test_places_that_were_never_opened_cannot_be_sold(moment):
    water, payer = make_water(), make_person()

    with pytest.raises(PlaceTaken, match="1 wanted, 0 free"):
        take_booking(
            reference="T",
            water=water,
            payer=payer,
            party=(rod(payer),),
            days=(make_day(water, DAY),),
            at=moment,
        )


def test_the_database_itself_refuses_a_second_row_for_a_seat(moment):
    water = make_water()
    Place.objects.create(water=water, date=DAY, part="morning", seat=1)

    with pytest.raises(IntegrityError), transaction.atomic():
        Place.objects.create(water=water, date=DAY, part="morning", seat=1)


@pytest.mark.parametrize("state", ["held", "sold"])
def test_the_database_itself_refuses_a_taken_place_without_a_booking(state):
    with pytest.raises(IntegrityError), transaction.atomic():
        Place.objects.create(water=make_water(), date=DAY, part="morning", seat=1, state=state)


def test_a_person_fishes_one_place_at_a_time_whoever_sells_it():
    person = make_person(name="Ada Reed")
    make_booking(party=(rod(person),), day=DAY)

    with pytest.raises(PersonBusy, match="Ada Reed already fishes on 2026-05-28 in the morning"):
        make_booking(party=(rod(person),), day=DAY)

    assert Booking.objects.count() == 1


def test_a_guest_may_watch_twice_because_a_guest_takes_no_place():
    guest = make_person()
    for _ in range(2):
        make_booking(party=(rod(make_person()), PartyWanted(person=guest, role="guest")), day=DAY)

    assert RodPlace.objects.count() == 2


def test_an_offer_holds_its_places_and_a_hold_that_has_run_out_counts_as_free(moment):
    water, person = make_water(rods_a_day=1), make_person()
    until = moment + timedelta(days=3)
    offer = make_booking(
        water=water, day=DAY, party=(rod(person),), state="offered", held_until=until, at=moment
    )

    with pytest.raises(PlaceTaken):
        make_booking(water=water, day=DAY, at=until - timedelta(seconds=1))
    later = make_booking(water=water, day=DAY, at=until)

    place = Place.objects.get()
    assert (place.state, place.booking, place.held_until) == ("sold", later, None)
    assert not RodPlace.objects.filter(person=person).exists()
    with pytest.raises(HoldExpired, match="0 of 1 places are still held"):
        accept(offer, at=until)
    offer.refresh_from_db()
    assert offer.state == Booking.State.OFFERED


def test_a_lapsed_offer_elsewhere_does_not_keep_its_people_busy(moment):
    person, until = make_person(), moment + timedelta(days=1)
    make_booking(day=DAY, party=(rod(person),), state="offered", held_until=until, at=moment)

    with pytest.raises(PersonBusy):
        make_booking(day=DAY, party=(rod(person),), at=until - timedelta(seconds=1))
    make_booking(day=DAY, party=(rod(person),), at=until)

    assert RodPlace.objects.get().member.booking.state == "accepted"
    assert not Place.objects.filter(state="held").exists()


def test_an_offer_is_accepted_once_while_it_holds(moment):
    until = moment + timedelta(days=1)
    offer = make_booking(state="offered", held_until=until, at=moment)

    accept(offer, at=until - timedelta(seconds=1))

    assert offer.state == Booking.State.ACCEPTED
    assert offer.places.get().state == "sold"
    with pytest.raises(AlreadyDecided, match="is accepted; this needs one that is offered"):
        accept(offer, at=moment)


def test_calling_off_frees_the_places_and_the_people_and_keeps_the_booking(moment):
    water, person = make_water(rods_a_day=1), make_person()
    booking = make_booking(water=water, day=DAY, party=(rod(person),))

    cancel(booking, reason="unfishable", at=moment)

    assert (booking.state, booking.called_off_for) == ("cancelled", "unfishable")
    assert states(water) == ["free"]
    assert make_booking(water=water, day=DAY, party=(rod(person),)).places.count() == 1
    event = Event.objects.get(what="booking called off")
    assert event.before == {"state": "accepted"}
    assert event.after == {"state": "cancelled", "reason": "unfishable", "freed": 1, "kept": "0.00"}


def test_a_booking_is_called_off_once_and_for_a_named_reason(moment):
    water = make_water(rods_a_day=1)
    booking = make_booking(water=water, day=DAY)
    with pytest.raises(BookingRefused, match="reason is 'mood'; it is one of client, guide_ill"):
        cancel(booking, reason="mood", at=moment)
    cancel(booking, reason="client", at=moment)
    second = make_booking(water=water, day=DAY)

    with pytest.raises(AlreadyDecided, match="is called off"):
        cancel(booking, reason="client", at=moment)

    assert second.places.count() == 1


def test_a_night_may_run_past_midnight_and_belongs_to_the_date_it_begins(moment):
    water = make_water()
    moments = water.river.moment
    night = make_day(
        water,
        DAY,
        part="night",
        meets_at=moments(DAY, time(22, 30)),
        ends_at=moments(DAY + timedelta(days=1), time(2, 0)),
    )

    booking = make_booking(water=water, days=(night,))

    assert booking.days.get().date == DAY
    with pytest.raises(BookingRefused, match="the meeting falls on 2026-05-28"):
        make_booking(water=water, days=(replace(night, date=DAY + timedelta(days=1)),))


def test_the_date_is_the_rivers_own_where_utc_has_another():
    # 23:30 UTC on 27 May is 00:30 on 28 May by the clocks of Britain in summer
    water = make_water(river=make_river(zone="Europe/London"))
    early = make_day(
        water,
        DAY,
        meets_at=datetime(2026, 5, 27, 23, 30, tzinfo=UTC),
        ends_at=datetime(2026, 5, 28, 4, 0, tzinfo=UTC),
    )

    assert make_booking(water=water, days=(early,)).days.get().date == DAY


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda d: {"beat": make_beat(name="Elsewhere")}, "beat Elsewhere is not on"),
        (lambda d: {"meeting_point": make_access_point(name="Far")}, "point Far is not on"),
        (lambda d: {"ends_at": d.meets_at}, "the end must come after the meeting"),
        (lambda d: {"ends_at": d.meets_at + timedelta(hours=25)}, "within 24 hours"),
        (lambda d: {"meets_at": d.meets_at.replace(tzinfo=None)}, "the times need a zone"),
        (lambda d: {"part": "dawn"}, "part is 'dawn'"),
        (lambda d: {"date": d.date - timedelta(days=1)}, "the meeting falls on 2026-05-28"),
    ],
)
def test_a_day_that_does_not_fit_the_water_or_the_clock_is_refused(change, says):
    water = make_water()
    payer = make_person()
    day = make_day(water, DAY)
    wrong = replace(day, **change(day))

    with pytest.raises(BookingRefused, match=says):
        take_booking(
            reference="T",
            water=water,
            payer=payer,
            party=(rod(payer),),
            days=(wrong,),
            at=datetime(2026, 5, 20, tzinfo=UTC),
        )

    assert not Booking.objects.exists()


def test_a_party_that_makes_no_sense_is_refused():
    ada, bo, cy = make_person(name="Ada"), make_person(name="Bo"), make_person(name="Cy")
    guest = PartyWanted(person=bo, role="guest")
    cases = {
        "at least one rod": (guest,),
        "Ada is in the party twice": (rod(ada), rod(ada)),
        "Bo: role is 'boss'": (rod(ada), PartyWanted(person=bo, role="boss")),
        "Bo is down as paying, but Ada is the payer": (
            rod(ada),
            PartyWanted(person=bo, role="payer"),
        ),
        "Bo: say with whom": (rod(ada), PartyWanted(person=bo, role="shares")),
        "Ada: say with whom": (PartyWanted(person=ada, role="rod", shares_with=bo), rod(bo)),
        "Cy shares with Bo, who is not a rod": (
            rod(ada),
            guest,
            PartyWanted(person=cy, role="shares", shares_with=bo),
        ),
    }

    for says, party in cases.items():
        with pytest.raises(BookingRefused, match=says):
            make_booking(payer=ada, party=party)

    assert not Booking.objects.exists()


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        (
            {"state": "cancelled"},
            "it is one of offered, accepted, deposit_in, ready, fished, closed",
        ),
        ({"state": "offered"}, "An offer needs a moment ahead"),
        ({"state": "offered", "held_until": datetime(2026, 5, 20, 9, tzinfo=UTC)}, "ahead"),
        ({"held_until": datetime(2026, 6, 20, 9, tzinfo=UTC)}, "Only an offer is held"),
        ({"fish": "pike"}, "fish is 'pike'; it is one of salmon, sea_trout"),
        ({"days": ()}, "at least one day"),
    ],
)
def test_a_booking_in_an_impossible_state_is_refused(fields, says):
    with pytest.raises(BookingRefused, match=says):
        make_booking(water=make_water(), **fields)


def test_one_part_of_one_day_is_asked_for_once():
    water = make_water()
    day = make_day(water, DAY)

    with pytest.raises(BookingRefused, match="2026-05-28 morning is asked for twice"):
        make_booking(water=water, days=(day, day))


def test_a_reference_is_used_once_and_the_next_one_follows_the_highest():
    make_booking(reference="2026-009")
    make_booking(reference="2026-101")
    make_booking(reference="2026-spare")

    assert next_reference(2026) == "2026-102"
    assert next_reference(2027) == "2027-001"
    with pytest.raises(BookingRefused, match="2026-009 is in use"):
        make_booking(reference="2026-009")
