"""The outlook page: the answer, the picture, the windows, and whatever is not known."""

from datetime import UTC, datetime, time, timedelta
from xml.etree import ElementTree as Tree

import numpy as np
import pytest
import time_machine
from django.urls import reverse

from guiding.accounts.models import User
from guiding.gauges.hydrology.record import ForecastRecord, WaterAhead
from guiding.gauges.models import BeatGauge, Forecast, Gauge, Mark, Quantity, WeatherRun
from guiding.rivers.models import Part, PartHours
from tests import factories

NOW = datetime(2026, 10, 26, 9, 0, tzinfo=UTC)  # a Monday, the day after the clocks went back
PAGE_QUERIES = 19


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
def desk(client, gauge):
    client.force_login(User.objects.create_user("guide", role="guide"))
    return client


def page_of(gauge):
    return reverse("gauges:river", args=[gauge.key])


def make_forecast(gauge, paths, at=NOW, **changes):
    """Store a forecast drawn by hand, from whole paths an hour apart."""
    low, middle, high = (
        tuple(None if np.isnan(v) else round(float(v), 3) for v in row)
        for row in np.quantile(paths, [0.1, 0.5, 0.9], axis=0)
    )
    record = ForecastRecord(
        issued_at=at,
        model="drawn by hand",
        step_minutes=60,
        times=tuple(at + timedelta(hours=k + 1) for k in range(paths.shape[1])),
        q10=low,
        q50=middle,
        q90=high,
        paths=paths,
        inputs=(),
        **changes,
    )
    row = Forecast.from_record(record, gauge=gauge)
    row.save()
    return row


@pytest.fixture
def foreseen(gauge):
    """Return a gauge with a level of half a metre, a forecast, weather and one beat."""
    Mark.objects.create(gauge=gauge, kind="high", level_m=0.9, seen="hut steps wet")
    levels = [(NOW - timedelta(hours=n), 0.5) for n in range(72)]
    factories.make_readings(gauge, Quantity.LEVEL, levels)
    rain = [(NOW - timedelta(hours=n), 0.2) for n in range(1, 72)]
    factories.make_readings(gauge, Quantity.RAIN, rain)
    six = timedelta(hours=6)
    WeatherRun.objects.create(
        gauge=gauge,
        issued_at=NOW,
        fetched_at=NOW,
        source="drawn weather",
        raw={},
        steps=[
            {
                "starts_at": (NOW + k * six).isoformat(),
                "ends_at": (NOW + (k + 1) * six).isoformat(),
                "rain_mm": 3.0 if k == 8 else 0.0,
            }
            for k in range(21)
        ],
    )
    paths = np.full((20, 120), 0.5) - 0.0005 * np.arange(120)
    paths[:5, 60:] += 0.5
    make_forecast(gauge, paths)
    return gauge


def test_the_page_answers_in_its_order(desk, foreseen):
    answer = desk.get(page_of(foreseen))

    words = answer.content.decode()
    order = [
        "<h1",
        "Steady. At or above 0.90 m (hut steps wet) at some time in the next five days: unlikely",
        "Rain on Wednesday may lift it again (10 cm or more: about 25 %).",
        "<svg",
        "When is it in your good range?",
        "Good is from 0.40 m (flat stone covered) to under 0.90 m (hut steps wet) at the gauge.",
        "The chance is that of staying in the range all the time",
        "When does it pass a mark?",
        "The same as a table",
    ]
    assert [words.index(part) for part in order] == sorted(words.index(part) for part in order)
    (beat,) = answer.context["beats"]
    assert beat.rows[0].chance == "almost certain, over 95 %"
    assert any(row.chance == "likely, about 75 %" for row in beat.rows)


def test_the_picture_goes_five_days_ahead_and_its_words_stand_in_it(desk, foreseen):
    now = desk.get(page_of(foreseen)).context["now"]

    for drawing in (now.wide_chart, now.phone_chart):
        root = Tree.fromstring(drawing)  # noqa: S314
        told = root.find("{http://www.w3.org/2000/svg}desc").text
        assert now.sentence in told
        assert "0.40 m flat stone covered, 0.90 m hut steps wet" in told
        assert "Sat" in drawing  # Monday and five days
    assert "Grey, with a bar along the foot: dark." in now.legend
    assert {row.rain for row in now.table} >= {"1.2 mm", "3.0 mm forecast"}
    assert {row.light for row in now.table} == {"dark", "light"}


def test_a_level_worked_out_from_flow_is_never_called_measured(desk, gauge):
    Gauge.objects.update(rating_a=10.0, rating_b=2.0, rating_h0_m=0.1, rating_source="a bucket")
    flows = [(NOW - timedelta(hours=n), 1.6) for n in range(30)]
    factories.make_readings(gauge, Quantity.FLOW, flows)

    now = desk.get(page_of(gauge)).context["now"]

    assert "turned into level by a stated rating (a bucket)" in now.detail
    assert {row.known_as for row in now.table} == {"worked out from flow"}
    assert "Solid: worked out from flow." in now.legend


def test_what_is_wrong_with_a_source_stands_under_the_answer(desk, foreseen):
    since = NOW - timedelta(hours=5)
    foreseen.series.filter(quantity=Quantity.LEVEL).update(
        trouble="The agency: it answers with a page", trouble_since=since
    )
    Gauge.objects.update(weather_trouble="it is closed", weather_trouble_since=since)

    words = desk.get(page_of(foreseen)).content.decode()

    level = (
        "Level in m: not heard from as it should be since Monday 26 October, 04:00. The agency: "
        "it answers with a page."
    )
    assert level in words
    assert "Weather forecast: not heard from as it should be since Monday 26 October" in words
    assert words.index(level) < words.index("<svg")


def test_why_nothing_is_known_is_said_in_the_answer_and_not_twice(desk, gauge):
    factories.make_readings(gauge, Quantity.LEVEL, [(NOW, 0.5)])
    why = "Not known: the gauge has not moved for 5 days although it rained."
    make_forecast(gauge, np.full((20, 120), np.nan), says=(why, "Look.", "Look."))

    now = desk.get(page_of(gauge)).context["now"]

    assert now.sentence == (
        "What the river will do is not known: the gauge has not moved for 5 days although it "
        "rained."
    )
    assert "has not moved" not in now.detail
    assert now.detail.count("Look.") == 1


def test_a_record_that_ended_long_ago_is_old_and_not_empty(desk, gauge):
    factories.make_readings(gauge, Quantity.LEVEL, [(NOW - timedelta(days=40), 0.55)])

    now = desk.get(page_of(gauge)).context["now"]

    assert now.sentence == "What the river is doing is not known: the newest level is 40 days old."
    assert "Last on file: 0.55 m, Wednesday 16 September, 10:00." in now.detail


def test_a_days_mean_is_as_old_as_the_end_of_its_day(desk, gauge):
    Gauge.objects.update(step_minutes=1440)
    days = [(datetime(2026, 10, day, tzinfo=UTC), 0.5) for day in range(20, 26)]
    factories.make_readings(gauge, Quantity.LEVEL, days)

    answer = desk.get(page_of(gauge))

    assert answer.context["now"].age == "9 h"
    words = answer.content.decode()
    assert "0.50 m, mean of Sunday 25 October." in words
    assert "Each point is the mean of a day." in words
    assert '<th scope="row">Sun 25 Oct</th>' in words


def test_the_waters_temperature_is_told_as_modelled(desk, gauge):
    factories.make_readings(gauge, Quantity.LEVEL, [(NOW, 0.5)])
    times = tuple(NOW + timedelta(hours=k + 1) for k in range(120))
    water = WaterAhead(
        model="by hand", times=times, q10=(7.0,) * 120, q50=(8.0,) * 120, q90=(9.5,) * 120
    )
    make_forecast(gauge, np.full((20, 120), 0.5), water=water)

    words = desk.get(page_of(gauge)).content.decode()

    assert "Water: most likely 8.0 degrees C (four times in five 7.0 to 9.5)" in words
    assert "Modelled, not measured (by hand)." in words


def test_the_page_asks_a_fixed_number_of_questions(desk, foreseen, django_assert_num_queries):
    with django_assert_num_queries(PAGE_QUERIES):
        desk.get(page_of(foreseen))
    water = foreseen.beat_links.first().beat.water
    for number in range(4):
        beat = factories.make_beat(name=f"Lower {number}", water=water)
        BeatGauge.objects.create(beat=beat, gauge=foreseen)
        Mark.objects.create(gauge=foreseen, beat=beat, kind="good", level_m=0.42)
        PartHours.objects.create(
            water=water, part=Part.values[number], starts=time(6 + number), ends=time(7 + number)
        )
        make_forecast(foreseen, np.full((20, 120), 0.5), at=NOW - timedelta(hours=number + 1))
    with django_assert_num_queries(PAGE_QUERIES):
        desk.get(page_of(foreseen))


def test_the_page_is_light_though_both_pictures_are_in_it(desk, foreseen):
    answer = desk.get(page_of(foreseen))

    assert len(answer.content) < 60_000  # the style and two weights of the family are 40 kB more
