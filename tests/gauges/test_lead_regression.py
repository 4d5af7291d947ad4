import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.hydrology.lead_regression import fit_leads, predict_leads, standing_at

STEPS, LEADS = 600, 4


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
    return standing_at(z, m, origins, 1440), m[places], z[places], z, m, origins


def test_what_the_simulation_foresees_exactly_is_foreseen_exactly():
    draw = np.random.default_rng(1)
    z = np.cumsum(draw.normal(0, 0.1, STEPS))
    origins = np.arange(5, STEPS - LEADS)
    places = origins[:, None] + np.arange(1, LEADS + 1)
    standing = standing_at(z, z[:, None], origins, 1440)

    fit = fit_leads(standing, z[places][:, :, None], z[places])

    got = predict_leads(fit, standing, z[places][:, :, None])
    # the ridge shrinks a little
    assert np.sqrt(((got - z[places]) ** 2).mean()) < 0.01


def test_it_foresees_better_than_staying_on_what_it_was_not_fitted_on(river):
    standing, m_ahead, z_ahead, *_ = river
    early, late = np.arange(300), np.arange(320, len(z_ahead))
    fit = fit_leads(standing.only(early), m_ahead[early], z_ahead[early])

    got = predict_leads(fit, standing.only(late), m_ahead[late])

    errors = ((got - z_ahead[late]) ** 2).mean(axis=0)
    stays = ((standing.z[late, None] - z_ahead[late]) ** 2).mean(axis=0)
    assert (errors < 0.6 * stays).all()


@given(st.integers(0, 500), st.integers(0, 1), st.floats(0.01, 3))
def test_a_simulation_that_rises_more_never_lowers_what_is_foreseen(river, row, sim, more):
    standing, m_ahead, z_ahead, *_ = river
    # taught on nonsense, so that free weights would be of any sign
    fit = fit_leads(standing, m_ahead[::-1], z_ahead)
    here, ahead = standing.only(np.array([row])), m_ahead[row : row + 1]
    higher = ahead.copy()
    higher[:, :, sim] += more

    assert (predict_leads(fit, here, higher) >= predict_leads(fit, here, ahead) - 1e-12).all()


def test_next_to_a_gap_the_short_regression_speaks(river):
    _, m_ahead, z_ahead, z, m, origins = river
    holed = z.copy()
    gap = origins[100]
    holed[gap] = np.nan
    after = origins > gap
    standing = standing_at(holed, m, origins[after], 1440)
    fit = fit_leads(standing, m_ahead[after], z_ahead[after])

    got = predict_leads(fit, standing, m_ahead[after])

    assert (~standing.is_whole).nonzero()[0].tolist() == [0, 1]  # the two days after the gap
    assert np.isfinite(got).all()
    assert (fit.full[:, 1:3] != 0).all()
    assert fit.short.shape[1] == fit.full.shape[1] - 2 - 2 * m.shape[1]


def test_changes_before_the_beginning_are_not_known():
    standing = standing_at(np.arange(4.0), np.zeros((4, 1)), np.arange(4), 1440)

    assert np.isnan(standing.z_change).tolist() == [True, False, False, False]
    assert np.isnan(standing.z_longer).tolist() == [True, True, False, False]


def test_a_lead_that_never_came_is_not_foreseen(river):
    standing, m_ahead, z_ahead, *_ = river
    never = z_ahead.copy()
    never[:, 2] = np.nan

    got = predict_leads(fit_leads(standing, m_ahead, never), standing, m_ahead)

    assert np.isnan(got[:, 2]).all()
    assert np.isfinite(got[:, [0, 1, 3]]).all()
