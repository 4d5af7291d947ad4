"""When the river is within the good range: whole paths, all the time, unknown never a yes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.good_range import (
    GoodRange,
    PartAhead,
    chance_within,
    good_range,
    windows_ahead,
)
from guiding.gauges.hydrology.record import MarkLevel
from tests.gauges.drawn import DAY, HOUR, MARKS, NOW, hourly, record

GOOD = GoodRange(low=MARKS[1], high=MARKS[2])  # 0.40 to under 0.90 m
STEADY = hourly(lambda h: 0.5, days=3)


def part(name, starts, ends):
    return PartAhead(name=name, starts_at=NOW + starts * HOUR, ends_at=NOW + ends * HOUR)


def within(forecast, starts, ends, levels=STEADY):
    return chance_within(forecast, levels, GOOD, NOW + starts * HOUR, NOW + ends * HOUR)


def test_the_range_goes_from_good_to_the_next_mark_above_whichever_it_is():
    assert good_range(MARKS) == GOOD
    without_high = [mark for mark in MARKS if mark.kind != "high"]
    assert good_range(without_high).high.kind == "big"


def test_a_range_without_an_upper_end_is_no_range():
    assert good_range(MARKS[:2]) == "no mark above good says where the good range ends"
    assert good_range(()) == "no mark says from which level it is good"
    same = MarkLevel(kind="high", name="high", level_m=0.40)
    assert isinstance(good_range((MARKS[1], same)), str)


def test_the_chance_is_the_share_of_paths_that_stay_inside_all_the_time():
    # eleven paths from -5 to +5 cm about a median that touches 0.435 m in the eighth hour only:
    # those at 0.385 and 0.395 leave the range there
    medians = [0.5] * 7 + [0.435] + [0.5] * 112

    assert within(record(medians), 1, 7) == 1.0
    assert within(record(medians), 1, 8) == pytest.approx(9 / 11)


def test_half_an_hour_between_two_steps_is_judged_by_both():
    # within at the third hour, out of range at the fourth
    forecast = record([0.5] * 3 + [1.0] * 117, spread_m=0.0)

    assert within(forecast, 2.1, 2.6) == 1.0
    assert within(forecast, 3.1, 3.6) == 0.0


def test_the_upper_mark_itself_is_outside():
    assert within(record([0.9] * 120, spread_m=0.0), 1, 5) == 0.0
    assert within(record([0.4] * 120, spread_m=0.0), 1, 5) == 1.0


def test_hours_beyond_the_forecast_or_with_a_hole_are_not_known():
    assert within(record([0.5] * 120), 118, 125) is None
    assert within(record([0.5] * 3 + [None] * 117), 2, 6) is None
    assert within(record([0.5] * 120, with_paths=False), 2, 6) is None
    assert within(record([0.5] * 120), -4, 4, levels=[]) is None


def test_what_was_measured_counts_on_every_path():
    low = hourly(lambda h: 0.3 if -3 <= h <= -2 else 0.5, days=1)

    assert within(record([0.5] * 120), -6, 4) == 1.0
    assert within(record([0.5] * 120), -6, 4, levels=low) == 0.0
    assert within(record([0.5] * 120), -1, 4, levels=low) == 1.0


def test_a_daily_forecast_speaks_for_its_days():
    start = NOW.replace(hour=0)
    daily = record([0.5, 0.5, 0.2, 0.5, 0.5], issued_at=start - DAY, step_minutes=1440)
    levels = [(start - DAY, 0.5)]

    def on(day):
        starts = start + day * DAY + 8 * HOUR
        return chance_within(daily, levels, GOOD, starts, starts + 4 * HOUR)

    assert [on(day) for day in range(-1, 5)] == [1.0, 1.0, 1.0, 0.0, 1.0, 1.0]
    assert on(5) is None


def test_parts_that_follow_each_other_are_one_window_with_the_chance_of_the_whole():
    chances = {(8, 12): 0.9, (13, 17): 0.8, (8, 17): 0.7, (18, 22): 0.3}

    found = windows_ahead(
        [part("morning", 8, 12), part("afternoon", 13, 17), part("evening", 18, 22)],
        lambda a, b: chances[int((a - NOW) / HOUR), int((b - NOW) / HOUR)],
    )

    (window,) = found.windows
    assert (window.parts, window.chance) == (("morning", "afternoon"), 0.7)
    assert (window.starts_at, window.ends_at) == (NOW + 8 * HOUR, NOW + 17 * HOUR)
    assert found.best is None


def test_parts_stay_apart_where_the_whole_would_be_less_likely_than_not():
    found = windows_ahead(
        [part("morning", 8, 12), part("afternoon", 13, 17)],
        lambda a, b: 0.6 if b - a == 4 * HOUR else 0.4,
    )

    assert [window.parts for window in found.windows] == [("morning",), ("afternoon",)]


def test_a_night_and_the_next_morning_are_two_windows():
    found = windows_ahead([part("night", 13, 17), part("morning", 24, 28)], lambda a, b: 1.0)

    assert len(found.windows) == 2


def test_with_no_window_the_best_part_is_named_and_what_is_not_known_is_kept():
    found = windows_ahead(
        [part("morning", 8, 12), part("evening", 18, 22), part("night", 23, 27)],
        lambda a, b: {8: 0.2, 18: 0.3, 23: None}[int((a - NOW) / HOUR)],
    )

    assert found.windows == ()
    assert (found.best.parts, found.best.chance) == (("evening",), 0.3)
    assert [one.name for one in found.unknown] == ["night"]


@given(
    seed=st.integers(0, 2**32 - 1),
    starts=st.integers(1, 100),
    lasting=st.integers(1, 12),
    longer=st.integers(0, 8),
)
def test_a_longer_stay_is_never_likelier(seed, starts, lasting, longer):
    rng = np.random.default_rng(seed)
    forecast = record(list(0.6 + np.cumsum(rng.normal(0, 0.02, 120))))

    short = within(forecast, starts, min(starts + lasting, 120))
    long = within(forecast, starts, min(starts + lasting + longer, 120))
    assert 0 <= long <= short <= 1
