import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.hydrology.pseudo_flow import PseudoFlow, pseudo_flow_of


def test_the_floor_lies_fifteen_centimetres_below_the_lowest_level():
    scale = pseudo_flow_of(np.array([0.5, np.nan, 0.9, 1.5]))

    assert scale.floor_m == pytest.approx(0.35)
    assert scale.median_m2 == pytest.approx(0.55**2)


def test_the_scale_by_hand():
    """q = (1.2 - .2)^2 = 1, median 1: z = ((1.02)^.3 - 1)/.3 = .0198616."""
    scale = PseudoFlow(floor_m=0.2, median_m2=1.0)

    assert scale.scaled(scale.flow(np.array([1.2])))[0] == pytest.approx(0.0198616, abs=1e-6)


@given(st.floats(0.01, 20), st.floats(-3, 3), st.floats(0.01, 5))
def test_a_level_comes_back_from_its_scale(depth_m, floor_m, median_m2):
    scale = PseudoFlow(floor_m=floor_m, median_m2=median_m2)

    back = scale.level(scale.scaled(scale.flow(np.array([floor_m + depth_m]))))

    assert back[0] == pytest.approx(floor_m + depth_m, abs=1e-6)


def test_a_gap_stays_one_and_below_the_floor_is_not_defined():
    scale = PseudoFlow(floor_m=0.2, median_m2=1.0)

    assert np.isnan(scale.flow(np.array([np.nan, 0.2, 0.1]))).all()


def test_no_scale_is_so_low_that_a_level_falls_through_the_floor():
    scale = PseudoFlow(floor_m=0.2, median_m2=1.0)

    assert (scale.level(np.array([-9.0, -3.4, -2.31])) == 0.2).all()


def test_no_level_at_all_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        pseudo_flow_of(np.array([np.nan]))
