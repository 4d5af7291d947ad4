"""One rule for which way the river goes: what the page says the command says too."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.direction import direction_at, next_place
from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.outlook_sentence import outlook_sentence
from guiding.gauges.outlook_words import river_sentence

LONDON = ZoneInfo("Europe/London")
AT = datetime(2026, 5, 20, 9, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
NOW_M = 1.0


def record_of(paths, *, step_minutes=60):
    """Return a forecast with these paths and their quantiles."""
    paths = np.asarray(paths, dtype=float)
    step = timedelta(minutes=step_minutes)
    first = AT + step if step_minutes == 60 else datetime(2026, 5, 20, tzinfo=LONDON)
    low, middle, high = (
        tuple(None if np.isnan(value) else float(value) for value in row)
        for row in np.quantile(paths, [0.1, 0.5, 0.9], axis=0)
    )
    return ForecastRecord(
        issued_at=AT,
        model="by hand",
        step_minutes=step_minutes,
        times=tuple(first + step * k for k in range(paths.shape[1])),
        q10=low,
        q50=middle,
        q90=high,
        paths=paths,
        inputs=(),
    )


def going(changes, *, steps=120, **kinds):
    """Return the words for paths that each stand a change [m] above the level now."""
    record = record_of(np.tile(NOW_M + np.asarray(changes)[:, None], (1, steps)), **kinds)
    place = next_place(record, AT)
    return direction_at(record, place, NOW_M).words, record


# each decided by hand from the rule in the docstring; common practice, no source
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ([0.10] * 8 + [0.0] * 2, "Rising."),
        ([0.10] * 7 + [0.0] * 3, "Probably rising."),
        ([0.10] * 6 + [-0.10] * 4, "Probably rising."),
        ([-0.10] * 8 + [0.0] * 2, "Falling."),
        ([-0.10] * 7 + [0.2] * 3, "Probably falling."),
        ([0.01] * 10, "Steady."),
        ([0.04, -0.04] * 5, "Steady."),
        ([0.0] * 9 + [0.3], "Little change, or it may rise."),
        ([0.0] * 9 + [-0.3], "Little change, or it may fall."),
        ([0.0] * 6 + [0.3] * 2 + [-0.3] * 2, "It may rise or fall."),
        ([0.3] * 5 + [-0.3] * 5, "It may rise or fall."),
        ([0.02] * 10, "Rising."),  # the edge belongs to the move
        ([0.019] * 10, "Steady."),
    ],
)
def test_the_share_of_paths_decides_the_word(changes, words):
    assert going(changes)[0] == words


def test_only_the_next_twelve_hours_or_the_day_under_way_speak():
    paths = np.full((10, 120), NOW_M)
    paths[:, 12:] = 2.0
    hourly = record_of(paths)
    daily = record_of(np.column_stack([np.full(10, 0.9), np.full((10, 4), 2.0)]), step_minutes=1440)

    assert next_place(hourly, AT) == 11
    assert direction_at(hourly, 11, NOW_M).words == "Steady."
    assert next_place(hourly, AT + 5 * HOUR) == 16
    assert next_place(daily, AT) == 0
    assert direction_at(daily, 0, NOW_M).words == "Falling."
    assert next_place(daily, AT + DAY) == 1


def test_what_is_not_known_has_no_direction():
    paths = np.full((10, 120), NOW_M)
    paths[3, 5:] = np.nan
    record = record_of(paths)
    bare = replace(record, paths=None, q10=(None,) * 120)

    assert next_place(record, AT) == 4
    assert direction_at(record, 7, NOW_M) is None
    assert next_place(bare, AT) is None
    assert direction_at(bare, 4, NOW_M) is None
    assert next_place(record, AT + 9 * DAY) is None


@given(st.lists(st.floats(-0.5, 0.5), min_size=11, max_size=11))
def test_without_whole_paths_the_band_says_nothing_firmer_and_never_another_way(changes):
    with_paths, record = going(changes)
    bare = direction_at(replace(record, paths=None), 11, NOW_M)
    whole = direction_at(record, 11, NOW_M)

    assert bare.way == whole.way
    if bare.words in ("Rising.", "Falling."):
        assert bare.words == with_paths


@given(st.lists(st.floats(-0.5, 0.5), min_size=5, max_size=30), st.floats(-1, 5))
def test_a_mirrored_river_goes_the_other_way_and_the_gauges_zero_does_not_matter(changes, zero):
    # to the millimetre, as paths are kept
    changes = np.round(changes, 3)
    other = {"Rising": "Falling", "rising": "falling", "rise": "fall"}
    swap = other | {there: here for here, there in other.items()}
    words, record = going(changes)
    mirrored, _ = going(-changes)
    shifted = replace(record, paths=record.paths + zero)

    if words != "It may rise or fall.":
        for here, there in swap.items():
            if here in words.replace(".", " ").split():
                assert mirrored == words.replace(here, there)
                break
        else:
            assert mirrored == words
    assert direction_at(shifted, 11, NOW_M + zero).words == words


def page_and_command(record):
    """Return what the river page and the `forecast` command say of one forecast and level."""
    levels = [(AT, NOW_M)]
    page = outlook_sentence(record, levels, (), [], AT, LONDON)
    when = record.times[next_place(record, AT)]
    command, _ = river_sentence(record, levels, (), when, when, LONDON)
    return page, command


@pytest.mark.parametrize("step_minutes", [60, 1440])
@pytest.mark.parametrize("middle", [-0.3, -0.06, -0.03, -0.01, 0.0, 0.01, 0.03, 0.06, 0.3])
@pytest.mark.parametrize("spread", [0.0, 0.01, 0.04, 0.1, 0.4])
@pytest.mark.parametrize("lean", [-1.0, 0.0, 1.0])
def test_page_and_command_say_one_direction(step_minutes, middle, spread, lean):
    ranks = np.linspace(-1, 1, 41)
    last = middle + spread * (ranks + lean * ranks**2)
    steps = 120 if step_minutes == 60 else 5
    ramp = np.minimum(np.arange(1, steps + 1) / (12 if step_minutes == 60 else 1), 1.0)
    record = record_of(NOW_M + last[:, None] * ramp, step_minutes=step_minutes)
    words = direction_at(record, next_place(record, AT), NOW_M).words

    page, command = page_and_command(record)

    assert page.startswith(f"{words} ")
    assert command.startswith(f"{words} Most likely")
