"""Dam, tide and ice on the Today page: what is lacking for today and tomorrow, and what is new."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine

from guiding.accounts.models import User
from guiding.bookings.models import Booking
from guiding.desk.unseen_water import unseen_water
from guiding.regimes.actions import keep_look
from tests import factories
from tests.regimes.schedules import make_dam, regulated_beat, release, say

NOW = datetime(2026, 5, 20, 6, 0, tzinfo=UTC)
TODAY, TOMORROW = date(2026, 5, 20), date(2026, 5, 21)

pytestmark = pytest.mark.django_db


def book(beat, day):
    wanted = factories.make_day(beat.water, day, beat=beat)
    return factories.make_booking(water=beat.water, days=(wanted,))


def unseen(at=NOW):
    return unseen_water(Booking.objects.all(), at)


@pytest.fixture
def beat():
    return regulated_beat()


@pytest.fixture
def dam(beat):
    return make_dam(beat)


def test_what_is_lacking_for_today_and_tomorrow_is_named(beat, dam):
    for day in (TODAY, TOMORROW, TOMORROW + timedelta(days=1)):
        book(beat, day)

    rows = unseen()

    assert [row.where for row in rows] == [
        "Today, Wednesday 20 May, morning: Dam Beat",
        "Tomorrow, Thursday 21 May, morning: Dam Beat",
    ]
    assert rows[1].lacking == ("no schedule of Alder Dam for Thursday 21 May is on file",)


def test_natural_water_is_not_listed_and_what_is_known_is_told(beat, dam):
    book(factories.make_beat(), TODAY)
    book(beat, TODAY)
    book(beat, TOMORROW)
    say(dam, TODAY, release("08:00"), at=NOW)
    say(dam, TOMORROW, at=NOW)

    today, tomorrow = unseen()

    assert (today.lacking, tomorrow.lacking) == ((), ())
    assert today.out_by == "Out of the water, and back from its edge, by 10:30."
    assert tomorrow.out_by == "No wave is on the schedule, which is a plan and not a promise."


def test_a_schedule_that_came_after_the_pack_is_told(beat, dam):
    booking = book(beat, TOMORROW)
    say(dam, TOMORROW, at=NOW - timedelta(hours=2))
    factories.make_briefing(booking=booking, issued_at=NOW - timedelta(hours=1))
    assert [row.is_new for row in unseen()] == [False]

    say(dam, TOMORROW, release("08:00"), at=NOW)

    assert [row.is_new for row in unseen()] == [True]


@pytest.mark.parametrize(
    ("water_c", "air_c", "is_asked"),
    [(None, None, True), (0.4, 2.0, True), (4.0, 5.0, False), (None, -8.0, True)],
)
def test_a_river_that_may_be_iced_asks_for_a_look_today(water_c, air_c, is_asked):
    beat = factories.make_beat(name="Cold Beat")
    gauge = factories.make_gauge(beat, may_ice=True)
    for quantity, value in (("water_c", water_c), ("air_c", air_c)):
        if value is not None:
            factories.make_readings(gauge, quantity, [(NOW - timedelta(hours=1), value)])
    book(beat, TODAY)
    book(beat, TOMORROW)

    found = unseen()

    assert [row.lacking for row in found] == (
        [("nobody has looked for ice today, and it may be cold enough",)] if is_asked else []
    )


def test_a_look_settles_it_and_ice_is_told():
    beat = factories.make_beat(name="Cold Beat")
    factories.make_gauge(beat, may_ice=True)
    book(beat, TODAY)
    look = {"beat": beat, "looked_at": NOW, "who_looked": "Ruan", "at": NOW}
    keep_look(beat.water.river, seen="none", **look)
    assert unseen() == []

    keep_look(beat.water.river, seen="shore", **look)

    (row,) = unseen()
    assert "Ice was seen: ice along the edges at Cold Beat at 07:00" in row.out_by


def test_today_shows_it_and_asks_no_more_for_more_trips(
    client, beat, dam, django_assert_max_num_queries
):
    client.force_login(User.objects.create_user("guide", role="guide"))
    with time_machine.travel(NOW, tick=False):
        book(beat, TOMORROW)
        with django_assert_max_num_queries(100) as few:
            page = client.get("/").content.decode()
        for _ in range(3):
            book(beat, TOMORROW)
        with django_assert_max_num_queries(len(few)):
            client.get("/")

    assert "Dam, tide and ice" in page
    assert "<strong>Not known, bank only:</strong> no schedule of Alder Dam" in page
    assert "Type in a schedule" in page
