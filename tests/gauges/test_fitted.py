import io

import numpy as np
import pytest

from guiding.gauges.hydrology.fitted import learned_of, pack_fit, river_of, unpack_fit
from guiding.gauges.hydrology.level_fit import fit_level
from guiding.gauges.hydrology.level_model import look_ahead
from tests.gauges.riverhistory import invented_history, quiet


@pytest.fixture(scope="module")
def history():
    days = np.arange(700)
    air = 6 - 9 * np.cos(2 * np.pi * days / 365.25)  # cold winters, so that there is a snow store
    whole = invented_history(2)
    return invented_history(2, air_c=np.resize(air, len(whole.level_m)))


@pytest.fixture(scope="module")
def fit(history):
    return fit_level(history, rain="degraded", seed=1, steps=5, tell=quiet)


def test_a_fit_comes_back_from_its_bytes_to_the_bit(fit):
    back = unpack_fit(pack_fit(fit))

    assert (back.step_minutes, back.model, back.rain) == (1440, fit.model, "degraded")
    assert back.parameters == fit.parameters
    assert back.scores == fit.scores
    assert back.arrays.keys() == fit.arrays.keys()
    for name, values in fit.arrays.items():
        np.testing.assert_array_equal(back.arrays[name], values)


def test_what_comes_back_forecasts_the_same(fit, history):
    def paths(with_fit):
        rain = np.array([0.0, 9.0, 3.0, 0.0, 0.0])
        return look_ahead(
            with_fit, history, steps=5, rain_ahead_mm=rain, air_ahead_c=np.full(5, 4.0)
        ).paths

    np.testing.assert_array_equal(paths(fit), paths(unpack_fit(pack_fit(fit))))


def test_a_fit_stands_for_its_river_and_for_both_kinds_of_day(fit):
    river = river_of(fit)

    assert len(river.sims) == 2
    assert river.is_snowy
    assert river.sims[0].catchment.stores.x1_mm[0] == fit.parameters["x1_mm"]
    assert learned_of(fit, "run").errors.shape[1] == learned_of(fit, "none").errors.shape[1] == 7
    assert learned_of(fit, "made up") is None


@pytest.mark.parametrize("spoil", [lambda data: b"", lambda data: b"PK", lambda data: data[:-900]])
def test_bytes_that_are_no_fit_are_refused_in_words(fit, spoil):
    with pytest.raises(ValueError, match="are not a kept fit"):
        unpack_fit(spoil(pack_fit(fit)))


def test_nothing_in_kept_bytes_can_run():
    class Trap:
        def __reduce__(self):
            return print, ("run",)

    data = io.BytesIO()
    np.savez(data, header=np.array([Trap()], dtype=object))

    with pytest.raises(ValueError, match="are not a kept fit"):
        unpack_fit(data.getvalue())
