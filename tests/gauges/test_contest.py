"""Two models held against the same moments."""

import numpy as np
import pytest

from guiding.gauges.hydrology import contest
from guiding.gauges.hydrology.contest import held_against, level_errors, spread_origins
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.outlook import Outlook


def test_origins_are_spread_evenly_and_their_leads_end_before_the_end():
    known = np.full(1000, 0.5)
    known[300:400] = np.nan

    origins = spread_origins(known, 100, 900, (1, 5, 24), 20)

    assert origins.size == 20
    assert origins.min() == 100
    assert origins.max() == 900 - 24 - 1
    assert np.isfinite(known[origins]).all()


def test_only_moments_that_both_speak_of_count():
    old = np.array([[1.0, 2.0], [1.0, np.nan], [3.0, 4.0]])
    new = np.array([[0.5, 1.0], [0.1, 0.1], [1.5, 2.0]])

    found = held_against((1, 2), old, new)

    assert found.n == 2
    assert found.old == (2.0, 3.0)
    assert found.new == (1.0, 1.5)
    assert found.ratio == 0.5
    assert not found.is_enough


@pytest.mark.parametrize("silent", [np.full((30, 2), np.nan), np.zeros((30, 2))])
def test_where_nothing_can_be_told_one_is_as_good_as_the_other(silent):
    found = held_against((1, 2), silent, silent)

    assert found.ratio == 1.0


def test_errors_are_made_from_the_past_of_each_origin_only(monkeypatch):
    level = np.arange(400.0)
    history = History(
        step_minutes=1440,
        level_m=level,
        rain_mm=None,
        air_c=None,
        pet_mm=None,
        year_share=level / 366 % 1,
        latitude=None,
    )
    ends = []

    def look(fit, recent, *, steps, rain_ahead_mm, air_ahead_c):
        ends.append((recent.level_m[-1], len(recent.level_m)))
        paths = recent.level_m[-1] + np.arange(1, steps + 1.0) + np.zeros((3, 1))
        return Outlook(paths=paths + 0.5, says=())

    monkeypatch.setattr(contest, "look_ahead", look)

    errors = level_errors(None, history, np.array([50, 390, 398]), (1, 5))

    assert ends == [(50.0, 51), (390.0, 365), (398.0, 365)]
    # every path half a metre above what came: that is its score; nothing is on file after the end
    np.testing.assert_allclose(errors, [[0.5, 0.5], [0.5, 0.5], [0.5, np.nan]])
