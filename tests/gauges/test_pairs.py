"""Two gauges of one river: known pairs come back, and what cannot be told is refused in words."""

from dataclasses import asdict

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.hydrology.pairs import (
    HORIZONS,
    TooLittleTogether,
    fit_ratio,
    learn_pair,
    shifted,
)
from tests.gauges.inventedriver import invented_river

DAY = 1440
UPSTREAM = invented_river(0.6, seed=3)[0]
UPSTREAM_DAILY = invented_river(3, DAY, seed=4)[0]


def follower(there, lag, ratio, *, noise_m=0.003, seed=1):
    """Return a level that follows another so many steps later, with a gauge's grain in it."""
    draw = np.random.default_rng(seed)
    return 0.4 + ratio * shifted(there, lag) + draw.normal(0, noise_m, there.size)


@pytest.mark.parametrize(("lag", "ratio"), [(0, 1.0), (3, 0.6), (7, 1.7), (-4, 0.4), (20, 5.0)])
def test_a_known_delay_and_ratio_come_back(lag, ratio):
    pair = learn_pair(follower(UPSTREAM, lag, ratio), UPSTREAM, 60)

    assert pair.lag_steps == lag
    assert pair.ratio == pytest.approx(ratio, rel=0.03)
    assert pair.r2 > 0.95
    assert pair.n > 4000


@pytest.mark.parametrize("lag", [0, 1, -1, 2])
def test_days_are_learned_in_whole_days(lag):
    pair = learn_pair(follower(UPSTREAM_DAILY, lag, 0.8), UPSTREAM_DAILY, DAY)

    assert pair.lag_steps == lag
    assert pair.ratio == pytest.approx(0.8, rel=0.03)


@given(st.floats(0.3, 3), st.floats(0.3, 3))
def test_other_units_scale_the_ratio_and_the_spread_and_move_no_delay(here_by, there_by):
    there = UPSTREAM_DAILY
    here = follower(there, 1, 0.8, noise_m=0.02)
    one = learn_pair(here, there, DAY)
    other = learn_pair(here * here_by, there * there_by, DAY)

    assert other.lag_steps == one.lag_steps
    assert other.ratio == pytest.approx(one.ratio * here_by / there_by)
    assert other.r2 == pytest.approx(one.r2)
    assert other.spread_share == pytest.approx(one.spread_share)
    assert [m for _, m in other.spread_m] == pytest.approx([m * here_by for _, m in one.spread_m])


def test_a_shift_of_the_datum_changes_nothing_but_the_levels_seen():
    here = follower(UPSTREAM, 3, 0.6)
    one, other = (learn_pair(here + by, UPSTREAM + by, 60) for by in (0.0, 7.0))

    moved = {"lowest_m": one.lowest_m + 7, "highest_m": one.highest_m + 7}
    kept = {k: v for k, v in asdict(one).items() if k not in (*moved, "spread_m")}
    assert {k: v for k, v in asdict(other).items() if k in kept} == pytest.approx(kept)
    assert {k: v for k, v in asdict(other).items() if k in moved} == pytest.approx(moved)


def test_gaps_and_a_spiking_gauge_move_neither_delay_nor_ratio_much():
    here, there = follower(UPSTREAM, 5, 0.6), UPSTREAM.copy()
    draw = np.random.default_rng(9)
    here[draw.random(here.size) < 0.2] = np.nan
    here[1000:1400] = np.nan
    there[draw.random(there.size) < 0.1] = np.nan
    here[draw.integers(0, here.size, 12)] += 4.0

    pair = learn_pair(here, there, 60)

    assert pair.lag_steps == 5
    assert pair.ratio == pytest.approx(0.6, rel=0.08)


def test_the_spread_holds_on_a_stretch_that_was_not_learned_from():
    years = invented_river(1.6, seed=12)[0]
    here = follower(years, 4, 0.7, noise_m=0.01)
    here += 0.03 * np.sin(np.arange(here.size) / 400)  # what the other gauge does not see
    learned, kept = slice(0, 9000), slice(9000, None)
    pair = learn_pair(here[learned], years[learned], 60)

    there = shifted(years, pair.lag_steps)
    for horizon, spread_m in pair.spread_m:
        change = here[kept][horizon:] - here[kept][:-horizon]
        told = pair.ratio * (there[kept][horizon:] - there[kept][:-horizon])
        within = float((np.abs(change - told) <= spread_m).mean())
        assert within > 0.82, f"{horizon} h: {within:.2f} within {spread_m:.3f} m"


def test_the_spread_never_narrows_as_time_goes_on():
    pair = learn_pair(follower(UPSTREAM, 2, 0.9, noise_m=0.02), UPSTREAM, 60)

    assert [h for h, _ in pair.spread_m] == list(HORIZONS[60])
    spreads = [m for _, m in pair.spread_m]
    assert spreads == sorted(spreads)
    # nine in ten of the differences of two draws of sd 0.02 m: 1.645 x 0.02 x sqrt 2 (by hand)
    assert spreads[0] == pytest.approx(0.0465, rel=0.1)


def test_too_little_history_is_refused_with_the_number():
    with pytest.raises(TooLittleTogether, match="only 500 hours on file together, and 1440"):
        learn_pair(UPSTREAM[:500], UPSTREAM[:500], 60)
    gap = UPSTREAM.copy()
    gap[1000:] = np.nan
    with pytest.raises(TooLittleTogether, match="only 1000 hours"):
        learn_pair(UPSTREAM, gap, 60)


def test_rivers_that_do_not_move_together_are_refused():
    with pytest.raises(TooLittleTogether, match=r"explains only|no lag within|would be"):
        learn_pair(invented_river(0.6, seed=99)[0], UPSTREAM, 60)


def test_a_river_that_goes_down_as_the_other_comes_up_is_refused():
    with pytest.raises(TooLittleTogether):
        learn_pair(2 - UPSTREAM, UPSTREAM, 60)


def test_a_constant_river_is_refused():
    with pytest.raises(TooLittleTogether, match="only 0 rises"):
        learn_pair(UPSTREAM, np.full(UPSTREAM.size, 0.5), 60)


def test_a_delay_at_the_edge_of_what_is_looked_at_is_refused():
    with pytest.raises(TooLittleTogether, match="no lag within 48 hours"):
        learn_pair(follower(UPSTREAM, 49, 0.8), UPSTREAM, 60)


def test_shapes_that_differ_are_refused():
    with pytest.raises(ValueError, match="two alike rows"):
        learn_pair(UPSTREAM, UPSTREAM[:-1], 60)


@given(st.integers(-40, 40))
def test_a_shifted_record_keeps_its_length_and_its_values(lag):
    out = shifted(np.arange(50.0), lag)

    assert out.size == 50
    known = np.flatnonzero(np.isfinite(out))
    assert known.size == 50 - abs(lag)
    assert (out[known] == known - lag).all()


def test_one_outlier_pulls_the_ratio_by_little():
    cause = np.linspace(-1, 1, 101)
    change = 2 * cause
    change[-1] = 50.0

    # least squares would give (2 x 34.34 + 48) / 34.34 = 3.4 (by hand)
    assert fit_ratio(change, cause) == pytest.approx(2.0, abs=0.1)


def test_what_somebody_said_is_kept_and_only_its_spread_is_learned():
    here = follower(UPSTREAM, 3, 0.6)
    learned = learn_pair(here, UPSTREAM, 60)
    said = learn_pair(here, UPSTREAM, 60, lag_steps=2, ratio=0.8)

    assert (said.lag_steps, said.ratio) == (2, 0.8)
    assert dict(said.spread_m)[24] > dict(learned.spread_m)[24]
