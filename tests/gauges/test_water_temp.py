import math
from dataclasses import replace

import pytest

from guiding.gauges.conditions.values import Kind
from guiding.gauges.conditions.water_temp import (
    read_water,
    read_water_two_days_ago,
    water_says,
)
from guiding.gauges.hydrology.record import WaterAhead
from tests.gauges.drawn import DAY, HOUR, NOW, hourly, measured, record

TOMORROW = (NOW + DAY, NOW + DAY + 4 * HOUR)


def daily_swing(h):
    """Return 10 degrees at 09:00, two warmer six hours later."""
    return 10 + 2 * math.sin(h / 24 * 2 * math.pi)


def test_a_day_ahead_carries_the_same_hours_forward_as_inferred():
    water = measured(hourly(daily_swing, 40))

    read = read_water(water, *TOMORROW, NOW)

    same_hours = sum(daily_swing(h) for h in range(5)) / 5  # steady: every day the same
    assert read.kind is Kind.INFERRED
    assert read.value == pytest.approx(same_hours, abs=0.01)
    assert (read.low, read.high) == (read.value, read.value)
    assert read.source == "the gauge, carried forward 2 days"
    assert (read.at, read.age_hours) == (NOW, 0.0)


def test_the_spread_is_what_the_gauge_did_over_as_many_days():
    steps = {0: 10.0, 1: 11.0, 2: 12.0, 3: 11.0}  # by one degree a day, up and down
    water = measured(hourly(lambda h: steps[math.floor(h / 24) % 4], 60, until=NOW + 8 * HOUR))

    read = read_water(water, NOW + DAY, NOW + DAY + 4 * HOUR, NOW + 8 * HOUR)

    assert read.source.endswith("1 day")
    assert read.high - read.value == pytest.approx(1.0)
    assert read.value - read.low == pytest.approx(1.0)


def test_a_short_record_carries_a_value_without_a_spread():
    read = read_water(measured(hourly(daily_swing, 4)), *TOMORROW, NOW)

    assert read.kind is Kind.INFERRED
    assert (read.low, read.high) == (None, None)


def test_hours_that_have_begun_show_the_newest_reading():
    read = read_water(measured(hourly(daily_swing, 4)), NOW - HOUR, NOW + 3 * HOUR, NOW)

    assert (read.kind, read.value, read.at) == (Kind.OBSERVED, 10.0, NOW)


def test_hours_that_are_over_show_their_mean():
    read = read_water(measured(hourly(lambda h: 10 + h, 4)), NOW - 8 * HOUR, NOW - 4 * HOUR, NOW)

    assert (read.kind, read.value) == (Kind.OBSERVED, 4.0)


def test_a_stale_reading_is_not_carried():
    stale = measured(hourly(daily_swing, 4, until=NOW - 3 * HOUR))

    read = read_water(stale, *TOMORROW, NOW)

    assert (read.kind, read.source) == (Kind.NOT_KNOWN, "the newest reading is stale")


def test_nothing_is_carried_further_than_five_days():
    water = measured(hourly(daily_swing, 40))

    assert read_water(water, NOW + 4 * DAY, NOW + 4 * DAY + HOUR, NOW).kind is Kind.INFERRED
    assert read_water(water, NOW + 6 * DAY, NOW + 6 * DAY + HOUR, NOW).kind is Kind.NOT_KNOWN


def test_no_water_temperature_on_file_is_not_measured():
    read = read_water(measured([]), *TOMORROW, NOW)

    assert (read.kind, read.source) == (Kind.NOT_KNOWN, "not measured")


def test_one_temperature_typed_in_this_morning_speaks_for_tomorrow():
    seen_at = NOW - 3 * HOUR
    typed = measured([(seen_at, 8.0)], typed_at=frozenset([seen_at]))

    read = read_water(typed, *TOMORROW, NOW)

    assert (read.kind, read.value) == (Kind.INFERRED, 8.0)


def test_yesterdays_daily_mean_is_carried_into_today_and_not_called_observed():
    midnight = NOW.replace(hour=0)
    daily = measured([(midnight - d * DAY, 10.0 + d) for d in range(30, 0, -1)], step_hours=24)

    read = read_water(daily, NOW, NOW + 4 * HOUR, NOW + HOUR)

    assert (read.kind, read.value) == (Kind.INFERRED, 11.0)
    assert (read.low, read.high) == (10.0, 11.0)  # a degree colder every day


def test_two_days_ago_is_the_mean_of_the_same_hours():
    water = measured(hourly(lambda h: 10 + h / 24, 4))

    read = read_water_two_days_ago(water, NOW + DAY, NOW + DAY + 4 * HOUR, NOW)

    assert read.kind is Kind.OBSERVED
    assert read.value == pytest.approx(9 + 2 / 24, abs=0.01)


def test_two_days_before_a_day_far_ahead_is_not_measured_yet():
    water = measured(hourly(daily_swing, 10))

    read = read_water_two_days_ago(water, NOW + 4 * DAY, NOW + 4 * DAY + HOUR, NOW)

    assert read.kind is Kind.NOT_KNOWN


def forecast(*values, step_hours=1, says=(), issued_at=NOW, spread=1.0):
    """Return a river forecast that carries water from an hour (a day) after NOW on."""
    river = record([0.4] * len(values), issued_at=issued_at, step_minutes=60 * step_hours)

    def shifted(by):
        return tuple(None if v is None else v + by for v in values)

    water = WaterAhead(
        model="drawn",
        times=river.times,
        q10=shifted(-spread),
        q50=shifted(0),
        q90=shifted(spread),
        says=says,
    )
    return replace(river, water=water)


def test_hours_to_come_take_the_forecast_with_its_band():
    water = measured(hourly(daily_swing, 10))
    ahead = forecast(*[10 + 0.1 * k for k in range(48)])

    read = read_water(water, *TOMORROW, NOW, ahead)

    # 24 to 28 hours ahead: medians 12.3 to 12.7
    assert (read.kind, read.value) == (Kind.FORECAST, 12.5)
    assert (read.low, read.high) == (pytest.approx(11.3), pytest.approx(13.7))
    assert read.source == "water forecast, drawn"
    assert read.at == NOW


def test_hours_that_have_begun_still_show_the_reading():
    water = measured(hourly(daily_swing, 4))

    read = read_water(water, NOW - HOUR, NOW + 3 * HOUR, NOW, forecast(*[15.0] * 48))

    assert read.kind is Kind.OBSERVED


def test_a_forecast_that_does_not_know_these_hours_leaves_the_carried_value():
    water = measured(hourly(daily_swing, 40))
    ahead = forecast(*[None if k > 20 else 15.0 for k in range(48)])

    read = read_water(water, *TOMORROW, NOW, ahead)

    assert read.source == "the gauge, carried forward 2 days"


def test_a_forecast_speaks_where_the_newest_reading_is_stale():
    stale = measured(hourly(daily_swing, 4, until=NOW - 6 * HOUR))

    assert read_water(stale, *TOMORROW, NOW, forecast(*[9.0] * 48)).kind is Kind.FORECAST


def test_no_water_on_file_is_not_measured_whatever_is_forecast():
    read = read_water(measured([]), *TOMORROW, NOW, forecast(*[9.0] * 48))

    assert (read.kind, read.source) == (Kind.NOT_KNOWN, "not measured")


def test_a_daily_forecast_says_that_it_is_the_mean_of_the_day():
    midnight = NOW.replace(hour=0)
    daily = measured([(midnight - d * DAY, 10.0) for d in range(30, 0, -1)], step_hours=24)
    ahead = forecast(11.0, 12.0, 13.0, step_hours=24, issued_at=midnight)

    read = read_water(daily, *TOMORROW, NOW, ahead)

    assert (read.kind, read.value) == (Kind.FORECAST, 11.0)
    assert read.source == "water forecast, drawn, mean of the day"


def test_what_the_forecast_says_is_said_only_where_it_is_used():
    ahead = forecast(*[9.0] * 48, says=("Made without the air.",))
    water = measured(hourly(daily_swing, 4))

    to_come = read_water(water, *TOMORROW, NOW, ahead)
    now = read_water(water, NOW - HOUR, NOW + 3 * HOUR, NOW, ahead)

    assert water_says(to_come, ahead) == ("Water temperature: Made without the air.",)
    assert water_says(now, ahead) == ()
