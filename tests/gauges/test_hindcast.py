from dataclasses import replace

import numpy as np
import pytest

from guiding.gauges.hydrology import hindcast
from guiding.gauges.hydrology.hindcast import hindcast_level
from guiding.gauges.hydrology.level_fit import TooLittle, fit_level
from guiding.gauges.hydrology.level_model import look_ahead
from guiding.gauges.hydrology.scores import rmse
from tests.gauges.riverhistory import invented_history, quiet

SPLIT = 900
LEADS = (1, 3, 5)


@pytest.fixture(scope="module")
def history():
    return invented_history(4)


def tried(history, rain="true", leads=LEADS, origins=300, until=SPLIT, **changes):
    return hindcast_level(
        history,
        train_until=until,
        rain=rain,
        leads=leads,
        origins=origins,
        seed=1,
        tell=quiet,
        **changes,
    )


@pytest.mark.parametrize("rain", ["true", "degraded", "none"])
def test_it_beats_its_peers_and_its_band_holds_on_what_it_has_never_seen(history, rain):
    every = len(history.level_m) - SPLIT - 1
    report = tried(history, rain, origins=every)

    for model, stays, falls in zip(report.leads, report.persistence, report.recession, strict=True):
        assert model.lead == stays.lead == falls.lead
        # the last have no target at every lead
        assert every - max(LEADS) <= model.n == stays.n <= every
        assert stays.pi == pytest.approx(0)
        assert model.crps < min(stays.crps, falls.crps)
        assert 0.70 <= model.cover80 <= 0.90


def test_it_scores_what_look_ahead_would_have_issued(history):
    """The same forecasts, one by one, from a year of warm-up each."""
    report = tried(history, leads=(3,), origins=40)
    fit = fit_level(history.until(SPLIT), rain="true", seed=1, steps=3, tell=quiet)
    origins = np.linspace(SPLIT, len(history.level_m) - 4, 40).astype(int)

    means = []
    for origin in origins:
        got = look_ahead(
            fit,
            history.span(origin - 500, origin + 1),
            steps=3,
            rain_ahead_mm=history.rain_mm[origin + 1 : origin + 4],
            air_ahead_c=None,
        )
        known = got.paths is not None and np.isfinite(got.paths[:, 2]).all()
        means.append(got.paths[:, 2].mean() if known else np.nan)

    assert np.isfinite(means).sum() >= 38  # rain beyond anything on file is not known
    one_by_one = rmse(history.level_m[origins + 3], np.array(means))
    assert report.leads[0].rmse == pytest.approx(one_by_one, rel=0.1)


def test_the_clock_that_is_handed_in_is_the_only_one(history):
    ticks = iter(range(100))

    with_clock = tried(history, origins=10, clock=lambda: float(next(ticks)))
    without = tried(history, origins=10)

    assert (with_clock.fit_s, with_clock.forecast_s) == (1.0, 1.0)
    assert (without.fit_s, without.forecast_s) == (None, None)
    assert with_clock.leads == without.leads


def test_moments_whose_rain_behind_is_missing_are_not_scored(history):
    rain = history.rain_mm.copy()
    rain[1000:1100] = np.nan

    report = tried(replace(history, rain_mm=rain), origins=100_000)

    # from the third missing day to the eighth day after them, and no target after the last
    whole = tried(history, origins=100_000)
    assert whole.leads[0].n - report.leads[0].n == 100 - 2 + 7


def test_too_little_before_the_split_is_said(history):
    with pytest.raises(TooLittle, match="less than a season"):
        tried(history, until=60)


def test_nothing_left_to_score_is_refused(history):
    with pytest.raises(ValueError, match="nothing to score"):
        tried(history, until=len(history.level_m) - 1)


def test_a_kind_of_rain_there_is_not_is_refused(history):
    with pytest.raises(ValueError, match="'archive'; it is one of true, degraded, none"):
        tried(history, "archive")


def test_origins_are_taken_some_at_a_time_without_a_seam(history, monkeypatch):
    whole = tried(history, origins=90)
    monkeypatch.setattr(hindcast, "AT_ONCE", 7)

    in_parts = tried(history, origins=90)

    for one, other in zip(whole.leads, in_parts.leads, strict=True):
        assert one.crps == pytest.approx(other.crps, rel=1e-9)
