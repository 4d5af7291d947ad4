"""Rain summed by how long before a moment it fell; every number is worked out by hand."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from guiding.gauges.hydrology.arriving_rain import (
    BEFORE_TARGET,
    rain_arriving,
    rain_behind,
    season,
    summed,
)


def test_rain_behind_counts_the_last_step_first():
    rain = np.array([9.0, 4.0, 0.0, 16.0, 1.0])

    got = rain_behind(rain, np.array([0, 3]), 1440)

    # spans of 1, 1, 1, 2, 5 and 20 days; before the record there is nothing to count
    assert got.round(9).tolist() == [[3, 0, 0, 0, 0, 0], [4, 0, 2, 3, 0, 0]]


def test_rain_behind_knows_nothing_of_what_falls_later():
    rain = np.arange(50.0)
    later = rain.copy()
    later[31:] = 500

    np.testing.assert_array_equal(
        rain_behind(rain, np.array([30]), 60), rain_behind(later, np.array([30]), 60)
    )


def test_rain_arriving_is_counted_back_from_its_lead():
    total = summed(np.array([[1.0, 2.0, 4.0, 8.0]]))

    # days before the target: the day itself, one, two, and three to four
    assert rain_arriving(total, 1, 1440).tolist() == [[1, 0, 0, 0]]
    assert rain_arriving(total, 3, 1440).tolist() == [[4, 2, 1, 0]]
    assert rain_arriving(total, 4, 1440).tolist() == [[8, 4, 2, 1]]


@given(
    arrays(float, (2, 60), elements=st.floats(0, 50)),
    st.integers(1, 60),
    st.sampled_from([60, 1440]),
)
def test_all_rain_within_reach_of_a_lead_arrives_once(rain, lead, step_minutes):
    got = rain_arriving(summed(rain), lead, step_minutes)

    reach = BEFORE_TARGET[step_minutes][-1]
    np.testing.assert_allclose(
        got.sum(axis=1), rain[:, max(0, lead - reach) : lead].sum(axis=1), atol=1e-9
    )


def test_the_season_comes_round():
    np.testing.assert_allclose(season(np.array([0.0, 0.25])), [[0, 1], [1, 0]], atol=1e-12)
