from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from guiding.gauges.rain_ahead import air_ahead_c, air_on_steps, rain_on_steps, shared_out_from
from guiding.gauges.steps import Steps, days_begin

LONDON = ZoneInfo("Europe/London")
TORONTO = ZoneInfo("America/Toronto")
HOURLY = Steps(step_minutes=60, zone=LONDON)
NINE = datetime(2026, 5, 20, 9, tzinfo=UTC)


def hour(k):
    return NINE + timedelta(hours=k)


def run_step(begins, ends, rain_mm, air_c=None):
    return {
        "starts_at": hour(begins).isoformat(),
        "ends_at": hour(ends).isoformat(),
        "rain_mm": rain_mm,
        "air_c": air_c,
    }


def test_an_hour_goes_there_and_back():
    assert HOURLY.moment(HOURLY.of(NINE)) == NINE
    assert HOURLY.of(NINE + timedelta(minutes=20)) == HOURLY.of(NINE)
    assert HOURLY.of(NINE + timedelta(minutes=40)) == HOURLY.of(NINE) + 1


@pytest.mark.parametrize("day", ["2026-03-28", "2026-03-29", "2026-10-25", "2026-10-26"])
def test_days_begin_at_local_midnight_when_the_clocks_change_too(day):
    daily = Steps(step_minutes=1440, zone=LONDON)
    midnight = datetime.fromisoformat(day).replace(tzinfo=LONDON).astimezone(UTC)

    assert daily.moment(daily.of(midnight)) == midnight
    assert daily.begun(midnight - timedelta(minutes=1)) == daily.of(midnight) - 1


def test_a_daily_record_kept_in_utc_has_one_step_a_day_through_the_year():
    days = [datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=k) for k in range(365)]
    for zone in (LONDON, TORONTO):
        daily = Steps(step_minutes=1440, zone=zone, day_begins=days_begin(days, zone))

        assert set(np.diff([daily.of(day) for day in days])) == {1}


def test_the_clock_time_most_days_begin_at_is_found():
    days = [datetime(2026, 1, 1 + k, tzinfo=UTC) for k in range(20)]

    assert days_begin(days, TORONTO) == time(19)
    assert days_begin([], TORONTO) == time(0)


def test_of_two_readings_in_a_step_the_nearest_to_its_moment_is_taken_and_gaps_stay():
    first = HOURLY.of(NINE)
    readings = [(hour(0), 0.5), (hour(0.3), 0.9), (hour(2), 0.7)]

    laid = HOURLY.laid_out(readings, first, first + 2)

    np.testing.assert_array_equal(laid, [0.5, np.nan, 0.7])


def test_the_season_runs_from_nought_to_one():
    new_year = HOURLY.of(datetime(2027, 1, 1, tzinfo=UTC))

    share = HOURLY.year_share(new_year, 24 * 364)

    assert share.min() >= 0
    assert share.max() < 1
    daily = Steps(step_minutes=1440, zone=LONDON)
    same = daily.year_share(daily.of(datetime(2026, 7, 1, 12, tzinfo=UTC)), 1)
    assert same[0] == pytest.approx(0.496, abs=0.005)


def test_a_long_step_is_shared_out_and_a_missing_one_stays_missing():
    edges = [(hour(k), hour(k + 1)) for k in range(6)]
    steps = [run_step(0, 1, 0.0), run_step(1, 2, None), run_step(2, 5, 6.0)]

    rain = rain_on_steps(steps, edges, since=NINE)

    np.testing.assert_allclose(rain, [0.0, np.nan, 2.0, 2.0, 2.0, np.nan])


def test_rain_is_not_counted_twice_where_steps_overlap():
    edges = [(hour(0), hour(6))]
    steps = [run_step(k, k + 1, 1.0) for k in range(6)] + [run_step(0, 6, 6.0)]

    assert rain_on_steps(steps, edges, since=NINE).tolist() == [6.0]


def test_of_a_day_that_has_begun_only_the_rest_is_asked_for():
    edges = [(hour(-9), hour(15))]

    assert rain_on_steps([run_step(0, 15, 3.0)], edges, since=NINE).tolist() == [3.0]
    assert np.isnan(rain_on_steps([run_step(2, 15, 3.0)], edges, since=NINE)).all()


def test_the_air_ahead_is_the_mean_of_what_the_run_carries():
    steps = [run_step(0, 1, 0, air_c=-8.0), run_step(1, 2, 0, air_c=-4.0), run_step(60, 61, 0, 9.0)]

    assert air_ahead_c(steps, since=NINE) == -6.0
    assert air_ahead_c([run_step(0, 1, 0)], since=NINE) is None


# --- rain is summed, what is missing of it stays missing ------------------------------------------

DAILY = Steps(step_minutes=1440, zone=LONDON)


def quarters(begin, values):
    return [(begin + timedelta(minutes=15 * k), v) for k, v in enumerate(values) if v is not None]


def test_rain_of_quarter_hours_is_summed_to_the_hours_it_fell_in():
    first = HOURLY.of(NINE)
    readings = quarters(NINE, [0.2, 0.0, 0.4, 0.2, 1.0, 1.0, 0.0, 0.0])

    np.testing.assert_allclose(HOURLY.summed(readings, first, first + 2), [0.8, 2.0, np.nan])


def test_an_hour_of_which_a_quarter_is_missing_is_not_known():
    first = HOURLY.of(NINE)
    readings = quarters(NINE, [0.2, None, 0.4, 0.2, 1.0, 1.0, 0.0, 0.0, 0.5, 0.5, 0.5, 0.5])

    np.testing.assert_allclose(HOURLY.summed(readings, first, first + 2), [np.nan, 2.0, 2.0])


def test_hourly_rain_is_taken_as_it_comes_and_a_lone_value_stands_for_its_hour():
    first = HOURLY.of(NINE)

    summed = HOURLY.summed([(hour(0), 1.5), (hour(2), 0.5)], first, first + 2)

    np.testing.assert_allclose(summed, [1.5, np.nan, 0.5])
    np.testing.assert_allclose(HOURLY.summed([(hour(1), 3.0)], first, first + 1), [np.nan, 3.0])
    assert np.isnan(HOURLY.summed([], first, first + 1)).all()


def test_a_record_that_grew_finer_is_summed_by_what_was_usual_at_the_time():
    first = HOURLY.of(NINE)
    days = 80
    coarse = [(hour(k), 1.0) for k in range(24 * 40)]
    fine = quarters(hour(24 * 40), [0.25] * (4 * 24 * 40))

    summed = HOURLY.summed([*coarse, *fine], first, first + 24 * days - 1)

    # all but the month in which it changed, where one kind of hour is not known to be whole
    assert np.isfinite(summed).mean() > 0.6
    np.testing.assert_allclose(summed[np.isfinite(summed)], 1.0)


@pytest.mark.parametrize(("day", "hours"), [("2026-03-29", 23), ("2026-10-25", 25)])
def test_a_day_of_hourly_rain_is_whole_with_all_its_hours_when_the_clocks_change(day, hours):
    midnight = datetime.fromisoformat(day).replace(tzinfo=LONDON).astimezone(UTC)
    readings = [(midnight + timedelta(hours=k - 240), 1.0) for k in range(240 + hours + 24)]
    first = DAILY.of(midnight)

    whole = DAILY.summed(readings, first, first + 1)
    short = DAILY.summed([r for r in readings if r[0] != midnight], first, first + 1)

    np.testing.assert_allclose(whole, [hours, 24.0])
    np.testing.assert_allclose(short, [np.nan, 24.0])


def test_daily_rain_belongs_to_its_day_through_the_year():
    begins = [datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=k) for k in range(365)]
    daily = Steps(step_minutes=1440, zone=LONDON, day_begins=days_begin(begins, LONDON))
    first = daily.of(begins[0])
    amounts = np.arange(365.0)

    summed = daily.summed(zip(begins, amounts, strict=True), first, first + 364)

    np.testing.assert_array_equal(summed, amounts)


def test_air_is_the_mean_of_its_step_where_half_of_it_is_on_file():
    midnight = datetime(2026, 5, 20, tzinfo=LONDON).astimezone(UTC)
    readings = [(midnight + timedelta(hours=k), float(k)) for k in range(24 + 8)]
    first = DAILY.of(midnight)

    np.testing.assert_allclose(DAILY.averaged(readings, first, first + 1), [11.5, np.nan])


# --- what a run says of air, and how long its totals are ------------------------------------------


def test_the_air_of_a_step_is_the_mean_of_what_the_run_says_over_it():
    steps = [run_step(0, 1, 0, 10.0), run_step(1, 2, 0, 12.0), run_step(2, 8, 6.0, 20.0)]
    edges = [(hour(0), hour(1)), (hour(1), hour(3)), (hour(7), hour(9)), (hour(8), hour(9))]

    np.testing.assert_allclose(air_on_steps(steps, edges), [10.0, 16.0, 20.0, np.nan])


def test_totals_of_six_hours_are_told_from_those_of_one():
    steps = [run_step(0, 1, 0.1), run_step(1, 7, None), run_step(7, 13, 2.0), run_step(13, 19, 1.0)]

    assert shared_out_from(steps, step_minutes=60) == (hour(7), 6.0)
    assert shared_out_from(steps, step_minutes=1440) is None
    assert shared_out_from(steps[:1], step_minutes=60) is None
