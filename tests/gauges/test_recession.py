import numpy as np
import pytest

from guiding.gauges.hydrology.recession import FLOOR_MARGIN_M, fit_recession
from tests.gauges.inventedriver import invented_river


def test_a_river_that_falls_by_a_known_share_is_read_back():
    # h - floor falls by 2 % an hour from 1 m for 100 h, and so on again: ln falls by 0.0202 an hour
    fall = np.exp(-0.0202 * np.arange(100))
    level = np.tile(fall, 30)
    floor = level.min() - FLOOR_MARGIN_M

    fitted = fit_recession(level, 60)

    assert fitted.floor_m == pytest.approx(floor)
    # by hand, at the start of the fall: d ln(h - floor) over the first 24 h, an hour
    by_hand = (np.log(1 - floor) - np.log(fall[24] - floor)) / 24
    assert np.interp(np.log(1 - floor), fitted.depths, fitted.rates) == pytest.approx(
        by_hand, rel=0.02
    )


def test_a_fall_goes_on_falling_and_never_reaches_the_floor():
    level, _ = invented_river(1)
    fitted = fit_recession(level, 60)
    start = fitted.depth(np.array([level.max(), np.median(level), level.min()]))

    ahead = fitted.level(fitted.ahead(start, 24 * 60))

    assert (np.diff(ahead, axis=1) <= 0).all()
    assert (ahead > level.min() - FLOOR_MARGIN_M).all()


@pytest.mark.parametrize("step_minutes", [60, 1440])
def test_recession_is_no_worse_than_persistence_on_falls(step_minutes):
    level, _ = invented_river(2 if step_minutes == 60 else 12, step_minutes)
    half = len(level) // 2
    fitted = fit_recession(level[:half], step_minutes)
    lead = 48 if step_minutes == 60 else 3
    starts = np.arange(half, len(level) - lead)
    falls = starts[(level[starts + lead] < level[starts] - 0.005)]

    ahead = fitted.level(fitted.ahead(fitted.depth(level[falls]), lead))[:, -1]

    after = level[falls + lead]
    assert np.mean((ahead - after) ** 2) < np.mean((level[falls] - after) ** 2)


def test_one_level_alone_gives_what_many_give():
    level, _ = invented_river(1)
    fitted = fit_recession(level, 60)
    starts = fitted.depth(level[::500])

    together = fitted.ahead(starts, 5)

    for row, start in zip(together, starts, strict=True):
        np.testing.assert_array_equal(fitted.ahead(np.array([start]), 5)[0], row)


def test_gaps_are_not_bridged_and_too_few_falls_give_none():
    level = np.full(400, np.nan)
    level[::10] = np.linspace(1, 0.5, 40)

    assert fit_recession(level, 60) is None
    assert fit_recession(np.array([0.5, 0.4]), 60) is None


def test_a_level_below_the_floor_is_refused_with_what_is_allowed():
    fitted = fit_recession(invented_river(0.5)[0], 60)

    with pytest.raises(ValueError, match=r"level_m is -3\.0; this recession reads above"):
        fitted.depth(np.array([0.5, -3.0]))
