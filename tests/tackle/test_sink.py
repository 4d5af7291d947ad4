"""Sink rates and hanging depth, against the numbers printed in their sources."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.tackle.sink import (
    FASTEST_MS,
    SLOWEST_MS,
    fly_depth_hang_down,
    sink_rate_long,
    sink_time_still,
    surface_speed_drift,
    tip_length_hang_down,
)
from guiding.units import FOOT_M, MPH_MS, ips_to_cm_s


# published source: "Untangling the mystery of sinking lines": time to sink 3 ft
@pytest.mark.parametrize(
    ("ips", "seconds"), [(1, 36), (1.5, 24), (3, 12), (5, 7.2), (6, 6), (7, 5.1)]
)
def test_a_tip_takes_the_printed_time_to_three_feet(ips, seconds):
    assert sink_time_still(3 * FOOT_M, ips_to_cm_s(ips)) == pytest.approx(seconds, abs=0.05)


def test_six_inches_a_second_reach_fifteen_feet_in_thirty_seconds():
    # published source: the same
    assert sink_time_still(15 * FOOT_M, ips_to_cm_s(6)) == pytest.approx(30)


# published source: a maker's bands, hover and slow intermediate; printed 0.63 and 1.25, exact here
@pytest.mark.parametrize(("ips", "cm_s"), [(0.25, 0.635), (0.5, 1.27)])
def test_inches_a_second_become_centimetres_exactly(ips, cm_s):
    assert ips_to_cm_s(ips) == pytest.approx(cm_s, abs=1e-12)


def test_a_fly_hangs_at_the_printed_depth():
    # published source: fly-fishing research notes on sunk tips, frame 47
    assert fly_depth_hang_down(12 * FOOT_M, 2 * MPH_MS, 6) == pytest.approx(3 * FOOT_M)


def test_the_printed_length_of_tip_reaches_the_depth():
    # published source: the same, frame 41
    assert tip_length_hang_down(2.5 * FOOT_M, 2 * MPH_MS, 9) == pytest.approx(15 * FOOT_M)


# published source: the same, frame 42; the constant is 9.006 mph seconds
@pytest.mark.parametrize(("seconds", "mph"), [(3.0, 3), (4.5, 2)])
def test_the_rod_on_the_bank_measures_the_surface(seconds, mph):
    assert surface_speed_drift(seconds) / MPH_MS == pytest.approx(mph, abs=0.003)


def test_a_long_length_sinks_eight_to_seventeen_per_cent_less_than_rated():
    # published source: fly-fishing research notes on sink rates, frame 57
    slowest, fastest = sink_rate_long(11.7)

    assert slowest == pytest.approx(10.0)
    assert fastest == pytest.approx(11.7 / 1.08)


@given(
    length_m=st.floats(0.1, 10), speed_ms=st.floats(SLOWEST_MS, FASTEST_MS), rule=st.floats(5, 30)
)
def test_depth_and_length_turn_each_other_round(length_m, speed_ms, rule):
    depth_m = fly_depth_hang_down(length_m, speed_ms, rule)

    if depth_m <= 5:
        assert tip_length_hang_down(depth_m, speed_ms, rule) == pytest.approx(length_m)
    assert fly_depth_hang_down(length_m, FASTEST_MS, rule) <= depth_m + 1e-12


@pytest.mark.parametrize(
    "broken",
    [
        lambda: fly_depth_hang_down(3, 0.1, 6),
        lambda: fly_depth_hang_down(3, 3.0, 6),
        lambda: fly_depth_hang_down(-3, 1, 6),
        lambda: fly_depth_hang_down(math.nan, 1, 6),
        lambda: sink_time_still(1, 0),
        lambda: sink_time_still(-1, 5),
        lambda: surface_speed_drift(0),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_allowed(broken):
    with pytest.raises(ValueError, match="allowed is"):
        broken()
