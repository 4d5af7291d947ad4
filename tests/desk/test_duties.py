"""What is owed to which trip, and by when."""

from datetime import UTC, date, datetime, timedelta

import pytest

from guiding.bookings.wanted import PartyWanted
from guiding.desk.duties import duties
from tests import factories

NOW = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)  # 10:00 at the river


def booked(days_ahead, *, people=1, **changes):
    """Return a booking that many days ahead; who pays is the first rod."""
    party = tuple(PartyWanted(person=factories.make_person(), role="rod") for _ in range(people))
    return factories.make_booking(
        day=date(2026, 5, 20) + timedelta(days=days_ahead), party=party, **changes
    )


def given(booking, person, issue, at, *, number=1, sent=True):
    briefing = factories.make_briefing(
        booking=booking, person=person, issue=issue, number=number, issued_at=at
    )
    if sent:
        factories.make_letter(about=f"briefing {briefing.key}")
    return briefing


def due(booking, at=NOW):
    (duty,) = duties([booking], at)
    return duty.issue_due, duty.by


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("days_ahead", "owed"),
    [
        (1, ("final", "By 20:00 tonight")),
        (2, ("first", "By 20:00 tonight")),
        (10, ("first", "By 20:00 tonight")),
        (11, ("", "")),
    ],
)
def test_the_first_issue_is_due_ten_days_ahead_and_the_final_one_the_evening_before(
    days_ahead, owed
):
    assert due(booked(days_ahead)) == owed


@pytest.mark.django_db
def test_what_should_have_gone_last_night_is_overdue_on_the_day():
    booking = booked(1)

    assert due(booking, NOW + timedelta(days=1) - timedelta(hours=3)) == (
        "final",
        "Overdue since 20:00 on Wednesday",
    )


@pytest.mark.django_db
def test_an_issue_written_but_not_sent_is_still_due():
    booking = booked(8)
    given(booking, booking.payer, "first", NOW, sent=False)

    assert due(booking)[0] == "first"


@pytest.mark.django_db
def test_a_letter_that_was_given_up_leaves_the_issue_due():
    booking = booked(8)
    briefing = given(booking, booking.payer, "first", NOW, sent=False)
    letter = factories.make_letter(about=f"briefing {briefing.key}")
    assert due(booking)[0] == ""
    letter.given_up_at = NOW
    letter.save()

    assert due(booking)[0] == "first"


@pytest.mark.django_db
def test_whoever_has_no_mail_address_is_done_once_the_pack_is_written_to_print():
    booking = booked(8)
    booking.payer.email = ""
    booking.payer.save()
    given(booking, booking.payer, "first", NOW, sent=False)

    assert due(booking)[0] == ""


@pytest.mark.django_db
def test_one_of_two_who_was_forgotten_keeps_it_due():
    booking = booked(8, people=2)
    one, other = (member.person for member in booking.party.all())
    given(booking, one, "first", NOW)
    assert due(booking)[0] == "first"
    given(booking, other, "first", NOW)

    assert due(booking)[0] == ""


@pytest.mark.django_db
def test_a_final_issue_of_an_earlier_day_does_not_stand_for_tomorrow():
    booking = booked(1)
    given(booking, booking.payer, "final", NOW - timedelta(days=2))
    assert due(booking)[0] == "final"
    given(booking, booking.payer, "final", NOW, number=2)

    assert due(booking)[0] == ""


@pytest.mark.django_db
def test_the_evening_before_is_counted_by_the_rivers_clock():
    river = factories.make_river(zone="Pacific/Auckland")
    booking = booked(1, water=factories.make_water(river=river))
    # 00:30 on the 20th in Auckland is still the 19th in UTC
    given(booking, booking.payer, "final", datetime(2026, 5, 19, 12, 30, tzinfo=UTC))

    assert due(booking, datetime(2026, 5, 20, 6, 0, tzinfo=UTC))[0] == ""


@pytest.mark.django_db
def test_trips_stand_in_the_order_in_which_they_meet_and_those_that_are_over_do_not():
    later, sooner = booked(3), booked(1)
    over = booked(0)
    at = NOW + timedelta(hours=8)

    assert [duty.booking for duty in duties([later, over, sooner], at)] == [sooner, later]


@pytest.mark.django_db
def test_a_duty_says_where_and_how_many_rods():
    water = factories.make_water()
    upper = factories.make_beat(water=water, name="Upper", order=1)
    lower = factories.make_beat(water=water, name="Lower", order=2)
    day = date(2026, 5, 21)

    def part(name, beat, hours):
        meets_at = datetime(2026, 5, 21, hours, 0, tzinfo=UTC)
        return factories.make_day(
            water,
            day,
            part=name,
            beat=beat,
            meets_at=meets_at,
            ends_at=meets_at + timedelta(hours=3),
        )

    one, two = factories.make_person(), factories.make_person()
    booking = factories.make_booking(
        days=(part("morning", upper, 8), part("afternoon", upper, 12), part("evening", lower, 17)),
        party=(
            PartyWanted(person=one, role="rod"),
            PartyWanted(person=two, role="shares", shares_with=one),
        ),
    )
    (duty,) = duties([booking], NOW)

    assert duty.where == "Upper, morning and afternoon; Lower, evening"
    assert duty.rods == "one rod"
    assert duty.when == "tomorrow"
    assert {row.member.person for row in duty.uncovered} == {one, two}
