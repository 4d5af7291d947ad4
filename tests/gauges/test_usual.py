from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from guiding.gauges.usual import daily_means, usual_level, usual_of
from tests.factories import make_gauge, make_readings

LONDON = ZoneInfo("Europe/London")


def days_from(first, levels):
    return {first + timedelta(days=k): level for k, level in enumerate(levels)}


def test_the_band_is_of_the_days_around_the_date_in_earlier_years():
    # fifteen days from 13 to 27 May, 0.30 to 0.44 m in 2024 and 0.50 to 0.64 m in 2025
    means = {
        **days_from(date(2024, 5, 13), [0.30 + k / 100 for k in range(15)]),
        **days_from(date(2025, 5, 13), [0.50 + k / 100 for k in range(15)]),
        **days_from(date(2026, 5, 13), [9.0] * 7),
    }

    usual = usual_of(means, date(2026, 5, 20))

    assert (usual.years, usual.days) == (2, 30)
    # by hand: 10 % of 29 gaps is the 2.9th of the sorted 30, between 0.32 and 0.33
    assert (usual.q10, usual.q50, usual.q90) == (0.329, 0.470, 0.611)
    assert usual.words == (
        "Around this date, in the two years on file, the river stood between 0.33 and 0.61 m on "
        "four days in five (30 days)."
    )


def test_the_window_runs_over_the_new_year():
    means = days_from(date(2024, 12, 26), [0.5] * 15)

    assert usual_of(means, date(2026, 1, 2)).days == 15


def test_a_leap_day_is_looked_up_on_the_day_before_in_other_years():
    means = days_from(date(2027, 2, 21), [0.5] * 15)

    assert usual_of(means, date(2028, 2, 29)).days == 15


def test_a_year_with_half_its_window_missing_does_not_count():
    means = days_from(date(2025, 5, 13), [0.5] * 7)

    assert usual_of(means, date(2026, 5, 20)) is None


def test_a_day_of_few_hours_has_no_mean():
    midnight = datetime(2026, 5, 20, tzinfo=LONDON)
    hours = [(midnight + timedelta(hours=k), 0.5) for k in range(19)]

    assert daily_means(hours, LONDON, is_daily=False) == {}
    assert daily_means(hours[:1], LONDON, is_daily=True) == {date(2026, 5, 20): 0.5}


def test_a_window_of_less_than_nothing_is_refused():
    with pytest.raises(ValueError, match="half_window_days is -1; it is 0 or more"):
        usual_of({}, date(2026, 5, 20), half_window_days=-1)


@pytest.mark.django_db
def test_less_than_a_year_on_file_is_not_a_usual_level(moment):
    gauge = make_gauge(step_minutes=1440)
    begins = datetime(2025, 5, 1, tzinfo=UTC)
    make_readings(gauge, "level_m", [(begins + timedelta(days=k), 0.4) for k in range(360)])

    assert usual_level(gauge, date(2026, 5, 10), at=moment) is None

    make_readings(gauge, "level_m", [(begins + timedelta(days=k), 0.4) for k in range(360, 380)])
    usual = usual_level(gauge, date(2026, 5, 10), at=moment)
    assert (usual.q50, usual.years, usual.days) == (0.4, 1, 15)
    assert "One year shows little" in usual.words


@pytest.mark.django_db
def test_only_what_was_on_file_then_is_looked_at(moment):
    gauge = make_gauge(step_minutes=1440)
    begins = datetime(2024, 5, 1, tzinfo=UTC)
    make_readings(gauge, "level_m", [(begins + timedelta(days=k), 0.4) for k in range(1200)])

    then = usual_level(gauge, date(2026, 5, 20), at=moment)

    assert then.years == 2
