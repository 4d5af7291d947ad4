"""Many paths read at once say what each path alone says. Numbers: common practice, no source."""

import time
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.path_phases import PHASES, phases_of_paths
from guiding.gauges.conditions.phases import read_phase
from guiding.gauges.conditions.values import Phase
from tests.gauges.drawn import DAY, HOUR, NOW, hourly

QUARTER = timedelta(minutes=15)


def many(before, times, paths, step=HOUR, low_below_m=0.3, at=None):
    at = at or times[-1]
    codes = phases_of_paths(before, times, np.asarray(paths, dtype=float), at, step, low_below_m)
    return [PHASES[code] for code in codes]


def one_by_one(before, times, paths, step=HOUR, low_below_m=0.3, at=None):
    at = at or times[-1]
    return [
        read_phase([*before, *zip(times, path, strict=True)], at, step, low_below_m).phase
        for path in np.asarray(paths, dtype=float).tolist()
    ]


HOURS = np.arange(1, 31)
COURSES = {
    Phase.SETTLED: np.full(30, 0.45),
    Phase.FIRST_RISE: 0.45 + 0.05 * np.maximum(HOURS - 22, 0),
    Phase.RISING: 0.45 + 0.05 * np.maximum(HOURS - 5, 0),
    Phase.PEAK: 0.45 + 0.05 * np.clip(HOURS - 5, 0, 10),
    Phase.COLOURED_FALLING: np.where(HOURS < 20, 0.45 + 0.05 * HOURS, 1.45 - 0.03 * (HOURS - 19)),
    Phase.FINING_DOWN: 0.45 - 0.004 * HOURS,
}


def test_each_course_of_a_river_has_its_own_phase():
    times = [NOW + int(h) * HOUR for h in HOURS]
    seen = many(hourly(lambda h: 0.45, 14), times, list(COURSES.values()))

    assert seen == list(COURSES)


def test_a_low_river_that_goes_on_as_it_is_is_stale_and_one_that_lifts_is_not():
    times = [NOW + int(h) * HOUR for h in HOURS]
    low = np.full(30, 0.25)

    assert many(hourly(lambda h: 0.25, 14), times, [low, low + (HOURS > 28) * 0.06]) == [
        Phase.STALE,
        Phase.FIRST_RISE,
    ]


def test_what_is_too_short_or_has_holes_is_not_known_on_any_path():
    times = [NOW + int(h) * HOUR for h in HOURS]
    late = [NOW + (int(h) + 80) * HOUR for h in HOURS]
    paths = np.full((3, 30), 0.45)

    assert set(many(hourly(lambda h: 0.45, 1), times, paths)) == {Phase.NOT_KNOWN}
    assert set(many(hourly(lambda h: 0.45, 14), late, paths)) == {Phase.NOT_KNOWN}
    assert many([], [], np.empty((2, 0)), at=NOW) == [Phase.NOT_KNOWN] * 2
    assert many(hourly(lambda h: 0.45, 14), times, np.empty((0, 30))) == []


@given(
    seed=st.integers(0, 2**32 - 1),
    step=st.sampled_from([QUARTER, HOUR, DAY]),
    days_behind=st.floats(0, 16),
    ahead=st.integers(1, 60),
    grain_m=st.sampled_from([0.0, 0.001, 0.004, 0.01, 0.05]),
    calm=st.floats(0, 1),
    holes=st.sampled_from([0.0, 0.0, 0.05, 0.3]),
    low_below_m=st.none() | st.floats(0.2, 1.2),
)
def test_many_paths_at_once_say_what_each_says_alone(
    seed, step, days_behind, ahead, grain_m, calm, holes, low_below_m
):
    rng = np.random.default_rng(seed)

    def walk(shape):
        moves = rng.normal(0, grain_m, shape) + 0.03 * (rng.random(shape) > 0.985)
        return np.cumsum(moves * (rng.random(shape) > calm), axis=-1)

    count = int(days_behind * DAY / step)
    behind = np.round(0.5 + walk((count,)), 3)
    before = [
        (NOW - (count - 1 - i) * step, float(v))
        for i, v in enumerate(behind)
        if rng.random() >= holes
    ]
    start = before[-1][1] if before else 0.5
    times = [NOW + (k + 1) * step for k in range(ahead)]
    paths = np.round(start + walk((12, ahead)), 3)

    seen = many(before, times, paths, step, low_below_m)

    assert seen == one_by_one(before, times, paths, step, low_below_m)


@pytest.mark.parametrize("seed", [1, 2])
def test_four_hundred_paths_cost_little(seed):
    rng = np.random.default_rng(seed)
    before = hourly(lambda h: 0.5, 21)
    times = [NOW + k * HOUR for k in range(1, 121)]
    paths = 0.5 + np.cumsum(rng.normal(0, 0.01, (400, 120)), axis=1)

    begun = time.process_time()
    many(before, times, paths)

    assert time.process_time() - begun < 0.25  # measured: 0.02 s
