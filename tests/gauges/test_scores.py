import math

import numpy as np
import pytest
import scoringrules
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as drawn_arrays

from guiding.gauges.hydrology import scores

# The series and what three independent libraries (hydroeval, HydroErr, permetrics) give for it, as
# measured in the project's river study.
OBS = np.array([1.2, 1.5, 3.4, 2.8, 2.1, 1.8, 1.6, 1.4])
SIM = np.array([1.3, 1.4, 2.9, 3.0, 2.3, 1.7, 1.7, 1.3])


def test_efficiencies_are_those_of_three_other_libraries():
    assert scores.nse(OBS, SIM) == pytest.approx(0.9062885, abs=5e-8)
    assert scores.kge_2009(OBS, SIM) == pytest.approx(0.9028252, abs=5e-8)
    assert scores.kge_2012(OBS, SIM) == pytest.approx(0.9128162, abs=5e-8)
    assert scores.rmse(OBS, SIM) == pytest.approx(0.2179449, abs=5e-8)


def test_the_persistence_index_holds_a_forecast_against_the_last_value():
    # by hand: 1 - .37 / 4.72
    index = scores.persistence_index(OBS[1:], SIM[1:], OBS[:-1])

    assert index == pytest.approx(0.9216102, abs=5e-8)
    assert scores.persistence_index(OBS[1:], OBS[:-1], OBS[:-1]) == 0


def test_the_crps_of_a_normal_is_the_closed_form():
    # at 0: (sqrt 2 - 1) / sqrt pi, Gneiting et al. 2005; at 1 as in the project's river study
    got = scores.crps_normal(np.array([0.0, 1.0, -1.0]), np.array(0.0), np.array(1.0))

    assert got[0] == pytest.approx((math.sqrt(2) - 1) / math.sqrt(math.pi), abs=1e-12)
    assert got[1] == got[2] == pytest.approx(0.6024414, abs=5e-8)


def test_a_normal_without_spread_scores_its_error_and_a_negative_spread_is_refused():
    got = scores.crps_normal(np.array([1.5]), np.array([1.0]), np.array([0.0]))

    assert got.tolist() == [0.5]
    with pytest.raises(ValueError, match="sd is -1; a spread is 0 or more"):
        scores.crps_normal(OBS, OBS, np.array(-1.0))


def test_the_crps_of_four_members_by_hand():
    # mean distance to 2.5 is 1; half the mean gap is 10/16, and 10/12 between different members
    members = np.array([[4.0, 1.0, 3.0, 2.0]])

    assert scores.crps_ensemble(np.array([2.5]), members)[0] == pytest.approx(0.375)
    fair = scores.crps_ensemble(np.array([2.5]), members, is_fair=True)
    assert fair[0] == pytest.approx(0.1666667, abs=5e-8)


numbers = st.floats(-50, 50, allow_nan=False, width=32)


@given(
    drawn_arrays.arrays(float, (4, 9), elements=numbers),
    drawn_arrays.arrays(float, (4,), elements=numbers),
)
def test_the_crps_agrees_with_scoringrules(members, obs):
    near = {"rtol": 1e-9, "atol": 1e-9}
    for fair, estimator in ((False, "nrg"), (True, "fair")):
        np.testing.assert_allclose(
            scores.crps_ensemble(obs, members, is_fair=fair),
            scoringrules.crps_ensemble(obs, members, estimator=estimator),
            **near,
        )
        np.testing.assert_allclose(
            scores.crps_one_ensemble(obs, members[0], is_fair=fair),
            scores.crps_ensemble(obs, np.tile(members[0], (4, 1)), is_fair=fair),
            **near,
        )
    low, high = members.min(axis=1), members.max(axis=1)
    np.testing.assert_allclose(
        scores.interval_score(obs, low, high, share=0.8),
        scoringrules.interval_score(obs, low, high, 0.2),
        **near,
    )
    spread = np.abs(members[:, 1]) + 0.01
    np.testing.assert_allclose(
        scores.crps_normal(obs, low, spread),
        scoringrules.crps_normal(obs, low, spread),
        **near,
    )


def test_one_member_scores_its_error_and_has_no_fair_score():
    assert scores.crps_ensemble(np.array([2.0]), np.array([[3.5]])).tolist() == [1.5]
    with pytest.raises(ValueError, match="an ensemble has 1 members; this score takes 2 or more"):
        scores.crps_ensemble(np.array([2.0]), np.array([[3.5]]), is_fair=True)


def test_skill_is_one_less_the_ratio_and_unknown_against_a_perfect_reference():
    assert scores.crpss(0.3, 0.4) == pytest.approx(0.25)
    assert math.isnan(scores.crpss(0.3, 0.0))
    assert math.isnan(scores.crpss(0.3, math.nan))


def test_coverage_counts_both_ends_in():
    got = scores.coverage(np.array([1.0, 2.0, 3.0, 4.0]), np.full(4, 2.0), np.full(4, 3.0))

    assert got == 0.5


def test_the_interval_score_by_hand():
    # the interval is 3 wide, the outcome 1 outside, and 2 / 0.2 = 10 for each unit
    got = scores.interval_score(np.array([5.0, 2.0]), np.array([1.0, 1.0]), np.array([4.0, 4.0]))

    np.testing.assert_allclose(got, [13.0, 3.0])
    with pytest.raises(ValueError, match="share is 80"):
        scores.interval_score(OBS, OBS, OBS, share=80)


def test_the_brier_score_by_hand():
    # (0.2^2 + 0.1^2 + 0.5^2) / 3
    got = scores.brier(np.array([1.0, 0.0, 1.0]), np.array([0.8, 0.1, 0.5]))

    assert got == pytest.approx(0.1)


def test_reliability_holds_chances_against_what_happened():
    chance = np.array([0.0, 0.05, 0.1, 0.3, 0.35, 1.0, np.nan])
    happened = np.array([0.0, 1.0, 0.0, 0.0, 1.0, 1.0, 1.0])

    rows = scores.reliability(happened, chance)

    assert [row.n for row in rows] == [2, 1, 0, 2, 0, 0, 0, 0, 0, 1]
    assert rows[0].chance == pytest.approx(0.025)
    assert rows[0].happened == 0.5
    assert rows[3].chance == pytest.approx(0.325)
    assert (rows[2].chance, rows[2].happened) == (None, None)
    assert (rows[9].low, rows[9].high, rows[9].happened) == (0.9, 1.0, 1.0)


def test_a_chance_outside_nought_to_one_is_refused():
    with pytest.raises(ValueError, match=r"a chance is 1\.2; it lies in 0 to 1"):
        scores.reliability(np.array([1.0]), np.array([1.2]))


def test_what_is_not_known_is_left_out_and_never_counts_as_right():
    holes = OBS.copy()
    holes[2] = np.nan
    kept = np.isfinite(holes)

    for score in (scores.rmse, scores.nse, scores.kge_2009, scores.kge_2012):
        assert score(holes, SIM) == pytest.approx(score(OBS[kept], SIM[kept]))
        assert math.isnan(score(np.full(3, np.nan), np.ones(3)))
    assert scores.coverage(holes, OBS - 1, OBS + 1) == 1.0
    assert math.isnan(scores.coverage(np.array([np.nan]), np.zeros(1), np.ones(1)))
    assert math.isnan(scores.persistence_index(np.array([np.nan]), np.ones(1), np.ones(1)))
    assert math.isnan(scores.crps_ensemble(np.array([1.0]), np.array([[1.0, np.nan]]))[0])
    assert math.isnan(scores.crps_one_ensemble(np.array([np.nan]), np.array([1.0, 2.0]))[0])
    assert math.isnan(scores.brier(np.array([np.nan]), np.array([0.5])))


def test_a_river_that_never_moved_has_no_efficiency():
    flat = np.ones(5)

    assert math.isnan(scores.nse(flat, OBS[:5]))
    assert math.isnan(scores.kge_2009(flat, OBS[:5]))
    assert math.isnan(scores.kge_2012(OBS[:5], flat))
    assert math.isnan(scores.persistence_index(flat, OBS[:5], flat))


def test_series_of_other_lengths_are_refused():
    with pytest.raises(ValueError, match="the shapes are"):
        scores.nse(OBS, SIM[1:])
