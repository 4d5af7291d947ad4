import numpy as np
import pytest

from guiding.gauges.hydrology import river_fit
from guiding.gauges.hydrology.history import RainRuns
from guiding.gauges.hydrology.training_weather import ENOUGH_RUNS, given, moments
from tests.gauges.riverhistory import invented_history, quiet

LEADS = 7


def simulated(**changes):
    history = invented_history(3, **changes)
    _, seen = river_fit.fit_river(history, seed=1, tell=lambda share: quiet("fit", share))
    return seen


@pytest.fixture(scope="module")
def river():
    return simulated()


def runs(river, count, every):
    """Return runs that each carry twice the rain that fell, but for the last day ahead."""
    origins = 40 + every * np.arange(count)
    rain = 2 * river.history.rain_mm[origins[:, None] + np.arange(1, LEADS + 1)]
    rain[:, -1] = np.nan
    return RainRuns(origins=origins, rain_mm=rain)


def with_runs(river, kept):
    history = river.history
    parts = {name: getattr(river, name) for name in ("weather", "pasts", "z", "m")}
    fields = {name: getattr(history, name) for name in history.__slots__}
    return type(river)(history=type(history)(**{**fields, "runs": kept}), **parts)


def test_no_moment_is_taken_without_a_level_the_rain_behind_or_all_that_came(river):
    level, rain = river.history.level_m.copy(), river.history.rain_mm.copy()
    level[500:520] = np.nan
    rain[800:805] = np.nan

    got = moments(simulated(level_m=level, rain_mm=rain), LEADS)

    assert got[0] == 30
    assert got[-1] == len(level) - LEADS - 1
    assert not set(range(500, 520)) & set(got)
    # five of the last ten days are missing after the fifth, three of them are from then on
    assert 804 not in got
    assert 812 in got


def test_true_rain_is_that_of_the_days_after(river):
    got = given(river, "true", LEADS, seed=1)

    row = 100
    begins = got.origins[row] + 1
    np.testing.assert_array_equal(got.rain_mm[row], river.history.rain_mm[begins : begins + LEADS])


def test_the_stand_in_is_drawn_several_times_where_moments_are_few(river):
    got = given(river, "degraded", LEADS, seed=1)

    assert got.rain == "degraded"
    assert (np.diff(got.origins) >= 0).all()
    assert np.unique(got.origins).size * 3 == got.origins.size
    assert not np.array_equal(got.rain_mm[0], got.rain_mm[1])


def test_an_archive_of_enough_runs_is_what_the_band_is_trained_on(river):
    kept = runs(river, ENOUGH_RUNS + 20, every=3)

    got = given(with_runs(river, kept), "archive", LEADS, seed=1)

    assert got.rain == "archive"
    np.testing.assert_array_equal(got.origins, kept.origins)
    np.testing.assert_array_equal(got.rain_mm[:, :-1], kept.rain_mm[:, :-1])
    # the day no run carried is not dry: it has the mean of its time of year
    assert (got.rain_mm[:, -1] > 0).all()


@pytest.mark.parametrize(("count", "every"), [(ENOUGH_RUNS - 30, 4), (ENOUGH_RUNS + 20, 1)])
def test_too_few_runs_or_too_short_an_archive_give_way_to_the_stand_in(river, count, every):
    got = given(with_runs(river, runs(river, count, every)), "archive", LEADS, seed=1)

    assert got.rain == "degraded"


def test_without_a_run_no_rain_is_known(river):
    got = given(river, "none", LEADS, seed=1)

    assert (got.rain_mm == 0).all()
    assert got.air_c is None
