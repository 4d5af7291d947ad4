import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.hydrology.arriving_rain import BEFORE_TARGET
from guiding.gauges.hydrology.lead_regression import (
    Ahead,
    fit_leads,
    ground_at,
    predict_leads,
    standing_at,
)

STEPS, LEADS = 600, 4
YEAR = np.arange(STEPS) / 365.25 % 1


def standing_on_dry_ground(z, m, origins):
    rain, fillings = np.zeros(len(z)), np.zeros((len(z), 2))
    ground = ground_at(rain, fillings, YEAR[: len(z)], origins, 1440)
    return standing_at(z, m, origins, 1440, ground)


def dry(m_ahead):
    return Ahead(m=m_ahead, rain_mm=np.zeros(m_ahead.shape[:2]), step_minutes=1440)


@pytest.fixture(scope="module")
def river():
    """Return z, two simulations of it and all that can be forecast from."""
    draw = np.random.default_rng(2)
    z = np.zeros(STEPS)
    for step in range(1, STEPS):
        z[step] = 0.9 * z[step - 1] + draw.normal(0, 0.3)
    m = np.stack([z + draw.normal(0, 0.2, STEPS), 0.7 * z + draw.normal(0, 0.3, STEPS)], axis=1)
    origins = np.arange(5, STEPS - LEADS)
    places = origins[:, None] + np.arange(1, LEADS + 1)
    return standing_on_dry_ground(z, m, origins), dry(m[places]), z[places], z, m, origins


def test_what_the_simulation_foresees_exactly_is_foreseen_exactly():
    draw = np.random.default_rng(1)
    z = np.cumsum(draw.normal(0, 0.1, STEPS))
    origins = np.arange(5, STEPS - LEADS)
    places = origins[:, None] + np.arange(1, LEADS + 1)
    standing = standing_on_dry_ground(z, z[:, None], origins)

    fit = fit_leads(standing, dry(z[places][:, :, None]), z[places])

    got = predict_leads(fit, standing, dry(z[places][:, :, None]))
    # the ridge shrinks a little
    assert np.sqrt(((got - z[places]) ** 2).mean()) < 0.01


def test_it_foresees_better_than_staying_on_what_it_was_not_fitted_on(river):
    standing, ahead, z_ahead, *_ = river
    early, late = np.arange(300), np.arange(320, len(z_ahead))
    fit = fit_leads(standing.only(early), ahead.only(early), z_ahead[early])

    got = predict_leads(fit, standing.only(late), ahead.only(late))

    errors = ((got - z_ahead[late]) ** 2).mean(axis=0)
    stays = ((standing.z[late, None] - z_ahead[late]) ** 2).mean(axis=0)
    assert (errors < 0.6 * stays).all()


@given(st.integers(0, 500), st.integers(0, 1), st.floats(0.01, 3))
def test_a_simulation_that_rises_more_never_lowers_what_is_foreseen(river, row, sim, more):
    standing, ahead, z_ahead, *_ = river
    # taught on nonsense, so that free weights would be of any sign
    fit = fit_leads(standing, dry(ahead.m[::-1]), z_ahead)
    here, coming = standing.only(np.array([row])), ahead.only(np.array([row]))
    higher = coming.m.copy()
    higher[:, :, sim] += more

    lifted = predict_leads(fit, here, dry(higher))

    assert (lifted >= predict_leads(fit, here, coming) - 1e-12).all()


@pytest.fixture(scope="module")
def wet_river():
    """Return a standing, what is ahead and what came, of a river that answers rain on wet ground.

    Its simulation knows nothing.
    """
    draw = np.random.default_rng(5)
    rain = np.where(draw.random(STEPS) < 0.3, draw.exponential(4.0, STEPS), 0)
    filling = 0.5 + 0.4 * np.sin(2 * np.pi * YEAR)
    z = np.convolve(rain * filling**2, 0.5 ** np.arange(9))[:STEPS]
    origins = np.arange(40, STEPS - LEADS)
    places = origins[:, None] + np.arange(1, LEADS + 1)
    m = np.zeros((STEPS, 1))
    ground = ground_at(rain, np.stack([filling, filling], axis=1), YEAR, origins, 1440)
    ahead = Ahead(m=m[places], rain_mm=rain[places], step_minutes=1440)
    return standing_at(z, m, origins, 1440, ground), ahead, z[places]


def test_rain_to_arrive_is_answered_where_the_simulation_knows_nothing(wet_river):
    standing, ahead, z_ahead = wet_river
    early, late = np.arange(370), np.arange(375, len(z_ahead))
    fit = fit_leads(standing.only(early), ahead.only(early), z_ahead[early])
    deaf = dry(ahead.m)
    without = fit_leads(standing.only(early), deaf.only(early), z_ahead[early])

    got = predict_leads(fit, standing.only(late), ahead.only(late))

    errors = ((got - z_ahead[late]) ** 2).mean(axis=0)
    blind = predict_leads(without, standing.only(late), deaf.only(late))
    assert (errors < 0.2 * ((blind - z_ahead[late]) ** 2).mean(axis=0)).all()


@given(st.integers(0, 500), st.integers(0, LEADS - 1), st.floats(0.1, 80))
def test_more_rain_to_arrive_never_lowers_what_is_foreseen(wet_river, row, when, more):
    standing, ahead, z_ahead = wet_river
    # taught on a river that falls with rain
    fit = fit_leads(standing, ahead, -z_ahead)
    here, coming = standing.only(np.array([row])), ahead.only(np.array([row]))
    wetter = coming.rain_mm.copy()
    wetter[:, when] += more

    lifted = predict_leads(fit, here, Ahead(m=coming.m, rain_mm=wetter, step_minutes=1440))

    assert (lifted >= predict_leads(fit, here, coming) - 1e-12).all()


def test_half_a_year_says_nothing_of_the_season(river):
    standing, ahead, z_ahead, *_ = river
    half = np.arange(150)
    fit = fit_leads(standing.only(half), ahead.only(half), z_ahead[half])
    whole = fit_leads(standing, ahead, z_ahead)
    count = 2 * ahead.m.shape[2] + 2 * (len(BEFORE_TARGET[1440]) - 1)
    seasons = slice(-count - 2, -count)

    assert (fit.full[:, seasons] == 0).all()
    assert (whole.full[:, seasons] != 0).all()


def test_next_to_a_gap_the_short_regression_speaks(river):
    _, ahead, z_ahead, z, m, origins = river
    holed = z.copy()
    gap = origins[100]
    holed[gap] = np.nan
    after = origins > gap
    standing = standing_on_dry_ground(holed, m, origins[after])
    fit = fit_leads(standing, ahead.only(after), z_ahead[after])

    got = predict_leads(fit, standing, ahead.only(after))

    assert (~standing.is_whole).nonzero()[0].tolist() == [0, 1]  # the two days after the gap
    assert np.isfinite(got).all()
    assert (fit.full[:, 1:3] != 0).all()
    ground = standing.rain.shape[1] + standing.fillings.shape[1] + 2
    assert fit.short.shape[1] == fit.full.shape[1] - 2 - 2 * m.shape[1] - ground


def test_changes_before_the_beginning_are_not_known():
    standing = standing_on_dry_ground(np.arange(4.0), np.zeros((4, 1)), np.arange(4))

    assert np.isnan(standing.z_change).tolist() == [True, False, False, False]
    assert np.isnan(standing.z_longer).tolist() == [True, True, False, False]


def test_a_lead_that_never_came_is_not_foreseen(river):
    standing, ahead, z_ahead, *_ = river
    never = z_ahead.copy()
    never[:, 2] = np.nan

    got = predict_leads(fit_leads(standing, ahead, never), standing, ahead)

    assert np.isnan(got[:, 2]).all()
    assert np.isfinite(got[:, [0, 1, 3]]).all()
