from dataclasses import replace

import numpy as np
import pytest

from guiding.gauges.hydrology.level_fit import TooLittle, fit_level
from guiding.gauges.hydrology.level_model import look_ahead
from tests.gauges.riverhistory import invented_history, quiet


def fitted(history, rain="degraded", steps=5, seed=1, tell=quiet):
    return fit_level(history, rain=rain, seed=seed, steps=steps, tell=tell)


@pytest.fixture(scope="module")
def fits(history):
    """Return the fit of each kind of rain."""
    return {rain: fitted(history, rain) for rain in ("true", "degraded", "none")}


@pytest.fixture(scope="module")
def history():
    return invented_history(3)


@pytest.mark.parametrize("rain", ["degraded", "true", "none"])
def test_a_fit_beats_staying_and_four_in_five_lie_in_its_band_on_blocks_left_out(fits, rain):
    fit = fits[rain]

    assert fit.rain == rain
    assert [row.lead for row in fit.scores] == [1, 2, 3, 4, 5, 6, 7]
    assert all(row.crpss > 0.1 for row in fit.scores)
    # widened until it held, on these very outcomes
    assert all(0.79 <= row.cover80 <= 0.95 for row in fit.scores)
    if rain == "true":
        assert all(row.pi > 0.5 for row in fit.scores)


def test_surer_rain_makes_a_better_fit(fits):
    true, degraded, none = (fits[rain].scores[3] for rain in ("true", "degraded", "none"))

    assert true.crpss > degraded.crpss > none.crpss


def test_the_same_seed_gives_the_same_fit(fits, history):
    one, other = fits["degraded"], fitted(history)

    assert one.parameters == other.parameters
    np.testing.assert_array_equal(one.arrays["run_errors"], other.arrays["run_errors"])


def test_without_an_archive_the_stand_in_is_used_and_said(history):
    assert fitted(history, "archive").rain == "degraded"


def test_it_tells_how_far_it_has_come():
    told = []
    fitted(invented_history(1), tell=lambda what, share: told.append((what, share)))

    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert len(told) > 10


@pytest.mark.parametrize(
    ("spoil", "word"),
    [
        (lambda of: of.until(80), "80 days of level with rain are on file, less than a season"),
        (lambda of: replace(of, rain_mm=None), "no rain is on file"),
        (lambda of: replace(of, rain_mm=np.full_like(of.rain_mm, np.nan)), "0 days of level"),
        (
            lambda of: replace(
                of, level_m=np.where(np.arange(len(of.level_m)) % 5 == 0, np.nan, of.level_m)
            ),
            "too few unbroken windows",
        ),
    ],
)
def test_too_little_is_said_and_not_fitted(history, spoil, word):
    with pytest.raises(TooLittle, match=word):
        fitted(spoil(history))


def test_a_kind_of_rain_there_is_not_is_refused(history):
    with pytest.raises(ValueError, match="'made up'; it is one of archive, degraded, none, true"):
        fitted(history, "made up")


def test_a_season_is_enough_and_holes_are_left_out(history):
    level, rain = history.level_m[:200].copy(), history.rain_mm[:200].copy()
    level[60:66], rain[100:103] = np.nan, np.nan
    short = replace(history.until(200), level_m=level, rain_mm=rain)

    fit = fitted(short)

    assert np.isfinite(fit.arrays["run_errors"]).all()
    assert fit.parameters["days"] == 194
    assert (
        look_ahead(fit, short, steps=5, rain_ahead_mm=np.zeros(5), air_ahead_c=None).paths
        is not None
    )


def test_an_hourly_gauge_that_drops_an_hour_a_day_is_still_fitted():
    hourly = invented_history(0.4, 60)
    level = hourly.level_m.copy()
    level[5::24] = np.nan

    fit = fitted(replace(hourly, level_m=level), steps=24)

    assert fit.arrays["run_errors"].shape[1] == 36
    assert len(fit.arrays["run_errors"]) > 500
