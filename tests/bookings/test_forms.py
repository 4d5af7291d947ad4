"""A booking typed in: what the form makes of it before anything is written."""

from datetime import UTC, date, datetime

import pytest

from guiding.bookings.forms import BookingForm, PartyFormSet, party_wanted
from guiding.bookings.wanted import PartyWanted
from tests import factories


@pytest.fixture
def water(db):
    water = factories.make_water()
    factories.make_beat(water=water)
    factories.make_access_point(water=water)
    return water


def typed(water, **changes):
    form = BookingForm(
        {
            "payer": factories.make_person().pk,
            "fish": "salmon",
            "date": "2026-05-28",
            "parts": ["afternoon", "morning"],
            "beat": water.beats.get().pk,
            "meeting_point": water.access_points.get().pk,
            "meets_at": "08:15",
            **changes,
        },
        water=water,
    )
    assert form.is_valid(), form.errors
    return form.days_wanted()


def test_the_days_parts_come_in_their_order_and_the_first_from_the_meeting(water):
    morning, afternoon = typed(water)

    assert [morning.part, afternoon.part] == ["morning", "afternoon"]
    assert morning.meets_at == datetime(2026, 5, 28, 7, 15, tzinfo=UTC)  # 08:15 BST
    assert afternoon.meets_at == datetime(2026, 5, 28, 12, 0, tzinfo=UTC)  # the usual 13:00


def test_without_a_clock_they_meet_when_the_first_part_begins(water):
    morning, _ = typed(water, meets_at="")

    assert morning.meets_at == datetime(2026, 5, 28, 8, 0, tzinfo=UTC)


def test_another_waters_beat_and_gate_are_no_choice(water):
    other = factories.make_water()
    form = BookingForm(
        {
            "beat": factories.make_beat(water=other).pk,
            "meeting_point": factories.make_access_point(water=other).pk,
        },
        water=water,
    )

    assert "Select a valid choice" in str(form.errors["beat"])
    assert "Select a valid choice" in str(form.errors["meeting_point"])


def test_a_gate_where_nobody_meets_is_no_choice(water):
    gate = factories.make_access_point(water=water, is_meeting_point=False)
    form = BookingForm({"meeting_point": gate.pk}, water=water)

    assert "meeting_point" in form.errors


def test_an_empty_row_is_nobody_and_a_partner_counts_only_for_who_shares(db):
    one, two, three = (factories.make_person() for _ in range(3))
    rows = PartyFormSet(
        {
            "form-TOTAL_FORMS": 4,
            "form-INITIAL_FORMS": 0,
            "form-0-person": one.pk,
            "form-0-role": "rod",
            "form-0-shares_with": two.pk,
            "form-1-person": two.pk,
            "form-1-role": "shares",
            "form-1-shares_with": one.pk,
            "form-2-role": "rod",
            "form-3-person": three.pk,
            "form-3-role": "guest",
        }
    )
    assert rows.is_valid(), rows.errors

    assert party_wanted(rows) == (
        PartyWanted(person=one, role="rod"),
        PartyWanted(person=two, role="shares", shares_with=one),
        PartyWanted(person=three, role="guest"),
    )


def test_a_day_before_the_calendar_began_is_refused(water):
    form = BookingForm({"date": "0000-01-01"}, water=water)

    assert "Write the day as 2026-05-21." in str(form.errors["date"])
    assert (
        BookingForm({"date": date(2026, 5, 28).isoformat()}, water=water).errors.get("date") is None
    )
