import numpy as np
import pytest

from guiding.gauges.conditions.rise import has_unseen_jump, read_rise
from guiding.gauges.conditions.values import Kind
from tests.gauges.drawn import DAY, HOUR, NOW, hourly, hours, measured, record

FLAT = measured(hourly(lambda h: 0.40, 3))


def test_a_steady_forecast_climb_is_its_rate():
    rise = read_rise(FLAT, record([0.4 + 0.06 * i for i in range(24)]), hours(10))

    assert rise.kind is Kind.FORECAST
    assert rise.value == pytest.approx(6.0)
    assert rise.unit == "cm/h"


def test_a_falling_river_has_a_rise_below_nought():
    falling = measured(hourly(lambda h: 1.0 - 0.01 * h, 3))

    rise = read_rise(falling, record([1.0 - 0.01 * i for i in range(24)]), hours(2))

    assert rise.value == pytest.approx(-1.0)


def test_the_fastest_tenth_of_the_paths_is_the_value():
    ahead = record([0.4] * 24)
    paths = np.full((10, 24), 0.4)
    paths[:2, 12:] += 0.07  # two of ten paths rise 7 cm in one of the hours
    ahead = type(ahead)(**{f: getattr(ahead, f) for f in ahead.__slots__} | {"paths": paths})

    rise = read_rise(FLAT, ahead, hours(10))

    assert rise.value == pytest.approx(7.0)
    assert rise.low == pytest.approx(0.0)


def test_without_paths_the_upper_quantile_speaks():
    ahead = record([0.4 + 0.02 * i for i in range(24)], with_paths=False)

    assert read_rise(FLAT, ahead, hours(10)).value == pytest.approx(2.0)


def test_a_rise_just_measured_counts_for_hours_that_begin_within_a_day():
    climbing = measured(hourly(lambda h: 0.4 if h < -1 else 0.5, 3))
    ahead = record([0.5] * 60)

    assert read_rise(climbing, ahead, hours(10)).value == pytest.approx(10.0)
    assert read_rise(climbing, ahead, hours(30)).value == pytest.approx(0.0)


def test_hours_that_have_begun_without_a_forecast_show_the_measured_rise():
    climbing = measured(hourly(lambda h: 0.5 + 0.03 * h, 3))

    rise = read_rise(climbing, None, hours(-1))

    assert (rise.kind, rise.value) == (Kind.OBSERVED, pytest.approx(3.0))


def test_hours_to_come_without_a_forecast_have_no_rise():
    assert read_rise(FLAT, None, hours(2)).kind is Kind.NOT_KNOWN
    assert read_rise(FLAT, record([0.4] * 3), hours(2)).kind is Kind.NOT_KNOWN


def test_a_stale_gauge_shows_no_measured_rise():
    stale = measured(hourly(lambda h: 0.4, 3, until=NOW - 5 * HOUR))

    assert read_rise(stale, None, hours(-1)).kind is Kind.NOT_KNOWN


def test_hours_that_are_over_show_the_fastest_hour_measured_in_them():
    jumpy = measured(hourly(lambda h: 0.4 + (0.08 if h >= -22 else 0), 3))

    assert read_rise(jumpy, None, hours(-24)).value == pytest.approx(8.0)


def test_shorter_steps_are_measured_an_hour_apart():
    samples = [(NOW - i * HOUR / 4, 0.5 + (0.01 if i % 2 else 0)) for i in range(40, -1, -1)]
    grainy = measured(samples, step_hours=0.25)

    assert read_rise(grainy, None, hours(-1)).value == pytest.approx(0.0)


def test_a_daily_record_does_not_call_a_rising_day_slow():
    daily = measured([(NOW - (5 - i) * DAY, 0.4) for i in range(6)], step_hours=24)
    slow = record([0.4 + 0.2 * i for i in range(5)], step_minutes=1440)
    fast = record([0.4 + 1.5 * i for i in range(5)], step_minutes=1440)
    falling = record([0.4 - 0.02 * i for i in range(5)], step_minutes=1440)

    assert read_rise(daily, slow, hours(54)).kind is Kind.NOT_KNOWN
    assert read_rise(daily, fast, hours(54)).value == pytest.approx(6.25)
    assert read_rise(daily, falling, hours(54)).value < 0


@pytest.mark.parametrize("to", [0.75, 0.05])
def test_a_jump_between_two_readings_is_flagged_upwards_and_downwards(to):
    jumped = measured(hourly(lambda h: 0.4 if h < -5 else to, 3))

    assert has_unseen_jump(jumped, hours(10))


def test_a_jump_of_thirty_centimetres_is_not_over_thirty():
    assert not has_unseen_jump(measured(hourly(lambda h: 0.4 if h < -5 else 0.7, 3)), hours(10))


def test_a_jump_of_yesterday_is_past():
    jumped = measured(hourly(lambda h: 0.4 if h < -25 else 0.9, 3))

    assert not has_unseen_jump(jumped, hours(10))


def test_a_reading_under_suspicion_is_flagged_until_somebody_looked():
    suspect = [NOW - 4 * HOUR]
    samples = FLAT.samples

    assert has_unseen_jump(measured(samples, suspect_at=tuple(suspect)), hours(10))
    looked = measured(samples, suspect_at=tuple(suspect), typed_at=frozenset([NOW - 2 * HOUR]))
    assert not has_unseen_jump(looked, hours(10))


def test_an_empty_record_has_no_jump():
    assert not has_unseen_jump(measured([]), hours(10))
