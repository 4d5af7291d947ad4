"""The River page: what is typed in and refused, and what is said of an old record."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse

from guiding.accounts.models import User
from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.models import Gauge, Mark, Quantity, Reading
from guiding.gauges.outlook import marks_of
from guiding.history.models import Event
from tests import factories

NOW = datetime(2026, 10, 26, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def gauge(db):
    gauge = factories.make_gauge(factories.make_beat(), name="Alder Bridge")
    Mark.objects.create(gauge=gauge, kind="good", level_m=0.4, seen="flat stone covered")
    return gauge


@pytest.fixture
def recorded(gauge):
    hours = [NOW - timedelta(hours=n) for n in range(24 * 40, -1, -1)]
    factories.make_readings(
        gauge, Quantity.LEVEL, [(at, 0.4 + 0.001 * (n % 24)) for n, at in enumerate(hours)]
    )
    issue_forecast(gauge, at=NOW)
    return gauge


@pytest.fixture
def desk(client, gauge):
    client.force_login(User.objects.create_user("guide", role="guide"))
    return client


def page_of(gauge):
    return reverse("gauges:river", args=[gauge.key])


def type_in(desk, gauge, **changes):
    typed = {"quantity": "level_m", "value": "0.79", "observed_at": "2026-10-26T08:30", **changes}
    return desk.post(page_of(gauge), typed)


def test_a_reading_is_kept_by_the_rivers_clock_under_the_name_of_who_typed_it(desk, gauge):
    answer = type_in(desk, gauge)

    assert answer.status_code == 302, answer.context["form"].errors
    assert answer.url == page_of(gauge)
    reading = Reading.objects.get()
    assert (reading.value, reading.quality) == (0.79, Reading.Quality.TYPED)
    assert reading.observed_at == datetime(
        2026, 10, 26, 8, 30, tzinfo=UTC
    )  # GMT again since Sunday
    assert gauge.imports.get().name == "typed in by guide"
    assert "0.79 m" in desk.get(page_of(gauge)).content.decode()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"value": "-99"}, "level is -99 m; gauge Alder Bridge reads -1 to 20 m."),
        ({"value": "21"}, "level is 21 m;"),
        (
            {"quantity": "water_c", "value": "40"},
            "water temperature is 40 degrees C; a river reads -0.5 to 35",
        ),
        ({"quantity": "air_c", "value": "-41"}, "allowed is -40 to 45 degrees C."),
        (
            {"quantity": "visibility_cm", "value": "1001"},
            "visibility is 1001 cm; a river reads 0 to 1000 cm.",
        ),
        ({"value": "0,79"}, "0,79 is no number here. Write it with a point, such as 0.79."),
        ({"value": "1,234,5"}, "1,234,5 is no number here."),
        ({"value": "knee deep"}, "knee deep is no number here."),
        ({"value": "nan"}, "That is no number a river has."),
        ({"value": "inf"}, "That is no number a river has."),
        ({"value": ""}, "Nothing was written. Write a number such as 0.79."),
        ({"observed_at": ""}, "Nothing was written. Write the moment as 2026-05-21 18:30."),
        ({"observed_at": "yesterday"}, "This is no day and time."),
        (
            {"observed_at": "2026-10-26T18:30"},
            "2026-10-26 18:30 lies ahead: at the river it is 2026-10-26 09:00.",
        ),
        # the clocks went back at 02:00 BST on Sunday 25 October 2026: 01:30 came twice
        ({"observed_at": "2026-10-25T01:30"}, "2026-10-25 01:30 does not say one moment"),
        # and forward at 01:00 GMT on Sunday 29 March 2026: 01:30 never came
        ({"observed_at": "2026-03-29T01:30"}, "2026-03-29 01:30 does not say one moment"),
        ({"quantity": "mood"}, "mood is not one of the available choices"),
        ({"value": "<b>7</b>"}, "&lt;b&gt;7&lt;/b&gt; is no number here."),
    ],
)
def test_what_cannot_be_is_refused_in_words_and_nothing_typed_is_lost(desk, gauge, changes, said):
    answer = type_in(desk, gauge, **changes)

    words = answer.content.decode()
    assert answer.status_code == 200
    assert said in words, answer.context["form"].errors
    assert 'aria-invalid="true"' in words
    typed = {"value": "0.79", "observed_at": "2026-10-26T08:30", **changes}
    kept = answer.context["form"]
    assert {name: kept[name].value() for name in typed} == typed
    assert not Reading.objects.exists()


def test_a_fresh_record_says_how_old_it_is_and_when_it_passes_a_mark(desk, recorded):
    words = desk.get(page_of(recorded)).content.decode()

    assert "That level is 0 min old." in words
    assert "flat stone covered (good)" in words
    assert "not known: the newest level" not in words
    assert "Too old to act on" not in words


def test_a_stale_record_says_so_first_and_forecasts_nothing(desk, recorded, clock):
    fresh = desk.get(page_of(recorded)).context["now"]
    clock.move_to(NOW + timedelta(days=3))

    answer = desk.get(page_of(recorded))

    words, now = answer.content.decode(), answer.context["now"]
    assert "What the river is doing is not known: the newest level is 3 days old." in words
    assert words.index("not known: the newest level") < words.index("<svg")
    assert "Too old to act on." in words
    assert now.record is None
    assert fresh.record is not None
    assert [row.passing for row in now.marks] == [""]
    assert [row.passing for row in fresh.marks] == ["fall below"]
    assert "What the river is doing is not known" in desk.get("/").content.decode()


def test_a_fresh_level_with_an_old_forecast_is_no_forecast(desk, recorded, clock):
    later = NOW + timedelta(days=2)
    clock.move_to(later)
    series = recorded.series.get(quantity=Quantity.LEVEL)
    Reading.objects.create(series=series, observed_at=later, value=0.9)

    answer = desk.get(page_of(recorded))

    assert "not known: the newest forecast is 2 days old." in answer.content.decode()
    assert answer.context["now"].record is None


def test_a_gauge_without_a_reading_asks_for_the_first(desk, gauge):
    words = desk.get(page_of(gauge)).content.decode()

    assert "No level has been read." in words
    assert "Type the first reading in below" in words
    assert "No forecast has been issued yet." in words


def test_one_gauge_is_led_to_and_two_are_named(desk, gauge):
    assert desk.get("/river/").url == page_of(gauge)
    other = factories.make_gauge(name="Lower Bridge")

    words = desk.get("/river/").content.decode()
    assert "Alder Bridge" in words
    assert page_of(other) in words


def test_marks_whose_levels_became_others_count_for_nothing_until_they_are_confirmed(
    desk, recorded
):
    why = "the agency: the datum was 'one' and is 'other' now"
    Gauge.objects.update(marks_suspended_since=NOW, marks_suspended_why=why)
    recorded.refresh_from_db()
    beat = recorded.beat_links.get().beat
    later = NOW + timedelta(minutes=5)

    forecast = issue_forecast(recorded, at=later)

    assert forecast.marks == []
    assert [line for line in forecast.says if line.startswith("The marks are set aside since")]
    assert marks_of(recorded, beat) == ()
    assert "My marks and soundings hold" in desk.get(page_of(recorded)).content.decode()
    answer = desk.post(reverse("gauges:confirm_marks", args=[recorded.key]))
    assert answer.url == page_of(recorded)
    recorded.refresh_from_db()
    assert recorded.marks_suspended_since is None
    assert len(marks_of(recorded, beat)) == 1
    assert len(issue_forecast(recorded, at=later + timedelta(minutes=1)).marks) == 1
    assert Event.objects.get(what="marks confirmed").after == {"by": "guide"}
    assert "My marks and soundings hold" not in desk.get(page_of(recorded)).content.decode()


def test_marks_are_confirmed_by_posting_only(desk, gauge):
    assert desk.get(reverse("gauges:confirm_marks", args=[gauge.key])).status_code == 405


def test_the_page_leads_to_the_record(desk, recorded):
    text = desk.get(page_of(recorded)).content.decode()

    assert reverse("gauges:record", args=[recorded.key]) in text
