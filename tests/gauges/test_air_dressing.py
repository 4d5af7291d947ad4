import numpy as np
import pytest

from guiding.gauges.hydrology.air_dressing import SPREADS_C, air_that_came, degraded_air


def test_air_after_the_record_is_not_known():
    got = air_that_came(np.arange(6.0), np.array([1, 4]), 3)

    np.testing.assert_array_equal(got, [[2, 3, 4], [5, np.nan, np.nan]])


def test_a_forecast_of_air_is_off_by_more_from_day_to_day_and_stays_on_its_side():
    air = np.zeros(5_010)
    origins = np.arange(5_000)

    got = degraded_air(air, origins, steps=5, step_minutes=1440, seed=3)

    assert got.std(axis=0) == pytest.approx(SPREADS_C, rel=0.03)
    assert got.mean() == pytest.approx(0, abs=0.06)
    assert (np.sign(got) == np.sign(got[:, :1])).all()
    again = degraded_air(air, origins, steps=5, step_minutes=1440, seed=3)
    np.testing.assert_array_equal(got, again)
