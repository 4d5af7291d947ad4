"""Rows in, conditions out: the whole way through the database, and what is not there."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from guiding.gauges.conditions.values import Given, Kind
from guiding.gauges.models import Forecast, Mark, Quantity, Reading, WeatherRun
from guiding.gauges.outlook import conditions_for, hours_of, marks_of, outlook_for
from guiding.rivers.models import PartHours
from tests.factories import make_beat, make_gauge, make_readings, make_river, make_water
from tests.gauges.drawn import DAY, HOUR, MARKS, NOW, hourly, record

pytestmark = pytest.mark.django_db

TOMORROW = date(2026, 5, 21)


@pytest.fixture
def beat():
    """Return a beat whose mornings run from 09:00 to 13:00."""
    beat = make_beat()
    PartHours.objects.create(water=beat.water, part="morning", starts=time(9), ends=time(13))
    return beat


def store_weather(gauge, *, issued_at=NOW, **changes):
    """Return a stored run of 48 hourly steps."""
    step = {
        "rain_mm": 0.0,
        "air_c": 12.0,
        "wind_ms": 3.0,
        "wind_from_deg": 200.0,
        "cloud_percent": 90.0,
    }
    return WeatherRun.objects.create(
        gauge=gauge,
        issued_at=issued_at,
        source="drawn weather",
        raw={},
        steps=[
            {
                "starts_at": (issued_at + h * HOUR).isoformat(),
                "ends_at": (issued_at + (h + 1) * HOUR).isoformat(),
                **step,
            }
            for h in range(48)
        ],
        **{"fetched_at": issued_at, **changes},
    )


def store_marks(gauge, beat=None, **levels):
    """Store the drawn marks, or these, for the gauge or for one beat."""
    for kind, level_m in (levels or {mark.kind: mark.level_m for mark in MARKS}).items():
        Mark.objects.create(gauge=gauge, beat=beat, kind=kind, level_m=level_m)


@pytest.fixture
def gauge(beat):
    """Return a gauge with everything on file."""
    gauge = make_gauge(beat, source="our own gauge")
    make_readings(gauge, Quantity.LEVEL, hourly(lambda h: 0.45, 25))
    make_readings(gauge, Quantity.WATER, hourly(lambda h: 11.0, 70))
    make_readings(gauge, Quantity.AIR, hourly(lambda h: 9.0, 5))
    make_readings(gauge, Quantity.VISIBILITY, [(NOW - HOUR, 90.0)])
    store_marks(gauge)
    store_weather(gauge)
    Forecast.from_record(record([0.45] * 120, spread_m=0.005), gauge=gauge).save()
    return gauge


def test_rows_become_conditions_with_their_sources(beat, gauge):
    seen = conditions_for(beat, TOMORROW, "morning", at=NOW)

    assert (seen.starts_at, seen.ends_at) == (
        datetime(2026, 5, 21, 8, tzinfo=UTC),
        datetime(2026, 5, 21, 12, tzinfo=UTC),
    )
    assert (seen.level.value, seen.level.kind) == (pytest.approx(0.45), Kind.FORECAST)
    assert (seen.level_class.value, seen.phase.value) == ("good", "settled")
    assert (seen.water.value, seen.water_two_days_ago.value) == (11.0, 11.0)
    assert (seen.air.value, seen.wind.value, seen.sky.value) == (12.0, 3.0, "cloud")
    assert seen.rain.value == 0.0
    assert seen.says == ()


def test_hours_that_have_begun_show_the_reading_and_whose_gauge_it_is(beat, gauge):
    seen = conditions_for(beat, NOW.date(), "morning", at=NOW)  # from 08:00 UTC

    assert (seen.level.kind, seen.level.at) == (Kind.OBSERVED, NOW)
    assert seen.level.source == "level read at our own gauge"
    assert (seen.air.kind, seen.air.value) == (Kind.OBSERVED, 9.0)
    assert (seen.visibility.kind, seen.visibility.value) == (Kind.OBSERVED, 90.0)


def test_the_outlook_carries_what_it_was_read_from(beat, gauge):
    seen = outlook_for(beat, TOMORROW, "morning", at=NOW)

    assert seen.gauge == gauge
    assert seen.forecast == Forecast.objects.get()
    assert seen.record.times == seen.forecast.as_record().times
    assert seen.levels[-1] == (NOW, 0.45)
    assert seen.levels[0][0] >= NOW - 22 * DAY
    assert [mark.level_m for mark in seen.marks] == [0.30, 0.40, 0.90, 1.10, 2.40]
    assert seen.chance_above(0.40) == 1.0
    assert seen.chance_above(2.0) == 0.0


def test_few_queries_are_asked(beat, gauge, django_assert_max_num_queries):
    fresh = type(beat).objects.get(pk=beat.pk)

    with django_assert_max_num_queries(14):
        outlook_for(fresh, TOMORROW, "morning", at=NOW)


def test_only_what_was_known_at_the_moment_is_looked_at(beat, gauge):
    earlier = NOW - 30 * HOUR

    seen = outlook_for(beat, TOMORROW, "morning", at=earlier)

    assert seen.forecast is None
    assert seen.levels[-1][0] == earlier
    assert seen.conditions.level.kind is Kind.NOT_KNOWN
    assert seen.conditions.air.kind is Kind.NOT_KNOWN
    assert seen.chance_above(0.4) is None


def test_a_run_fetched_later_was_not_known(beat, gauge):
    WeatherRun.objects.all().delete()
    store_weather(gauge, fetched_at=NOW + HOUR)

    assert conditions_for(beat, TOMORROW, "morning", at=NOW).rain.kind is Kind.NOT_KNOWN


def test_a_beat_without_a_gauge_is_not_known_and_says_so(beat):
    seen = outlook_for(beat, TOMORROW, "morning", at=NOW)

    assert (seen.gauge, seen.forecast, seen.record, seen.levels, seen.marks) == (
        None,
        None,
        None,
        (),
        (),
    )
    assert {c.kind for c in seen.conditions.all()} == {Kind.NOT_KNOWN}
    assert "No gauge speaks for this beat: the level is not known." in seen.conditions.says
    assert seen.chance_above(0.4) is None


def test_a_gauge_without_a_reading_a_mark_or_weather_is_not_known(beat):
    make_gauge(beat)

    seen = conditions_for(beat, TOMORROW, "morning", at=NOW)

    assert {c.kind for c in seen.all()} == {Kind.NOT_KNOWN}
    assert "The gauge has no reading: the level is not known." in seen.says
    assert any("No marks are on file" in line for line in seen.says)


def test_given_values_reach_the_conditions_without_a_gauge(beat):
    seen = conditions_for(beat, TOMORROW, "morning", at=NOW, given=Given(level_m=0.5, water_c=9))

    assert (seen.level.value, seen.level.kind, seen.water.value) == (0.5, Kind.GIVEN, 9)
    assert seen.level_class.kind is Kind.NOT_KNOWN


def test_a_beat_below_a_dam_is_not_known(beat, gauge):
    beat.regime = "regulated"

    seen = outlook_for(beat, TOMORROW, "morning", at=NOW)

    assert seen.conditions.level.kind is Kind.NOT_KNOWN
    assert seen.chance_above(0.1) is None


def test_a_beats_own_mark_stands_before_the_gauges(beat, gauge):
    store_marks(gauge, beat, high=0.80)
    store_marks(gauge, make_beat(water=beat.water), good=0.10)

    marks = {mark.kind: mark.level_m for mark in marks_of(gauge, beat)}

    assert marks == {"summer": 0.30, "good": 0.40, "high": 0.80, "big": 1.10, "over_bank": 2.40}


def test_a_suspect_reading_is_left_out_and_flagged(beat, gauge):
    make_readings(
        gauge, Quantity.LEVEL, [(NOW - timedelta(minutes=90), 7.0)], Reading.Quality.SUSPECT
    )

    seen = outlook_for(beat, TOMORROW, "morning", at=NOW)

    assert max(level for _, level in seen.levels) == 0.45
    assert seen.conditions.rise_is_flagged


def test_flow_stands_for_level_through_the_rating(beat):
    gauge = make_gauge(beat, rating_a=10.0, rating_b=2.0, rating_h0_m=0.0, rating_source="ours")
    make_readings(gauge, Quantity.FLOW, hourly(lambda h: 2.5, 5))  # 10 x 0.5^2

    seen = conditions_for(beat, NOW.date(), "morning", at=NOW)

    assert seen.level.value == pytest.approx(0.5)
    assert "rating" in seen.level.source


def test_the_mean_of_a_day_under_way_is_not_known_yet(beat):
    gauge = make_gauge(beat, step_minutes=1440)
    midnight = NOW.replace(hour=0)
    make_readings(gauge, Quantity.LEVEL, [(midnight - d * DAY, 0.4) for d in range(9, -1, -1)])

    seen = outlook_for(beat, NOW.date(), "morning", at=NOW)

    assert seen.levels[-1][0] == midnight - DAY


def test_hours_that_are_over_are_read_from_the_record(beat, gauge):
    seen = conditions_for(beat, date(2026, 5, 10), "morning", at=NOW)

    assert (seen.level.kind, seen.level.value) == (Kind.OBSERVED, 0.45)
    assert (seen.water.kind, seen.phase.value) == (Kind.OBSERVED, "settled")
    assert not any("not known since" in line for line in seen.says)


@pytest.mark.parametrize(
    ("part", "starts", "ends"),
    [
        ("morning", "2026-05-21T08:00", "2026-05-21T12:00"),
        ("afternoon", "2026-05-21T12:00", "2026-05-21T16:00"),
        ("evening", "2026-05-21T17:00", "2026-05-21T21:00"),
        ("night", "2026-05-21T21:00", "2026-05-22T01:00"),
    ],
)
def test_without_hours_on_file_the_usual_ones_are_taken_by_the_rivers_clock(part, starts, ends):
    hours = hours_of(make_water(), TOMORROW, part)

    assert hours == tuple(
        datetime.fromisoformat(text).replace(tzinfo=UTC) for text in (starts, ends)
    )


def test_usual_hours_are_said():
    seen = conditions_for(make_beat(), TOMORROW, "evening", at=NOW)

    assert "No hours are on file for the evening: the usual 18:00 to 22:00 are taken." in seen.says


def test_the_hours_of_the_season_are_taken(beat):
    PartHours.objects.create(
        water=beat.water,
        part="evening",
        first_month_day="10-01",
        last_month_day="03-31",
        starts=time(15),
        ends=time(17),
    )

    winter = hours_of(beat.water, date(2026, 12, 1), "evening")
    summer = hours_of(beat.water, date(2026, 6, 1), "evening")

    assert winter[0] == datetime(2026, 12, 1, 15, tzinfo=UTC)
    assert summer[0] == datetime(2026, 6, 1, 17, tzinfo=UTC)


def test_a_part_that_no_day_has_is_refused(beat):
    with pytest.raises(ValueError, match="part is dawn; a day has morning, afternoon, evening"):
        hours_of(beat.water, TOMORROW, "dawn")


# In London the clocks went forward on 29 March 2026 at 01:00 and go back on 25 October at 02:00.
@pytest.mark.parametrize(
    ("day", "lasts"), [(date(2026, 3, 28), 3), (date(2026, 6, 1), 4), (date(2026, 10, 24), 5)]
)
def test_a_night_over_a_clock_change_lasts_its_real_hours(day, lasts):
    starts_at, ends_at = hours_of(make_water(), day, "night")

    assert ends_at - starts_at == lasts * HOUR


def test_an_end_in_the_repeated_hour_takes_the_later_and_a_start_the_earlier():
    water = make_water(river=make_river(zone="Europe/London"))
    PartHours.objects.create(water=water, part="night", starts=time(22), ends=time(1, 30))
    PartHours.objects.create(water=water, part="morning", starts=time(1, 30), ends=time(9))

    _, night_ends_at = hours_of(water, date(2026, 10, 24), "night")
    morning_starts_at, _ = hours_of(water, date(2026, 10, 25), "morning")

    assert night_ends_at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert morning_starts_at == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
