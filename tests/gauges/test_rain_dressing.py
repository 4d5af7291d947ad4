import numpy as np
import pytest

from guiding.gauges.hydrology.rain_dressing import degraded_rain


def rain(count, seed=5):
    draw = np.random.default_rng(seed)
    return draw.exponential(4.0, count) * (draw.random(count) < 0.4)


def dressed(fell, origins, *, steps=5, step_minutes=1440, draw_before=None, seed=3):
    return degraded_rain(
        fell,
        np.asarray(origins),
        steps=steps,
        step_minutes=step_minutes,
        draw_before=len(fell) if draw_before is None else draw_before,
        seed=seed,
    )


def test_the_mean_stays_and_each_day_is_less_like_what_fell():
    fell = rain(20_000)
    origins = np.arange(0, 19_990, 3)

    got = dressed(fell, origins)

    assert got.mean() == pytest.approx(fell.mean(), rel=0.03)
    likeness = [np.corrcoef(got[:, k], fell[origins + 1 + k])[0, 1] for k in range(5)]
    assert likeness == sorted(likeness, reverse=True)
    assert 0.5 < likeness[-1] < likeness[0] < 1
    assert (got >= 0).all()


def test_dry_elsewhere_the_weights_are_all_that_is_left_of_what_fell():
    # a wet end after a dry record: nothing to borrow, and the factor has mean 1
    fell = np.zeros(4000)
    fell[2000:] = 10.0
    got = dressed(fell, np.arange(2000, 3990), draw_before=1900)

    np.testing.assert_allclose(got.mean(axis=0), [9.0, 8.0, 7.0, 6.0, 5.0], rtol=0.04)
    assert np.log(got[:, 0]).std() == pytest.approx(0.4, rel=0.06)


def test_hours_are_early_or_late_together_by_up_to_three():
    fell = np.zeros(2000)
    fell[1000] = 20.0
    origins = np.arange(940, 980)

    got = dressed(fell, origins, steps=120, step_minutes=60, draw_before=900)

    peaks = got.argmax(axis=1) + origins + 1 - 1000
    assert set(peaks) == {-3, -2, -1, 0, 1, 2, 3}
    assert ((got > 0).sum(axis=1) == 1).all()


def test_the_same_seed_gives_the_same_rain_and_another_one_does_not():
    fell = rain(500)
    origins = np.arange(100, 400)

    np.testing.assert_array_equal(dressed(fell, origins), dressed(fell, origins))
    assert (dressed(fell, origins) != dressed(fell, origins, seed=4)).any()


def test_nothing_is_borrowed_from_after_the_part_that_is_trained_on():
    fell = rain(900)
    origins = np.arange(600, 800)
    later = fell.copy()
    later[806:] = 500.0

    np.testing.assert_array_equal(
        dressed(fell, origins, draw_before=600), dressed(later, origins, draw_before=600)
    )


def test_another_period_is_never_the_same_one():
    # rain only in steps 50 to 54: an origin before it can borrow nothing
    fell = np.zeros(100)
    fell[50:55] = 7.0

    got = dressed(fell, np.full(400, 49))
    own = dressed(fell, np.full(400, 49), draw_before=45)

    np.testing.assert_allclose(got, own)


def test_a_gap_stays_a_gap_and_is_never_borrowed():
    fell = rain(400)
    fell[200:203] = np.nan

    got = dressed(fell, np.array([198, 300]))
    hourly = dressed(fell, np.array([150]), steps=120, step_minutes=60)

    assert np.isnan(got[0]).tolist() == [False, True, True, True, False]
    assert np.isfinite(got[1]).all()
    assert np.flatnonzero(np.isnan(hourly[0])).tolist() == [49, 50, 51]


def test_beyond_the_record_the_rain_is_not_known():
    got = dressed(rain(100), np.array([97]))

    assert np.isnan(got[0]).tolist() == [False, False, True, True, True]


def test_too_short_a_record_says_so():
    with pytest.raises(ValueError, match="no unbroken stretch of 5 steps"):
        dressed(np.ones(4), np.array([0]))
    with pytest.raises(ValueError, match="no other stretch of 5 steps"):
        dressed(np.ones(6), np.array([0]))
