"""Rain in parts of an hour becomes rain of whole hours."""

from datetime import UTC, datetime, timedelta

import pytest

from guiding.feeds.rain_totals import hourly

NINE = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
QUARTER = timedelta(minutes=15)


def told(*values, first=NINE):
    return [(first + QUARTER * k, value) for k, value in enumerate(values)]


def totals(rain, **changes):
    return hourly(rain, **{"step_minutes": 15, "is_stamped_at_end": False, **changes})


def test_four_quarters_make_an_hour_named_by_its_beginning():
    assert totals(told(0.2, 0.4, 0.0, 1.0)) == [(NINE, 1.6)]
    ends = told(0.2, 0.4, 0.0, 1.0, first=NINE + QUARTER)
    assert totals(ends, is_stamped_at_end=True) == [(NINE, 1.6)]


def test_an_hour_with_a_part_missing_is_no_total():
    rain = told(0.2, 0.4, 0.0, 1.0, 0.0, 0.2, 0.2)

    assert totals(rain) == [(NINE, 1.6)]
    assert totals([*rain[:2], *rain[3:]]) == []


def test_a_part_told_twice_counts_once_and_two_values_for_it_are_not_believed():
    rain = told(0.2, 0.4, 0.0, 1.0)

    assert totals([*rain, rain[1]]) == [(NINE, 1.6)]
    assert totals([*rain, (rain[1][0], 9.0)]) == []


def test_whole_hours_stay_what_they_are():
    hours = [(NINE + timedelta(hours=k), float(k)) for k in range(3)]

    assert totals(hours, step_minutes=60) == hours
    moved = totals(hours, step_minutes=60, is_stamped_at_end=True)
    assert [moment for moment, _ in moved] == [m - timedelta(hours=1) for m, _ in hours]


def test_a_value_off_its_quarter_is_no_part():
    rain = [*told(0.2, 0.4, 0.0), (NINE + timedelta(minutes=46), 1.0)]

    assert totals(rain) == []


@pytest.mark.parametrize("step", [0, 7, 45, 90])
def test_parts_that_do_not_divide_an_hour_are_refused(step):
    with pytest.raises(ValueError, match="must divide an hour"):
        hourly([], step_minutes=step, is_stamped_at_end=True)
