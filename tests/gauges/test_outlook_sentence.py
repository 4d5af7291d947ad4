"""The outlook in one breath: every part of it true of the paths, what is not known said."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.outlook_sentence import outlook_sentence
from guiding.gauges.rain_shown import RainShown

LONDON = ZoneInfo("Europe/London")
AT = datetime(2026, 5, 20, 9, tzinfo=UTC)  # Wednesday, 10:00 on the clock there
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
HOURS = np.arange(1, 121)
STONE = MarkLevel(kind="high", name="high", level_m=0.9, seen="flat stone just covered")
POST = MarkLevel(kind="big", name="big", level_m=1.1)


def record_of(paths, *, step_minutes=60, issued_at=AT):
    paths = np.asarray(paths, dtype=float)
    step = timedelta(minutes=step_minutes)
    first = issued_at + step if step_minutes == 60 else datetime(2026, 5, 20, tzinfo=LONDON)
    nothing = (None,) * paths.shape[1]
    return ForecastRecord(
        issued_at=issued_at,
        model="by hand",
        step_minutes=step_minutes,
        times=tuple(first + step * k for k in range(paths.shape[1])),
        q10=nothing,
        q50=nothing,
        q90=nothing,
        paths=paths,
        inputs=(),
    )


def days_of_rain(**mm):
    """Return five days of forecast, dry but for the named days, a step every six hours."""
    steps = []
    for k in range(20):
        starts = AT + 6 * k * HOUR
        middle = (starts + 3 * HOUR).astimezone(LONDON)
        fell = mm.get(f"{middle:%A}".lower(), 0.0) / 4
        steps.append(
            RainShown(starts_at=starts, ends_at=starts + 6 * HOUR, mm=fell, known_as="forecast")
        )
    return steps


def said(paths, *, now=1.2, marks=(STONE,), rain=None, at=AT, **changes):
    rain = days_of_rain() if rain is None else rain
    record = record_of(paths, **changes)
    return outlook_sentence(record, [(at, now)], marks, rain, at, LONDON)


def test_the_sentence_of_a_falling_river_with_rain_to_come():
    # ten paths fall by 1 cm an hour; eight pass 0.9 m by 30 h: Thursday 16:00 on the clock
    falling = np.array([1.2 - 0.01 * HOURS + 0.01 * (k >= 8) for k in range(10)])
    # and on six of them Friday's rain lifts it by 30 cm
    falling[:6, 60:] += 0.3

    assert said(falling, rain=days_of_rain(friday=12.0)) == (
        "Falling. Below 0.90 m (flat stone just covered) by Thursday 18:00, almost certain. "
        "Rain on Friday will probably lift it again (10 cm or more: about 60 %)."
    )


def test_a_mark_is_said_to_be_passed_where_four_paths_in_five_lie_beyond_it():
    paths = np.full((10, 120), 1.0)
    paths[:8, 26:] = 0.8  # from 27 h on: Thursday 13:00 on the clock

    assert "Below 0.90 m (flat stone just covered) by Thursday 15:00, four times in five." in said(
        paths
    )
    paths[8, 26:] = 0.8
    assert "nine times in ten" in said(paths)


def test_noon_and_the_end_of_a_day_have_their_names():
    paths = np.full((10, 120), 1.0)
    paths[:8, 24:] = 0.8
    assert "by Thursday noon, four" in said(paths)
    paths[:8, :] = 1.0
    paths[:8, 37:] = 0.8
    assert "by the end of Thursday, four" in said(paths)


def test_a_mark_that_is_passed_and_left_again_is_not_said_to_be_passed_by_then():
    paths = np.full((10, 120), 1.0)
    paths[:8, 26:28] = 0.8  # below it for two hours only, neither at 12:00 nor at 15:00

    assert "by Thursday 13:00, four times in five" in said(paths)


def test_less_sure_than_that_the_chance_is_in_words_with_its_number():
    paths = np.full((10, 120), 1.0)
    paths[:3, 50:] = 0.8

    assert (
        "Below 0.90 m (flat stone just covered) at some time in the next five days: unlikely, "
        "about 30 %." in said(paths)
    )


def test_a_rising_river_says_how_early_it_may_pass_and_how_high_it_goes():
    paths = np.array([0.5 + 0.02 * np.minimum(HOURS, 30 + k) - 0.001 * HOURS for k in range(10)])
    paths[9, 8:] += 0.4

    words = said(paths, now=0.5)

    assert words.startswith("Rising. At or above 0.90 m (flat stone just covered) by Thursday ")
    assert "and one time in ten already by Wednesday 19:00" in words
    assert "Highest" in words
    assert "each four times in five" in words


def test_a_rise_past_the_mark_above_is_never_left_out():
    paths = np.full((10, 120), 1.0) - 0.002 * HOURS
    paths[:3, 70:] = 1.3  # three in ten come up past the post

    words = said(paths, now=1.0, marks=(STONE, POST), rain=days_of_rain(saturday=20.0))

    assert "1.10 m or more: about 30 %" in words
    assert "Rain on Saturday may lift it again" in words


def test_a_river_whose_middle_falls_is_not_called_steady():
    # 11 of 20 paths fall by 3 cm within twelve hours, the others stay where they are
    falls, stays = np.linspace(1.2, 1.17, 12), np.full(12, 1.2)
    paths = [np.concatenate([part, np.full(108, part[-1])]) for part in [falls] * 11 + [stays] * 9]

    assert said(paths).startswith("Probably falling.")


def test_the_highest_mark_that_may_be_passed_is_never_left_out():
    # ten paths, two of which go over the bank at 2.0 m after passing the stone and the post
    bank = MarkLevel(kind="over_bank", name="over the bank", level_m=2.0)
    flood = np.linspace(0.5, 2.3, 120)
    rise = np.linspace(0.5, 1.0, 120)
    paths = [flood, flood] + [rise] * 8

    text = said(paths, now=0.5, marks=(STONE, POST, bank))

    assert "2.00 m or more (over the bank) in the next five days: unlikely, about 20 %." in text
    assert "over the bank" not in said([rise] * 10, now=0.5, marks=(STONE, POST, bank))


def test_a_rise_of_a_few_centimetres_past_a_mark_is_said_beside_the_fall():
    marks = (
        MarkLevel(kind="good", name="good", level_m=0.99),
        MarkLevel(kind="high", name="high", level_m=1.03),
    )
    paths = np.full((10, 120), 1.0)
    paths[:6, 30:], paths[6:, 30:] = 0.96, 1.04

    words = said(paths, now=1.0, marks=marks)

    assert "Below 0.99 m at some time in the next five days: more likely than not" in words
    assert "At or above 1.03 m at some time in the next five days: less likely than not" in words


def test_rain_that_does_little_is_said_with_its_number():
    paths = np.full((20, 120), 1.0) - 0.001 * HOURS
    paths[0, 80:] = 1.2

    words = said(paths, now=1.0, rain=days_of_rain(friday=4.0))

    assert "Rain on Friday (4 mm) is unlikely to lift it by 10 cm or more: about 5 %." in words


def test_no_rain_is_called_harmless_where_part_of_the_forecast_is_missing():
    paths = np.full((20, 120), 1.0)
    rain = [step for k, step in enumerate(days_of_rain(friday=4.0)) if k != 14]

    words = said(paths, now=1.0, rain=rain)

    assert "unlikely to lift" not in words
    assert "Part of the rain forecast is missing." in words


def test_a_rise_that_no_rain_explains_is_said_all_the_same():
    paths = np.full((10, 120), 1.0)
    paths[:3, 70:] = 1.3

    words = said(paths, now=1.0, rain=[])

    assert "It may rise again from Saturday on (10 cm or more: about 30 %" in words
    assert "The rain to come is not known." in words


@pytest.mark.parametrize(
    ("rain", "says"),
    [
        (days_of_rain(), "Little or no rain is forecast."),
        ([], "The rain to come is not known."),
        (days_of_rain()[:8], "After Friday 10:00 the rain is not known."),
        (days_of_rain()[2:], "Part of the rain forecast is missing."),
    ],
)
def test_what_is_known_of_the_rain_is_said(rain, says):
    words = said(np.full((10, 120), 1.0), now=1.0, rain=rain)

    assert says in words
    assert ("Little or no rain" in words) == (says == "Little or no rain is forecast.")


def test_without_a_forecast_or_a_level_nothing_is_said_to_be_known():
    nothing = "What the river will do is not known."

    assert outlook_sentence(None, [(AT, 1.0)], (), [], AT, LONDON) == nothing
    assert outlook_sentence(record_of(np.ones((9, 120))), [], (), [], AT, LONDON) == nothing
    assert said(np.full((9, 120), np.nan)) == nothing
    assert said(np.ones((9, 120)), at=AT + 6 * DAY) == nothing


def test_beyond_what_is_known_it_says_so_and_nothing_else():
    paths = np.full((20, 120), 1.0)
    paths[:, 12:] = np.nan

    words = said(paths, now=1.0, rain=days_of_rain(wednesday=40.0))

    assert words.endswith("After Wednesday 22:00 it is not known.")
    assert "five days" not in words
    assert "unlikely to lift" not in words


def test_without_marks_that_is_said_and_marks_set_aside_are_not_spoken_of():
    paths = np.full((20, 120), 1.0)

    assert "No mark is on file." in said(paths, now=1.0, marks=())
    words = said(paths, now=1.0, marks=None)
    assert "mark" not in words
    assert " m " not in words


def test_a_daily_river_speaks_of_days():
    paths = np.full((10, 5), 1.0)
    paths[:9, 2:] = 0.8

    words = said(paths, now=1.0, step_minutes=1440)

    assert "by Friday, nine times in ten" in words
    assert ":" not in words.split("Little")[0]


def test_a_long_word_on_what_is_seen_stays_out_of_the_sentence():
    mark = MarkLevel(
        kind="high", name="high", level_m=0.9, seen="the third rung of the ladder " * 3
    )
    paths = np.full((10, 120), 1.0)
    paths[:8, 24:] = 0.8

    assert "Below 0.90 m by Thursday noon" in said(paths, marks=(mark,))


walks = st.integers(0, 2**32 - 1)


@given(seed=walks, drift=st.floats(-0.01, 0.01), spread=st.floats(0.001, 0.05))
def test_each_thing_said_of_a_mark_holds_on_the_paths(seed, drift, spread):
    rng = np.random.default_rng(seed)
    paths = 1.0 + np.cumsum(rng.normal(drift, spread, (40, 120)), axis=1)
    words = said(paths, now=1.0, marks=(STONE, POST))

    below, above = paths < 0.9, paths >= 1.1
    if "Below 0.90" in words and "times in" in words.split("Below 0.90")[1].split(".")[1]:
        assert (below.mean(axis=0) >= 0.8).any()
    if "Below 0.90" not in words and "At or above 1.10" not in words and "stays" not in words:
        raise AssertionError(words)
    if "It stays" in words:
        assert (~(below | above)).all(axis=1).mean() >= 0.9
    if above.any(axis=1).mean() >= 0.2:
        assert "1.10 m" in words  # a rise past the mark above is never left out
    assert "safe" not in words
