import numpy as np
import pytest

from guiding.gauges.hydrology.neighbours import (
    how_many,
    likeness_of,
    nearest,
    needed_widening,
    widened,
)


def test_the_nearest_are_those_that_a_plain_search_finds():
    draw = np.random.default_rng(0)
    places, here = draw.normal(size=(300, 5)), draw.normal(size=(7, 5))

    got = nearest(places, here, 20)

    for row, place in enumerate(here):
        plain = np.argsort(((places - place) ** 2).sum(axis=1))[:20]
        assert set(got[row]) == set(plain)


@pytest.mark.parametrize(("past", "count"), [(40, 10), (480, 120), (3000, 120), (4500, 135)])
def test_how_many_may_speak(past, count):
    assert how_many(past) == count


def test_where_there_are_few_all_of_them_speak():
    assert nearest(np.zeros((3, 5)), np.zeros((2, 5)), 8).shape == (2, 3)


def test_a_feature_that_never_varies_parts_nobody():
    seen = np.zeros((50, 5))
    seen[:, 0] = np.arange(50)

    assert np.isfinite(likeness_of(seen).place(seen)).all()


def test_the_widening_by_hand():
    """Errors 0 to 10: median 5, q90 9. An outcome of 13 lies two widths above, of 3 half below."""
    errors = np.broadcast_to(np.arange(11.0), (2, 11))

    got = needed_widening(errors, np.array([13.0, 3.0]))

    np.testing.assert_allclose(got, [2.0, 0.5], atol=1e-5)


def test_paths_are_stretched_about_their_median_and_stay_whole():
    draw = np.random.default_rng(4)
    paths = np.cumsum(draw.normal(size=(60, 8)), axis=1)

    got = widened(paths, np.full(8, 1.5))

    np.testing.assert_allclose(np.median(got, axis=0), np.median(paths, axis=0))
    np.testing.assert_allclose(got.std(axis=0), 1.5 * paths.std(axis=0))
    assert np.corrcoef(got[:, 6], got[:, 7])[0, 1] == pytest.approx(
        np.corrcoef(paths[:, 6], paths[:, 7])[0, 1]
    )
