"""Spikes are pointed out, floods are not."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.feeds.suspects import spikes, usual_gap

START = datetime(2026, 11, 24, 0, 0, tzinfo=UTC)


def at(place):
    return START + timedelta(minutes=15 * place)


def series(*values):
    return [(at(place), value) for place, value in enumerate(values)]


def flagged(*values, quantity="level_m"):
    return sorted(
        (moment - START) // timedelta(minutes=15) for moment in spikes(series(*values), quantity)
    )


def test_one_value_that_leaves_its_neighbours_and_comes_back_is_a_spike():
    assert flagged(0.5, 0.5, 0.51, 3.2, 0.51, 0.5, 0.5) == [3]
    assert flagged(0.5, 0.5, 0.51, 0.0, 0.51, 0.5, 0.5) == [3]
    assert flagged(0.5, 0.5, 0.51, 3.2, 3.1, 0.5, 0.5, 0.5) == [3, 4]


def test_a_flood_rises_and_stays_up():
    assert flagged(0.5, 0.5, 0.5, 1.4, 1.9, 2.1, 2.2, 2.2, 2.1, 2.0) == []
    assert flagged(2.0, 2.0, 2.0, 1.0, 0.9, 0.8, 0.8, 0.8) == []


def test_the_newest_value_cannot_be_judged_yet():
    assert flagged(0.5, 0.5, 0.5, 0.5, 3.2) == []
    assert flagged(0.5, 0.5, 0.5, 0.5, 3.2, 0.5) == [4]


def test_ten_centimetres_are_no_spike_and_a_fifth_of_a_flow_is_none():
    assert flagged(0.5, 0.5, 0.5, 0.59, 0.5, 0.5, 0.5) == []
    assert flagged(10.0, 10, 10, 11.9, 10, 10, 10, quantity="flow_m3s") == []
    assert flagged(10.0, 10, 10, 12.1, 10, 10, 10, quantity="flow_m3s") == [3]
    assert flagged(8.0, 8, 8, 9.9, 8, 8, 8, quantity="water_c") == []
    assert flagged(8.0, 8, 8, 10.1, 8, 8, 8, quantity="water_c") == [3]


def test_rain_comes_in_spikes():
    assert flagged(0, 0, 0, 25.0, 0, 0, 0, quantity="rain_mm") == []


def test_values_across_a_hole_are_no_neighbours():
    before = series(0.5, 0.5, 0.5, 0.5)
    after = [(moment + timedelta(hours=5), 2.0) for moment, _ in series(0, 0, 0, 0)]

    assert spikes([*before, *after], "level_m") == set()


@given(st.lists(st.integers(0, 320), min_size=8, max_size=20), st.integers(-192, 192))
def test_a_river_that_lies_higher_has_the_same_spikes(values, lift):
    # sixty-fourths of a metre are exact, so that no rounding decides
    levels = series(*(value / 64 for value in values))
    lifted = [(moment, level + lift / 64) for moment, level in levels]

    assert spikes(lifted, "level_m") == spikes(levels, "level_m")


@pytest.mark.parametrize("count", [0, 1, 2])
def test_few_moments_have_no_usual_gap(count):
    assert usual_gap([at(place) for place in range(count)]) is None


def test_the_commonest_gap_is_the_usual_one():
    assert usual_gap([at(0), at(1), at(2), at(6), at(7)]) == timedelta(minutes=15)
