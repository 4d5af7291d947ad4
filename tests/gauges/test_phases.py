"""Every phase on a series drawn for it. The numbers behind them are common practice, no source."""

import math
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.phases import read_phase, settled_days
from guiding.gauges.conditions.values import Phase
from tests.gauges.drawn import DAY, HOUR, NOW, hourly


def phase_of(samples, low_below_m=0.3, step=HOUR):
    """Return the phase at NOW."""
    return read_phase(samples, NOW, step, low_below_m).phase


def spate(hours_since_foot, climb_hours=8.0, climb_m=0.8, tail_hours=40.0, base_m=0.4):
    """Return a curve: flat, a straight climb, a long recession; 0 is NOW."""

    def level(h):
        since = h + hours_since_foot
        if since <= 0:
            return base_m
        if since <= climb_hours:
            return base_m + climb_m * since / climb_hours
        return base_m + climb_m * math.exp(-(since - climb_hours) / tail_hours)

    return level


def test_a_river_that_has_not_moved_for_three_days_is_settled():
    assert phase_of(hourly(lambda h: 0.4 - 0.0005 * h, 5)) is Phase.SETTLED


def test_two_centimetres_a_day_is_no_longer_settled():
    samples = hourly(lambda h: 0.4 - 0.021 / 24 * h, 5)

    assert phase_of(samples) is Phase.FINING_DOWN


def test_a_climb_after_three_settled_days_is_a_first_rise():
    assert phase_of(hourly(spate(5), 10)) is Phase.FIRST_RISE


@pytest.mark.parametrize("cm_an_hour", [1, 2, 4, 5])
def test_a_slow_first_rise_is_one_as_well(cm_an_hour):
    samples = hourly(lambda h: 0.4 + cm_an_hour / 100 * max(h + 6, 0), 10)

    assert phase_of(samples) is Phase.FIRST_RISE


def test_a_climb_that_goes_on_for_more_than_twelve_hours_is_rising():
    assert phase_of(hourly(spate(13, climb_hours=20), 10)) is Phase.RISING


def test_a_climb_on_the_tail_of_another_spate_is_rising_and_no_first_rise():
    old, new = spate(60), spate(5, base_m=0.0)

    assert phase_of(hourly(lambda h: old(h) + new(h), 10)) is Phase.RISING


def test_a_climb_whose_days_before_are_not_on_file_is_not_called_the_first():
    samples = [s for s in hourly(spate(5), 10) if not -40 * HOUR < s[0] - NOW < -30 * HOUR]

    assert phase_of(samples) is Phase.RISING


def test_a_river_that_climbs_no_further_is_at_its_peak():
    assert phase_of(hourly(spate(9.5), 10)) is Phase.PEAK


def test_a_river_that_fell_a_tenth_of_its_climb_within_a_day_is_coloured_and_falling():
    read = read_phase(hourly(spate(18), 10), NOW, HOUR, 0.3)

    assert read.phase is Phase.COLOURED_FALLING
    assert read.crest_at == NOW - 10 * HOUR
    assert read.climbed_m == pytest.approx(0.8)


def test_a_river_that_lost_half_of_its_climb_within_a_day_is_fining_down():
    assert phase_of(hourly(spate(28, tail_hours=20), 10)) is Phase.FINING_DOWN


def test_a_day_after_its_crest_a_falling_river_is_fining_down():
    assert phase_of(hourly(spate(34, tail_hours=80), 10)) is Phase.FINING_DOWN


def test_a_low_river_settled_for_more_than_ten_days_is_stale():
    samples = hourly(lambda h: 0.25, 12)

    assert phase_of(samples) is Phase.STALE
    assert phase_of(samples[-10 * 24 :]) is Phase.SETTLED


def test_a_river_above_its_lowest_mark_or_without_marks_is_settled_and_not_stale():
    assert phase_of(hourly(lambda h: 0.35, 12)) is Phase.SETTLED
    assert phase_of(hourly(lambda h: 0.25, 12), low_below_m=None) is Phase.SETTLED


def test_less_than_three_days_on_file_is_not_known():
    assert phase_of(hourly(lambda h: 0.4, 2)) is Phase.NOT_KNOWN
    assert phase_of(hourly(lambda h: 0.4, 2.6)) is Phase.NOT_KNOWN
    assert phase_of([]) is Phase.NOT_KNOWN


def test_a_hole_of_a_fifth_of_the_last_three_days_is_not_known():
    samples = [s for s in hourly(lambda h: 0.4, 6) if not -20 * HOUR < s[0] - NOW < -3 * HOUR]

    assert phase_of(samples) is Phase.NOT_KNOWN


def test_a_record_that_ended_is_not_known():
    assert phase_of(hourly(lambda h: 0.4, 6, until=NOW - 2 * HOUR)) is Phase.NOT_KNOWN


def test_what_comes_after_the_moment_is_not_looked_at():
    samples = hourly(spate(5), 10)

    assert read_phase(samples, NOW - 6 * HOUR, HOUR, 0.3).phase is Phase.SETTLED


def test_the_grain_of_a_gauge_does_not_move_the_river():
    ripple = {-1: 0.395, 0: 0.4, 1: 0.405}

    assert phase_of(hourly(lambda h: ripple[h % 3 - 1], 6)) is Phase.SETTLED


def test_a_daily_record_goes_through_the_phases_by_its_own_step():
    levels = [0.4] * 6 + [1.1, 0.9, 0.72, 0.6, 0.5, 0.45] + [0.44, 0.43, 0.425, 0.42]
    samples = [(NOW + (i - 6) * DAY, level) for i, level in enumerate(levels)]

    seen = [read_phase(samples, NOW + d * DAY + 2 * HOUR, DAY, 0.3).phase for d in (-2, 0, 1, 2, 9)]

    assert seen == [
        Phase.SETTLED,
        Phase.FIRST_RISE,
        Phase.COLOURED_FALLING,
        Phase.FINING_DOWN,
        Phase.SETTLED,
    ]


def test_settled_days_stop_at_the_freshet_that_came_and_went():
    samples = hourly(lambda h: 0.46 if -80 <= h <= -76 else 0.4, 12)

    assert settled_days(samples, NOW, HOUR) == 3


@given(
    levels=st.lists(st.floats(-1, 20), max_size=200),
    gaps=st.sets(st.integers(0, 199)),
    step=st.sampled_from([timedelta(minutes=15), HOUR, DAY]),
)
def test_no_series_breaks_the_reading_of_a_phase(levels, gaps, step):
    count = len(levels)
    samples = [(NOW - (count - i) * step, v) for i, v in enumerate(levels) if i not in gaps]

    read = read_phase(samples, NOW, step, 0.3)

    assert read.phase in Phase
    assert read.why


@given(shift=st.floats(-0.5, 5), since=st.integers(-20, 100))
def test_a_phase_does_not_depend_on_the_gauges_zero(shift, since):
    curve = spate(since)

    here = phase_of(hourly(curve, 10), low_below_m=None)
    there = phase_of(hourly(lambda h: curve(h) + shift, 10), low_below_m=None)

    assert here == there
