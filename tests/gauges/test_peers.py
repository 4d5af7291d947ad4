import numpy as np
import pytest

from guiding.gauges.hydrology import scores
from guiding.gauges.hydrology.peers import at, crps_of_staying, falling, staying, tried_origins
from guiding.gauges.hydrology.recession import fit_recession
from tests.gauges.inventedriver import invented_river


@pytest.fixture(scope="module")
def level():
    return invented_river(4, 1440)[0]


def test_staying_is_scored_with_its_own_errors_of_the_training_part():
    # by hand: in training the level goes 0 or 1 up; after it, from 2 to 3 and from 3 to 3
    level = np.array([0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0])

    got = staying(level, np.array([4, 5]), 5, 1)

    errors = np.array([1.0, 0.0, 1.0, 0.0])
    # the mean distance to 1 and to 0 is a half; half the mean gap between two errors is a quarter
    assert got.crps == pytest.approx(np.mean([0.5 - 0.25, 0.5 - 0.25]))
    assert got.crps == pytest.approx(scores.crps_one_ensemble(np.array([1.0, 0.0]), errors).mean())
    assert (got.lead, got.n, got.pi, got.crpss) == (1, 2, 0.0, 0.0)
    assert got.rmse == pytest.approx(np.sqrt(0.5))
    assert got.cover80 == 1.0


def test_a_falling_river_is_better_foretold_by_its_fall(level):
    split = 1000
    fall = fit_recession(level[:split], 1440)
    dry = np.flatnonzero(np.diff(level) < 0)
    falls = dry[dry >= split][:-1]

    got = falling(level, falls, split, 1, fall)

    assert got.pi > 0.3
    assert got.n == falls.size


def test_peers_learn_nothing_from_after_the_split(level):
    split, tried = 1000, np.array([1000, 1001])
    later = level.copy()
    later[1010:] += 3
    fall = fit_recession(level[:split], 1440)

    assert staying(level, tried, split, 3) == staying(later, tried, split, 3)
    assert falling(level, tried, split, 3, fall) == falling(later, tried, split, 3, fall)


def test_origins_are_spread_over_what_can_be_held_against_a_target():
    level = np.arange(100.0)
    level[60] = np.nan

    every = tried_origins(level, 50, [2], 1000)
    few = tried_origins(level, 50, [2], 5)

    # 60 is no origin, 58 has no target, and two steps before the end nothing is left
    assert every.tolist() == [p for p in range(50, 98) if p not in (58, 60)]
    assert len(few) == 5
    assert (few[0], few[-1]) == (50, 97)


def test_where_nothing_can_be_scored_it_says_so():
    with pytest.raises(ValueError, match="nothing to score"):
        tried_origins(np.array([1.0, 2.0, np.nan, np.nan]), 1, [1], 10)


def test_a_value_after_the_end_is_not_known():
    assert at(np.array([1.0, 2.0]), np.array([1, 2])).tolist()[0] == 2.0
    assert np.isnan(at(np.array([1.0, 2.0]), np.array([1, 2]))[1])
    assert np.isnan(crps_of_staying(np.arange(9.0), np.array([8]), 5, 1)[0])
