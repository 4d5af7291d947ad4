import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.hydrology.rating import Rating


def test_a_rating_by_hand():
    # 12 x (0.75 - 0.25)^2 = 3
    rating = Rating(a=12.0, b=2.0, h0_m=0.25)

    assert rating.flow_m3s(np.array([0.75, 0.25, 0.1])).tolist() == [3.0, 0.0, 0.0]
    np.testing.assert_allclose(rating.level_m(np.array([3.0, 0.0])), [0.75, 0.25])
    assert np.isnan(rating.level_m(np.array([np.nan]))[0])
    assert np.isnan(rating.flow_m3s(np.array([np.nan]))[0])


@given(
    st.floats(0.1, 500), st.floats(0.5, 4), st.floats(-3, 3), st.floats(0, 1000, exclude_min=True)
)
def test_there_and_back_is_the_same_flow(a, b, h0_m, flow):
    rating = Rating(a=a, b=b, h0_m=h0_m)
    level = rating.level_m(np.array([flow]))

    # the level is a sum, so of a shallow depth the last digits are gone
    if level[0] - h0_m > 1e-3:
        np.testing.assert_allclose(rating.flow_m3s(level), [flow], rtol=1e-8)


def test_a_rating_that_is_none_and_a_flow_that_is_none_are_refused():
    with pytest.raises(ValueError, match="a and b are above 0"):
        Rating(a=0.0, b=2.0, h0_m=0.0)
    with pytest.raises(ValueError, match="a and b are above 0"):
        Rating(a=1.0, b=2.0, h0_m=float("nan"))
    with pytest.raises(ValueError, match=r"flow_m3s is -0\.5; a rating turns 0 or more"):
        Rating(a=1.0, b=2.0, h0_m=0.0).level_m(np.array([1.0, -0.5]))
