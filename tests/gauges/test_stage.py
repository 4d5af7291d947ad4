import pytest

from guiding.gauges.conditions.measured import Measured
from guiding.gauges.conditions.stage import (
    joined,
    read_chances,
    read_class,
    read_class_now,
    read_level,
)
from guiding.gauges.conditions.values import Condition, Kind
from tests.gauges.drawn import DAY, HOUR, MARKS, NOW, hourly, hours, measured, record

FLAT = measured(hourly(lambda h: 0.40, 3))


def test_hours_to_come_take_the_median_of_their_middle_and_the_whole_band():
    falling = record([1.0 - 0.01 * i for i in range(24)], spread_m=0.05)

    level = read_level(FLAT, falling, hours(10))  # steps 9 to 13: 0.91 to 0.87

    assert level.kind is Kind.FORECAST
    assert level.value == pytest.approx(0.89)
    assert level.low == pytest.approx(0.87 - 0.04)  # eleven paths: q10 is 0.04 under the median
    assert level.high == pytest.approx(0.91 + 0.04)
    assert (level.at, level.age_hours) == (NOW, 0.0)
    assert level.source == "river forecast, drawn"


def test_hours_beyond_the_forecast_are_not_known_and_not_the_last_reading():
    level = read_level(FLAT, record([0.4] * 24), hours(22))

    assert level.kind is Kind.NOT_KNOWN
    assert (level.value, level.low, level.high) == (None, None, None)
    assert level.source == "no forecast reaches these hours"


def test_one_step_that_the_forecast_does_not_know_leaves_the_hours_unknown():
    holed = record([0.4] * 12 + [None] + [0.4] * 11)

    assert read_level(FLAT, holed, hours(10)).kind is Kind.NOT_KNOWN
    assert read_level(FLAT, holed, hours(14)).kind is Kind.FORECAST


def test_hours_that_have_begun_show_the_fresh_reading_with_the_band_of_the_rest():
    level = read_level(FLAT, record([0.6] * 24, spread_m=0.1), hours(-1))

    assert level.kind is Kind.OBSERVED
    assert (level.value, level.at, level.age_hours) == (0.40, NOW, 0.0)
    assert level.low == 0.40
    assert level.high == pytest.approx(0.68)


def test_hours_that_have_begun_without_a_fresh_reading_fall_back_to_the_forecast():
    stale = measured(hourly(lambda h: 0.4, 3, until=NOW - 3 * HOUR))
    issued = record([0.5] * 24, issued_at=NOW - 3 * HOUR)

    level = read_level(stale, issued, hours(-1))

    assert level.kind is Kind.FORECAST
    assert level.age_hours == 3.0
    assert read_level(stale, None, hours(-1)).kind is Kind.NOT_KNOWN


def test_hours_that_are_over_show_what_was_measured_in_them():
    rising = measured(hourly(lambda h: 1.0 + 0.01 * h, 3))

    level = read_level(rising, None, hours(-24))

    assert level.kind is Kind.OBSERVED
    assert level.value == pytest.approx(1.0 - 0.22)
    assert (level.low, level.high) == (pytest.approx(0.76), pytest.approx(0.80))


def test_the_mean_of_yesterday_gives_way_to_the_forecast_of_today():
    midnight = NOW.replace(hour=0)
    daily = measured([(midnight - DAY, 0.4)], step_hours=24)
    ahead = record([0.7] * 5, issued_at=midnight - DAY, step_minutes=1440)

    level = read_level(daily, ahead, hours(-1))

    assert (level.kind, level.value) == (Kind.FORECAST, pytest.approx(0.7))
    assert read_level(daily, None, hours(-1)).value == 0.4


@pytest.mark.parametrize(
    ("level_m", "name"),
    [
        (0.29, "low"),
        (0.3, "summer"),
        (0.3999, "summer"),
        (0.4, "good"),
        (1.1, "big"),
        (2.39, "big"),
        (2.4, "over_bank"),
        (19.0, "over_bank"),
        (-1.0, "low"),
    ],
)
def test_the_marks_cut_every_level_into_a_class(level_m, name):
    level = Condition(what="level", value=level_m, kind=Kind.OBSERVED, at=NOW, age_hours=0.0)

    read = read_class(level, MARKS)

    assert (read.value, read.kind, read.at) == (name, Kind.OBSERVED, NOW)


def test_without_marks_or_without_a_level_the_class_is_not_known():
    level = Condition(what="level", value=0.4, kind=Kind.OBSERVED)

    assert read_class(level, ()).kind is Kind.NOT_KNOWN
    assert read_class(Condition(what="level"), MARKS).kind is Kind.NOT_KNOWN


def test_the_chances_of_the_classes_come_from_the_paths_and_sum_to_one():
    ahead = record([0.40] * 24, spread_m=0.05)  # eleven paths from 0.35 to 0.45
    level = read_level(FLAT, ahead, hours(10))

    chances = dict(read_chances(level, FLAT, ahead, MARKS, hours(10)))

    assert sum(chances.values()) == pytest.approx(1)
    assert chances["good"] == pytest.approx(6 / 11)
    assert chances["summer"] == pytest.approx(5 / 11)


def test_a_given_level_is_taken_at_its_word_and_an_unknown_one_has_no_chances():
    given = Condition(what="level", value=1.2, kind=Kind.GIVEN)
    ahead = record([0.40] * 24)

    assert dict(read_chances(given, FLAT, ahead, MARKS, hours(10)))["big"] == 1.0
    assert read_chances(Condition(what="level"), FLAT, ahead, MARKS, hours(10)) == ()
    assert read_chances(given, FLAT, ahead, (), hours(10)) == ()


def test_the_chances_of_hours_that_are_over_are_shares_of_what_was_measured():
    falling = measured(hourly(lambda h: 0.3995 - 0.001 * (h + 24), 3))
    level = read_level(falling, None, hours(-26))

    chances = dict(read_chances(level, falling, None, MARKS, hours(-26)))

    assert chances["good"] == pytest.approx(2 / 5)
    assert chances["summer"] == pytest.approx(3 / 5)


def test_the_joined_run_goes_from_the_measured_to_the_medians_without_a_repeat():
    ahead = record([0.5, 0.6, None, 0.7], issued_at=NOW - HOUR)

    run = joined(FLAT, ahead, NOW)

    assert [moment for moment, _ in run] == sorted({moment for moment, _ in run})
    assert run[-2:] == [(NOW, 0.40), (NOW + HOUR, 0.6)]


@pytest.mark.parametrize(("hours_old", "name"), [(0, "big"), (47, "big"), (49, None)])
def test_the_class_now_is_that_of_the_newest_level_while_it_is_not_old(hours_old, name):
    levels = Measured(samples=((NOW - hours_old * HOUR, 1.5),))

    now = read_class_now(levels, MARKS, NOW)

    assert now.value == name
    assert now.age_hours == (None if name is None else hours_old)


def test_without_a_level_or_a_mark_there_is_no_class_now():
    assert read_class_now(Measured(), MARKS, NOW).value is None
    assert read_class_now(Measured(samples=((NOW, 1.5),)), (), NOW).value is None
