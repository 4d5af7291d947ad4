import numpy as np
import pytest

from guiding.gauges.hydrology.lead_scores import lead_score, outcome


def test_a_row_of_scores_by_hand():
    seen, now = np.array([2.5, 1.0]), np.array([2.0, 2.0])
    members = np.array([[1.0, 2, 3, 4], [1, 1, 1, 1]])

    got = lead_score(3, [outcome(seen, now, members)], np.array([0.0, 0.0]))

    # the mean is 2.5 and 1; [1, 2, 3, 4] at 2.5 scores .375 (shared check value), 1 at 1 nought
    assert (got.lead, got.n, got.rmse, got.pi) == (3, 2, 0.0, 1.0)
    assert got.crps == pytest.approx(0.1875)
    # staying, without an error of its own, is off by .5 and 1
    assert got.crpss == pytest.approx(1 - 0.1875 / 0.75)
    assert got.cover80 == 1.0


def test_parts_count_as_one_and_what_never_came_is_not_counted():
    draw = np.random.default_rng(5)
    seen, now, members = draw.normal(size=20), draw.normal(size=20), draw.normal(size=(20, 30))
    seen[3] = np.nan
    changes = draw.normal(size=50)

    whole = lead_score(1, [outcome(seen, now, members)], changes)
    parts = lead_score(
        1,
        [outcome(seen[:8], now[:8], members[:8]), outcome(seen[8:], now[8:], members[8:])],
        changes,
    )

    assert whole == parts
    assert whole.n == 19
