"""The river's clock on the days on which it changes, and the words for it."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.regimes.riverclock import (
    clock_words,
    five_minutes_down,
    five_minutes_up,
    readings_of,
    span_of,
)
from tests.regimes.schedules import LONDON

AUTUMN, SPRING = date(2026, 10, 25), date(2026, 3, 29)  # the last Sundays of October and March
MOMENTS = st.datetimes(
    min_value=datetime(2026, 1, 1),  # noqa: DTZ001
    max_value=datetime(2027, 1, 1),  # noqa: DTZ001
    timezones=st.just(UTC),
)


def utc(day, hour, minute=0):
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)


def test_a_clock_time_of_the_repeated_hour_has_both_its_readings():
    # 01:30 in summer time is 00:30 UTC, and again 01:30 UTC an hour later
    assert readings_of(AUTUMN, time(1, 30), LONDON) == (utc(AUTUMN, 0, 30), utc(AUTUMN, 1, 30))


def test_a_clock_time_that_the_clocks_skip_has_both_its_readings_too():
    assert readings_of(SPRING, time(1, 30), LONDON) == (utc(SPRING, 0, 30), utc(SPRING, 1, 30))


def test_any_other_clock_time_has_one_reading():
    assert readings_of(AUTUMN, time(12, 0), LONDON) == (utc(AUTUMN, 12), utc(AUTUMN, 12))


def test_a_span_takes_the_wider_of_all_readings():
    starts_at, ends_at = span_of(AUTUMN, time(1, 15), time(1, 45), LONDON)

    assert (starts_at, ends_at) == (utc(AUTUMN, 0, 15), utc(AUTUMN, 1, 45))


def test_a_span_that_ends_at_or_before_its_start_ends_on_the_next_day():
    starts_at, ends_at = span_of(date(2026, 6, 1), time(22, 0), time(2, 0), LONDON)

    assert ends_at - starts_at == timedelta(hours=4)
    assert ends_at == utc(date(2026, 6, 2), 1)


@pytest.mark.parametrize(
    ("moment", "said"),
    [
        (utc(AUTUMN, 0, 30), "01:30 (before the clocks go back)"),
        (utc(AUTUMN, 1, 30), "01:30 (after the clocks go back)"),
        (utc(AUTUMN, 9, 5), "09:05"),
        (utc(date(2026, 10, 26), 9, 5), "09:05 on Monday"),
        (utc(SPRING, 1, 30), "02:30"),
    ],
)
def test_a_moment_is_said_so_that_it_can_be_read_one_way_only(moment, said):
    assert clock_words(moment, LONDON, AUTUMN if moment.month == 10 else SPRING) == said


@given(MOMENTS, st.sampled_from(["Europe/London", "America/St_Johns", "Asia/Kathmandu"]))
def test_five_minutes_are_full_ones_of_the_clock_on_the_careful_side(moment, zone):
    down, up = five_minutes_down(moment), five_minutes_up(moment)

    assert down <= moment <= up
    assert moment - down < timedelta(minutes=5) > up - moment
    for at in (down, up):
        here = at.astimezone(ZoneInfo(zone))
        assert (here.minute % 5, here.second, here.microsecond) == (0, 0, 0)
