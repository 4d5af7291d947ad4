from datetime import timedelta

import pytest

from guiding.gauges.conditions.measured import fresh_hours, nearest
from tests.gauges.drawn import DAY, HOUR, NOW, measured


@pytest.mark.parametrize(("step_hours", "allowed"), [(0.25, 1.0), (1.0, 2.0), (24.0, 48.0)])
def test_a_value_speaks_for_an_hour_or_two_steps(step_hours, allowed):
    assert fresh_hours(step_hours) == allowed


@pytest.mark.parametrize(("age", "is_fresh"), [(0, True), (2, True), (2.01, False), (200, False)])
def test_age_counts_from_the_moment_of_the_reading(age, is_fresh):
    series = measured([(NOW - age * HOUR, 0.4)])

    assert series.is_fresh(NOW) is is_fresh


def test_a_temperature_that_somebody_typed_in_speaks_for_half_a_day():
    seen_at = NOW - 11 * HOUR
    typed = measured([(seen_at, 12.0)], typed_at=frozenset([seen_at]))
    logged = measured([(seen_at, 12.0)])

    assert typed.is_fresh(NOW, is_slow=True)
    assert not typed.is_fresh(NOW)
    assert not logged.is_fresh(NOW, is_slow=True)


def test_a_series_without_a_reading_is_never_fresh_and_has_no_age():
    empty = measured([])

    assert not empty.is_fresh(NOW)
    assert empty.age_hours(NOW) is None
    assert empty.mean_during(NOW - DAY, NOW) is None


def test_a_daily_value_stands_for_the_day_it_begins():
    midnight = NOW.replace(hour=0)
    series = measured(
        [(midnight - DAY, 0.3), (midnight, 0.5), (midnight + DAY, 0.7)], step_hours=24
    )

    assert series.during(midnight + 9 * HOUR, midnight + 13 * HOUR) == ((midnight, 0.5),)
    assert series.mean_during(midnight - 2 * HOUR, midnight + 2 * HOUR) == pytest.approx(0.4)


def test_the_mean_of_a_day_is_known_when_the_day_is_over():
    midnight = NOW.replace(hour=0)
    series = measured([(midnight - DAY, 0.3), (midnight, 0.5)], step_hours=24)

    assert series.known_at(NOW).samples == ((midnight - DAY, 0.3),)
    assert series.known_at(midnight + DAY).samples == series.samples


def test_a_level_typed_in_on_a_daily_record_is_known_at_once():
    series = measured([(NOW, 0.4)], step_hours=24, typed_at=frozenset([NOW]))

    assert series.known_at(NOW).samples == ((NOW, 0.4),)


def test_the_nearest_sample_is_taken_only_where_it_is_near():
    samples = [(NOW, 1.0), (NOW + 3 * HOUR, 2.0)]

    assert nearest(samples, NOW + HOUR, timedelta(hours=1)) == 1.0
    assert nearest(samples, NOW + 2 * HOUR, timedelta(hours=1)) == 2.0
    assert nearest(samples, NOW + 9 * HOUR, timedelta(hours=1)) is None
    assert nearest([], NOW, timedelta(hours=1)) is None
