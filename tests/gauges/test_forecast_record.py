from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel, class_of

START = datetime(2026, 5, 20, 9, tzinfo=UTC)
MARKS = (
    MarkLevel(kind="high", name="high", level_m=0.9),
    MarkLevel(kind="summer", name="summer level", level_m=0.3),
    MarkLevel(kind="good", name="good", level_m=0.4),
)


def record_of(paths, step_minutes=60, start=START):
    steps = np.shape(paths)[1]
    step = timedelta(minutes=step_minutes)
    return ForecastRecord(
        issued_at=start,
        model="made by hand",
        step_minutes=step_minutes,
        times=tuple(start + step * (k + 1) for k in range(steps)),
        q10=(None,) * steps,
        q50=(None,) * steps,
        q90=(None,) * steps,
        paths=np.array(paths, dtype=float),
        inputs=(),
    )


@pytest.mark.parametrize(
    ("level_m", "expected"),
    [(0.29, "low"), (0.3, "summer"), (0.39, "summer"), (0.4, "good"), (2.0, "high")],
)
def test_a_level_is_in_the_class_of_the_highest_mark_it_has_reached(level_m, expected):
    assert class_of(level_m, MARKS) == expected


def test_without_marks_a_level_has_no_class():
    assert class_of(0.5, ()) is None


def test_class_chances_cover_every_level_and_sum_to_one():
    record = record_of([[0.2, 0.3, 0.95], [0.35, 0.45, 0.5]])

    chances = record.class_chances(MARKS, START, START + timedelta(hours=3))

    assert chances == (("low", 1 / 6), ("summer", 2 / 6), ("good", 2 / 6), ("high", 1 / 6))


def test_class_chances_are_empty_where_any_step_is_not_known():
    record = record_of([[0.2, np.nan], [0.3, np.nan]])

    assert record.class_chances(MARKS, START, START + timedelta(hours=2)) == ()
    assert record.class_chances(MARKS, START, START + timedelta(hours=1)) != ()
    assert record.class_chances((), START, START + timedelta(hours=1)) == ()


def test_a_chance_beyond_the_last_step_is_not_known():
    record = record_of([[0.2, 0.3]])

    assert record.chance_above(0.1, START, START + timedelta(hours=3)) is None


def test_a_daily_step_speaks_for_the_whole_of_its_day():
    midnight = datetime(2026, 5, 19, tzinfo=UTC)
    record = record_of([[0.2, 0.5], [0.2, 0.6]], step_minutes=1440, start=midnight)
    morning = datetime(2026, 5, 21, 8, tzinfo=UTC)

    assert record.steps_between(morning, morning + timedelta(hours=9)) == [1]
    assert record.chance_above(0.55, morning, morning + timedelta(hours=9)) == 0.5
    assert record.chance_above(0.55, morning, morning + timedelta(hours=20)) is None
