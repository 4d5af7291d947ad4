import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from guiding.gauges.hydrology.snow import needs_snow, snow_share, thaw, thaw_members


def test_three_days_by_hand():
    # 10 mm of snow at -5; at 2 degrees a quarter of 4 mm is snow and 3 x 2 = 6 mm melt; at 10
    # degrees 30 mm could melt and the 5 mm that are left do
    got = thaw(np.array([10.0, 4.0, 0.0]), np.array([-5.0, 2.0, 10.0]), 1440)

    np.testing.assert_allclose(got.water_mm, [0.0, 3.0 + 6.0, 5.0])
    np.testing.assert_allclose(got.pack_mm, [10.0, 5.0, 0.0])


def test_an_hour_melts_a_twenty_fourth_of_a_day():
    got = thaw(np.array([0.0]), np.array([4.0]), 60, melt_mm=6.0, pack_mm=50.0)

    np.testing.assert_allclose(got.water_mm, [1.0])


def test_the_share_of_snow_falls_from_all_to_none():
    np.testing.assert_allclose(
        snow_share(np.array([-9.0, -1.0, 1.0, 3.0, 20.0])), [1, 1, 0.5, 0, 0]
    )


rain = arrays(float, 60, elements=st.floats(0, 80))
air = arrays(float, 60, elements=st.floats(-30, 35))


@given(rain, air, st.floats(0.1, 12), st.floats(0, 300), st.sampled_from([60, 1440]))
def test_what_falls_runs_off_or_lies(rain_mm, air_c, melt_mm, pack_mm, step_minutes):
    got = thaw(rain_mm, air_c, step_minutes, melt_mm=melt_mm, pack_mm=pack_mm)

    held = pack_mm + np.cumsum(rain_mm) - np.cumsum(got.water_mm)
    np.testing.assert_allclose(got.pack_mm, held, atol=1e-8)
    assert (got.water_mm >= 0).all()
    assert (got.pack_mm >= 0).all()


@given(rain, air, st.floats(0, 20))
def test_more_that_falls_never_lets_less_through_by_any_day(rain_mm, air_c, more):
    wetter = rain_mm.copy()
    wetter[7] += more

    through, wet = thaw(rain_mm, air_c, 1440), thaw(wetter, air_c, 1440)

    assert (np.cumsum(wet.water_mm) >= np.cumsum(through.water_mm) - 1e-8).all()
    assert (wet.pack_mm >= through.pack_mm - 1e-8).all()


@given(rain, air)
def test_many_factors_at_once_are_each_as_alone(rain_mm, air_c):
    many = thaw(rain_mm, air_c, 1440, melt_mm=np.array([1.0, 4.5]))

    for row, factor in enumerate((1.0, 4.5)):
        alone = thaw(rain_mm, air_c, 1440, melt_mm=factor)
        np.testing.assert_array_equal(many.water_mm[row], alone.water_mm)
        np.testing.assert_array_equal(many.pack_mm[row], alone.pack_mm)


@given(rain, air, st.floats(0.1, 12), st.floats(1, 300), st.integers(0, 59), st.floats(0, 90))
def test_where_snow_lies_in_patches_more_of_it_never_gives_less_water(
    rain_mm, air_c, melt_mm, patchy_mm, when, more
):
    wetter = rain_mm.copy()
    wetter[when] += more

    def water(fell):
        return thaw_members(
            fell[:, None],
            air_c[:, None],
            1440,
            melt_mm=np.array([melt_mm]),
            patchy_mm=np.array([patchy_mm]),
            pack_mm=np.zeros(1),
        ).water_mm

    assert (water(wetter) >= water(rain_mm) - 1e-8).all()


def test_patches_melt_the_less_by_hand():
    # 20 of 40 mm: 10 degrees x 3 mm x (0.1 + 0.9 x 20 / 40) = 16.5 mm
    got = thaw_members(
        np.zeros((1, 1)),
        np.full((1, 1), 10.0),
        1440,
        melt_mm=np.array([3.0]),
        patchy_mm=np.array([40.0]),
        pack_mm=np.array([20.0]),
    )

    np.testing.assert_allclose(got.water_mm, [[16.5]])


def test_a_run_cut_in_two_is_the_run_in_one():
    draw = np.random.default_rng(2)
    rain_mm, air_c = draw.exponential(3, 200), draw.normal(1, 6, 200)

    whole = thaw(rain_mm, air_c, 1440)
    first = thaw(rain_mm[:90], air_c[:90], 1440)
    rest = thaw(rain_mm[90:], air_c[90:], 1440, pack_mm=first.pack_mm[-1])

    np.testing.assert_allclose(np.concatenate([first.water_mm, rest.water_mm]), whole.water_mm)


def test_a_warm_river_needs_no_snow_and_one_without_air_cannot_tell():
    fell = np.full(100, 2.0)

    assert not needs_snow(fell, np.full(100, 12.0))
    assert needs_snow(fell, np.linspace(-10, 20, 100))
    assert not needs_snow(fell, None)
    assert not needs_snow(np.zeros(100), np.full(100, -5.0))


def test_nothing_is_guessed_at_a_gap_and_no_rain_falls_upward():
    with pytest.raises(ValueError, match="not known at 1 steps"):
        thaw(np.array([1.0, 2.0]), np.array([1.0, np.nan]), 1440)
    with pytest.raises(ValueError, match="rain_mm is -1"):
        thaw(np.array([-1.0]), np.array([1.0]), 1440)
