"""Issuing: one number a change, one letter an issue, nothing said twice or altered later."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from briefings import actions
from briefings.actions import NoAddress, issue_briefing, issue_to_everybody, keep_document
from briefings.models import Briefing
from briefings.pools import measured_pools
from briefings.trips import NothingToBrief
from guiding.bookings.models import TripDay
from guiding.bookings.offers import cancel
from guiding.gauges.models import Reading
from guiding.mail.models import Letter
from tests.briefings.stored import AT, store_forecast, store_trip
from tests.factories import make_beat, make_gauge, make_person, make_readings

pytestmark = pytest.mark.django_db


def test_the_same_river_twice_is_the_same_issue_and_one_letter():
    trip = store_trip()

    first = issue_briefing(trip.booking, trip.ada, issue="final", at=AT, send=True)
    again = issue_briefing(trip.booking, trip.ada, issue="final", at=AT, send=True)
    later = AT + timedelta(minutes=1)
    third = issue_briefing(trip.booking, trip.ada, issue="final", at=later, send=True)

    assert first.pk == again.pk == third.pk
    assert (first.number, first.replaces, Letter.objects.count()) == (1, None, 1)


def test_a_class_that_moves_makes_a_second_issue_that_replaces_the_first():
    trip = store_trip()
    first = issue_briefing(trip.booking, trip.ada, issue="final", at=AT, send=True)

    later = AT + timedelta(hours=1)
    store_forecast(trip.gauge, at=later, level_m=1.20)
    second = issue_briefing(trip.booking, trip.ada, issue="final", at=later, send=True)

    assert (second.number, second.replaces) == (2, first)
    assert second.content["replaces"] == 1
    assert second.content["wading"] == "Bank only."
    changes = second.content["changes"]
    assert changes[0].startswith("the danger line, which said: ")
    assert "wading: Bank only." in changes
    assert any(line.startswith("new caution: High water") for line in changes)
    assert Letter.objects.filter(about=f"briefing {second.key}").count() == 1
    first.refresh_from_db()
    assert first.is_replaced


def test_a_meeting_time_and_a_beat_that_change_come_first():
    trip = store_trip()
    issue_briefing(trip.booking, trip.ada, issue="first", at=AT - timedelta(days=8))
    other = make_beat(water=trip.beat.water, name="Other Beat")
    day = TripDay.objects.get()

    TripDay.objects.update(beat=other, meets_at=day.meets_at + timedelta(minutes=30))
    second = issue_briefing(trip.booking, trip.ada, issue="first", at=AT - timedelta(days=7))

    when = "Thursday 28 May, morning"
    assert f"{when}: Other Beat, not {trip.beat.name}" in second.content["changes"]
    assert f"{when}: meet at 09:00, not 08:30" in second.content["changes"]


def test_what_was_said_is_not_altered_by_what_is_read_later():
    trip = store_trip()
    briefing = issue_briefing(trip.booking, trip.ada, issue="final", at=AT)
    said = briefing.content

    make_readings(trip.gauge, "level_m", [(AT + timedelta(hours=1), 2.0)])
    Reading.objects.update(value=1.5)
    briefing.refresh_from_db()

    assert briefing.content == said


def test_the_forecast_that_was_used_is_kept_with_the_briefing():
    trip = store_trip()
    briefing = issue_briefing(trip.booking, trip.ada, issue="final", at=AT)
    store_forecast(trip.gauge, at=AT + timedelta(hours=2), level_m=0.5)

    assert briefing.forecast == trip.forecast
    with pytest.raises(ProtectedError):
        trip.forecast.delete()


def test_on_a_day_at_two_gauges_the_forecasts_of_both_are_kept():
    trip = store_trip()
    afternoon = TripDay.objects.get()
    beat = make_beat(water=trip.beat.water, name="Other Beat")
    gauge = make_gauge(beat)
    forecast = store_forecast(gauge, at=AT, level_m=0.4)
    afternoon.pk, afternoon.part, afternoon.beat = None, "afternoon", beat
    afternoon.save(force_insert=True)

    briefing = issue_briefing(trip.booking, trip.ada, issue="final", at=AT)

    assert briefing.forecast == trip.forecast
    assert [row.forecast for row in briefing.further_forecasts.all()] == [forecast]
    with pytest.raises(ProtectedError):
        forecast.delete()


def test_soundings_are_not_read_on_levels_that_became_others():
    trip = store_trip()
    assert all(row.soundings for row in measured_pools(trip.beat, trip.gauge))

    trip.gauge.marks_suspended_since = AT
    trip.gauge.save()
    briefing = issue_briefing(trip.booking, trip.ada, issue="final", at=AT)

    assert not any(row.soundings for row in measured_pools(trip.beat, trip.gauge))
    assert briefing.content["wading"].startswith("Bank only")


def test_a_first_issue_rests_on_no_forecast():
    trip = store_trip()

    briefing = issue_briefing(trip.booking, trip.ada, issue="first", at=AT - timedelta(days=8))

    assert briefing.forecast is None
    assert briefing.content["wading"] == "Bank only until your guide has told you at the water."
    assert briefing.content["sources"] == []


def test_of_two_presses_at_once_the_later_gets_the_earlier_ones_issue(monkeypatch):
    trip = store_trip()
    last_seen = actions._last
    pressed = []

    def seen_before_the_other_wrote(booking, person):
        last = last_seen(booking, person)
        if not pressed:
            pressed.append(None)
            pressed[0] = issue_briefing(booking, person, issue="final", at=AT, send=True)
        return last

    monkeypatch.setattr(actions, "_last", seen_before_the_other_wrote)
    mine = issue_briefing(trip.booking, trip.ada, issue="final", at=AT, send=True)

    assert mine == pressed[0]
    assert (Briefing.objects.count(), Letter.objects.count()) == (1, 1)


def test_the_database_itself_refuses_a_number_twice():
    trip = store_trip()
    for person in (trip.ada, None):
        briefing = issue_briefing(trip.booking, person, issue="final", at=AT)
        briefing.pk, briefing.replaces = None, None
        briefing.key = "00000000-0000-4000-8000-000000000001"
        with pytest.raises(IntegrityError), transaction.atomic():
            briefing.save(force_insert=True)


def test_nobody_without_an_address_is_written_to_but_their_pack_is_made():
    trip = store_trip(rods=2)
    trip.people[1].email = ""
    trip.people[1].save()

    with pytest.raises(NoAddress, match="no e-mail address on file: print"):
        issue_briefing(trip.booking, trip.people[1], issue="final", at=AT, send=True)
    assert not Briefing.objects.exists()

    written = issue_to_everybody(trip.booking, issue="final", at=AT)
    assert [b.person for b in written] == [None, *trip.people]
    assert [letter.to_address for letter in Letter.objects.all()] == [trip.ada.email]


def test_who_only_pays_gets_no_pack():
    payer = make_person(name="Cleo Banks")
    trip = store_trip(others=((payer, "payer"),))

    with pytest.raises(NothingToBrief, match="Cleo Banks only pays for T-BRIEF"):
        issue_briefing(trip.booking, payer, issue="final", at=AT)

    assert payer not in [b.person for b in issue_to_everybody(trip.booking, issue="final", at=AT)]


def test_a_booking_called_off_is_not_briefed_even_where_it_was_read_before():
    trip = store_trip()
    stale = type(trip.booking).objects.get()
    cancel(trip.booking, reason="client", at=AT)

    for booking in (trip.booking, stale):
        with pytest.raises(NothingToBrief, match="T-BRIEF was called off"):
            issue_briefing(booking, trip.ada, issue="final", at=AT)
    assert not Briefing.objects.exists()


def test_a_trip_that_is_over_is_not_briefed():
    trip = store_trip()

    with pytest.raises(NothingToBrief, match="no day left"):
        issue_briefing(trip.booking, trip.ada, issue="final", at=AT + timedelta(days=2))


def test_a_letter_that_fails_takes_its_issue_with_it(monkeypatch):
    trip = store_trip()

    def broken(*_, **__):
        raise RuntimeError("no letter")

    monkeypatch.setattr(actions, "write_briefing_letter", broken)
    with pytest.raises(RuntimeError):
        issue_briefing(trip.booking, trip.ada, issue="final", at=AT, send=True)

    assert not Briefing.objects.exists()


def test_a_kept_document_lets_its_letter_go_and_stays_the_first():
    trip = store_trip()
    briefing = issue_briefing(trip.booking, trip.ada, issue="final", at=AT, send=True)

    first = keep_document(briefing, b"%PDF-1.7 one", at=AT)
    second = keep_document(briefing, b"%PDF-1.7 two", at=AT)

    letter = Letter.objects.get()
    assert first == second == briefing.document
    assert letter.waits_for_document is False
    assert list(letter.documents.all()) == [first]


def test_a_final_issue_for_another_day_says_only_that():
    trip = store_trip()
    content = issue_briefing(trip.booking, trip.ada, issue="final", at=AT).content

    moved = [{**part, "date_words": "Friday 29 May"} for part in content["parts"]]
    lines = actions.what_changed(content, {**content, "parts": moved, "title": "Friday 29 May"})

    assert lines == ("this issue is for another day: Friday 29 May",)


def test_everybodys_packs_are_read_from_the_rows_once(django_assert_num_queries):
    trip = store_trip(rods=4, pools=5)

    with django_assert_num_queries(GROUNDWORK_QUERIES):
        ground = actions.lay_groundwork(trip.booking, issue="final", at=AT)
    with django_assert_num_queries(0):
        for member in (*ground.trip.coming, None):
            actions.compose(ground, member.person if member else None)


GROUNDWORK_QUERIES = 32  # for a party of four on one beat with five pools


def test_a_groundwork_asks_no_more_for_more_people_and_pools(django_assert_num_queries):
    trip = store_trip(rods=1, pools=1)

    with django_assert_num_queries(GROUNDWORK_QUERIES):
        ground = actions.lay_groundwork(trip.booking, issue="final", at=AT)
    assert replace(ground).trip.rods == 1


def for_ada_alone(trip, **changes):
    return issue_briefing(trip.booking, trip.ada, **changes)


def for_everybody(trip, **changes):
    return issue_to_everybody(trip.booking, **changes)


@pytest.mark.parametrize("press", [for_ada_alone, for_everybody])
def test_a_first_issue_after_a_final_one_of_the_same_day_is_refused_and_changes_nothing(press):
    trip = store_trip()
    final = issue_briefing(trip.booking, trip.ada, issue="final", at=AT)

    with pytest.raises(NothingToBrief, match=f"{trip.ada.name} has final issue 1 for "):
        press(trip, issue="first", at=AT + timedelta(hours=1))

    assert list(Briefing.objects.all()) == [final]
    assert issue_briefing(trip.booking, trip.ada, issue="final", at=AT) == final


def test_a_first_issue_for_a_day_that_was_put_off_is_written():
    trip = store_trip()
    final = issue_briefing(trip.booking, trip.ada, issue="final", at=AT)
    for day in trip.booking.days.all():
        day.date += timedelta(days=14)
        day.meets_at += timedelta(days=14)
        day.ends_at += timedelta(days=14)
        day.save()

    first = issue_briefing(trip.booking, trip.ada, issue="first", at=AT + timedelta(hours=1))

    assert (first.issue, first.replaces) == ("first", final)
