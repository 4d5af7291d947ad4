import numpy as np
import pytest

from guiding.gauges.hydrology.rain_spells import (
    beyond_anything_seen,
    filled,
    is_known_behind,
    spell_arrays,
)
from tests.gauges.riverhistory import invented_history


def test_eight_of_the_last_ten_days_of_rain_must_be_on_file():
    has_rain = np.ones(40, dtype=bool)
    has_rain[[20, 22, 24]] = False

    got = is_known_behind(has_rain, np.arange(40), 1)

    # three are missing from the 24th on, until the first of them is ten days back
    assert np.flatnonzero(~got).tolist() == [24, 25, 26, 27, 28, 29]


def test_the_first_days_of_a_record_are_judged_by_what_there_is():
    assert is_known_behind(np.array([True, False, True]), np.array([0, 2]), 1).tolist() == [
        True,
        False,
    ]


def test_more_than_ever_fell_is_said_and_as_much_is_not():
    most = np.array([40.0, 70.0, 90.0])

    assert beyond_anything_seen(np.array([40.0, 0, 0, 0, 0]), most, 1) == ""
    assert beyond_anything_seen(np.array([35.0, 20, 20, 0, 0]), most, 1) == (
        "Not known beyond 12 hours: 75 mm of rain is forecast in the first 3 days, more than "
        "anything on file (70 mm)."
    )
    # what the run does not carry is left out of the sum, not guessed
    assert beyond_anything_seen(np.array([35.0, np.nan, 20, 0, 0]), most, 1) == ""


def test_spells_are_unbroken_and_carry_their_time_of_year():
    history = invented_history(2)
    history.rain_mm[100] = np.nan

    arrays = spell_arrays(history, 7)

    assert np.isfinite(arrays["spells_mm"]).all()
    assert arrays["spells_mm"].shape == (len(arrays["spells_share"]), 7)
    three = np.convolve(np.nan_to_num(history.rain_mm), np.ones(3), mode="valid").max()
    assert arrays["most_mm"][1] == pytest.approx(three)


def test_what_a_run_carries_stays_and_the_rest_is_drawn_from_the_same_season():
    spells = np.arange(40.0).reshape(10, 4)
    share = np.arange(10) / 10
    rain = np.array([1.0, np.nan, 3.0, np.nan])

    got = filled(rain, spells, share, 0.0, 3)

    assert got.shape == (3, 4)
    assert (got[:, [0, 2]] == [1.0, 3.0]).all()
    # the nearest of the year are at its beginning, and at its end
    assert sorted(got[:, 1].tolist()) == [1.0, 5.0, 37.0]
