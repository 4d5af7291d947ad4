from dataclasses import replace

import numpy as np
import pytest

from guiding.gauges.hydrology.level_fit import fit_level
from guiding.gauges.hydrology.level_model import look_ahead
from tests.gauges.riverhistory import invented_history, quiet

STEPS = 5
DRY = np.zeros(STEPS)


@pytest.fixture(scope="module")
def history():
    return invented_history(4)


@pytest.fixture(scope="module")
def fit(history):
    return fit_level(history.until(1250), rain="degraded", seed=1, steps=STEPS, tell=quiet)


@pytest.fixture(scope="module")
def recent(history):
    return history.span(1000, 1365)


def ahead(fit, recent, rain=DRY, *, steps=STEPS, near_steps=None, air=None):
    return look_ahead(
        fit, recent, steps=steps, rain_ahead_mm=rain, air_ahead_c=air, near_steps=near_steps
    )


def with_gap(recent, name, where):
    values = getattr(recent, name).copy()
    values[where] = np.nan
    return replace(recent, **{name: values})


def width(paths, lead=0):
    low, high = np.quantile(paths[:, lead], [0.1, 0.9])
    return high - low


def test_whole_paths_in_millimetres_of_all_that_was_asked_for(fit, recent):
    got = ahead(fit, recent)

    assert got.paths.shape[1] == STEPS
    assert got.paths.shape[0] >= 100
    assert np.isfinite(got.paths).all()
    np.testing.assert_array_equal(got.paths, np.round(got.paths, 3))
    assert got.says == ()


def test_neighbouring_days_of_a_path_belong_together(fit, recent):
    """Paths drawn day by day would have correlations of nought, give or take .05 in the mean."""
    together = np.corrcoef(ahead(fit, recent).paths, rowvar=False)

    next_day = np.diagonal(together, 1)
    assert next_day.mean() > 0.2
    assert next_day.mean() > np.diagonal(together, 3).mean() + 0.1


def test_rain_lifts_the_river_and_widens_the_band(fit, recent):
    dry, wet = ahead(fit, recent).paths, ahead(fit, recent, np.array([0, 15.0, 4, 0, 0])).paths

    assert np.median(wet[:, 2]) > np.median(dry[:, 2]) + 0.05
    assert width(wet, 2) > width(dry, 2)


def test_without_a_run_the_band_is_of_all_weathers_and_says_so(fit, recent):
    got = ahead(fit, recent, None)

    assert got.says[0].startswith("Made without a rain forecast")
    assert width(got.paths, 4) > width(ahead(fit, recent).paths, 4)
    # a run without a single step is no run
    empty = ahead(fit, recent, np.full(STEPS, np.nan))
    np.testing.assert_array_equal(empty.paths, got.paths)


def test_missing_steps_of_a_run_are_unknown_and_not_dry(fit, recent):
    partly = DRY.copy()
    partly[2:] = np.nan

    known, got = ahead(fit, recent), ahead(fit, recent, partly)

    assert got.says[0].startswith("The rain forecast carries no rain for 3 of the 5 steps")
    # a step that is carried is as it was; a missing one has room for rain
    assert np.median(got.paths[:, 1]) == pytest.approx(np.median(known.paths[:, 1]), abs=0.02)
    assert np.quantile(got.paths[:, 4], 0.9) > np.quantile(known.paths[:, 4], 0.9)


def test_more_rain_than_any_on_file_is_not_known_beyond_the_first_steps(fit, recent):
    flood = np.full(STEPS, 300.0)

    assert ahead(fit, recent, flood).paths is None  # a daily value speaks for a whole day
    got = ahead(fit, recent, flood, near_steps=1)
    assert np.isfinite(got.paths[:, 0]).all()
    assert np.isnan(got.paths[:, 1:]).all()
    assert any("more than anything on file" in said for said in got.says)


def test_a_band_that_leaves_the_record_is_said(fit, recent):
    most = fit.arrays["most_mm"]
    got = ahead(fit, recent, np.array([most[0] * 0.95, 0, 0, 0, 0]))

    reaches = np.quantile(got.paths, 0.9, axis=0).max() > fit.parameters["highest_m"]
    assert reaches == any("reaches above the highest level on file" in said for said in got.says)


def test_a_late_level_is_begun_from_where_it_was_and_said(fit, recent):
    got = ahead(fit, with_gap(recent, "level_m", slice(-1, None)))

    assert any("The last level is 1 steps old" in said for said in got.says)
    assert got.paths.shape[1] == STEPS
    assert np.isfinite(got.paths).all()
    assert width(got.paths) > width(ahead(fit, recent).paths)


def test_leads_beyond_the_fit_are_not_known(fit, recent):
    got = ahead(fit, with_gap(recent, "level_m", slice(-4, None)))

    # seven leads are fitted, and four days have gone by
    assert np.isfinite(got.paths[:, :3]).all()
    assert np.isnan(got.paths[:, 3:]).all()
    assert any("Nothing is said of the last 2 steps" in said for said in got.says)


@pytest.mark.parametrize(
    ("name", "where", "word"),
    [
        ("level_m", slice(None), "no level in the recent history"),
        ("level_m", slice(-9, None), "too old to begin from"),
        ("rain_mm", slice(-5, None), "less than 80% of the rain of the last 10 days"),
    ],
)
def test_from_what_is_not_known_nothing_is_said(fit, recent, name, where, word):
    got = ahead(fit, with_gap(recent, name, where))

    assert got.paths is None
    assert word in got.says[0]


def test_a_level_below_the_floor_of_the_fit_is_no_level_of_this_gauge(fit, recent):
    got = ahead(fit, replace(recent, level_m=recent.level_m - 5))

    assert got.paths is None
    assert "the gauge may have been moved" in got.says[0]


def test_rain_missing_far_behind_is_said_and_changes_little(fit, recent):
    whole, got = ahead(fit, recent), ahead(fit, with_gap(recent, "rain_mm", slice(100, 130)))

    assert any("Rain is missing for 30 of the 365 steps behind" in said for said in got.says)
    assert np.median(got.paths) == pytest.approx(np.median(whole.paths), abs=0.05)


def test_a_change_that_is_not_known_is_said(fit, recent):
    got = ahead(fit, with_gap(recent, "level_m", slice(-2, -1)))

    assert any("its change is not known" in said for said in got.says)
    assert np.isfinite(got.paths).all()


def test_a_short_warm_up_begins_as_is_usual_and_says_so(fit, history):
    got = ahead(fit, history.span(1265, 1365))

    assert any("Only 100 days lie behind" in said for said in got.says)
    whole = ahead(fit, history.span(1000, 1365))
    assert np.median(got.paths) == pytest.approx(np.median(whole.paths), abs=0.05)


def test_a_young_fit_says_nothing_of_weather_it_never_saw(history):
    young = history.until(300)
    fit = fit_level(young, rain="degraded", seed=1, steps=STEPS, tell=quiet)
    partly = DRY.copy()
    partly[3:] = np.nan

    for rain in (None, partly):
        got = ahead(fit, young, rain, near_steps=1)
        assert np.isnan(got.paths[:, 1:]).all()
        assert any("less than a year of level" in said for said in got.says)
    assert np.isfinite(ahead(fit, young).paths).all()


def test_a_fit_of_another_step_or_version_is_refused(fit, recent):
    with pytest.raises(ValueError, match="steps of 60 minutes"):
        ahead(fit, replace(recent, step_minutes=60))
    with pytest.raises(ValueError, match="Fit it again"):
        ahead(replace(fit, model="an older one"), recent)


def test_the_same_river_under_another_datum_is_forecast_as_much_higher(history, fit, recent):
    higher = replace(history, level_m=history.level_m + 3.0)
    other = fit_level(higher.until(1250), rain="degraded", seed=1, steps=STEPS, tell=quiet)

    got = ahead(other, replace(recent, level_m=recent.level_m + 3.0))

    np.testing.assert_allclose(got.paths - 3.0, ahead(fit, recent).paths, atol=2e-3)


def test_where_there_is_snow_the_air_to_come_counts(history):
    days = np.arange(len(history.level_m))
    air = 3 - 9 * np.cos(2 * np.pi * days / 365.25)
    cold = replace(history, air_c=air)
    fit = fit_level(cold.until(1250), rain="degraded", seed=1, steps=STEPS, tell=quiet)
    winter = cold.span(0, 5 + 365 * 2)
    rain = np.array([0.0, 20, 0, 0, 0])

    frost = ahead(fit, winter, rain, air=np.full(STEPS, -9.0))
    thaw = ahead(fit, winter, rain, air=np.full(STEPS, 9.0))
    unknown = ahead(fit, winter, rain)

    assert np.median(thaw.paths[:, 2]) > np.median(frost.paths[:, 2]) + 0.05
    assert any("The air to come is not known" in said for said in unknown.says)
    assert not any("air" in said.lower() for said in thaw.says)
