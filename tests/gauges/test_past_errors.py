import numpy as np

from guiding.gauges.hydrology.past_errors import bridged

LEADS = 40


def with_hole(first, length):
    errors = np.tile(np.arange(LEADS, dtype=float), (2, 1))
    errors[0, first : first + length] = np.nan
    return errors


def test_a_short_hole_in_past_errors_is_bridged_by_a_straight_line():
    np.testing.assert_allclose(bridged(with_hole(10, 3))[0], np.arange(LEADS))


def test_a_longer_hole_one_at_an_end_and_many_small_ones_stay():
    many = with_hole(10, 1)
    many[0, 2:30:3] = np.nan

    for errors in (with_hole(10, 4), with_hole(0, 1), with_hole(LEADS - 1, 1), many):
        np.testing.assert_array_equal(bridged(errors), errors)
