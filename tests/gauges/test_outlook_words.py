from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.outlook_words import chance_words, river_sentence

LONDON = ZoneInfo("Europe/London")
ISSUED = datetime(2026, 5, 20, 9, tzinfo=UTC)  # a Wednesday
FROM, TO = datetime(2026, 5, 21, 8, tzinfo=UTC), datetime(2026, 5, 21, 16, tzinfo=UTC)
HIGH = MarkLevel(kind="high", name="high", level_m=0.9, seen="flat stone just covered")


def record_of(low, middle, high, says=(), paths=None, step_minutes=60):
    steps = 120 if step_minutes == 60 else 5
    step = timedelta(minutes=step_minutes)
    begins = ISSUED + step if step_minutes == 60 else datetime(2026, 5, 20, tzinfo=LONDON)
    return ForecastRecord(
        issued_at=ISSUED,
        model="made by hand",
        step_minutes=step_minutes,
        times=tuple(begins + step * k for k in range(steps)),
        q10=(low,) * steps,
        q50=(middle,) * steps,
        q90=(high,) * steps,
        paths=paths,
        inputs=(),
        says=tuple(says),
    )


def words(record, level_m=0.61, marks=()):
    levels = [(ISSUED, level_m)] if level_m is not None else []
    return river_sentence(record, levels, marks, FROM, TO, LONDON)


def test_the_sentence_gives_the_middle_of_the_fishing_hours_with_its_band():
    sentence, detail = words(record_of(0.46, 0.52, 0.58))

    assert sentence == (
        "Falling. Most likely 0.52 m at 13:00 on Thursday, four times in five between 0.46 and "
        "0.58 m."
    )
    assert detail == "Last on file: 0.61 m, Wednesday 20 May, 10:00."


@pytest.mark.parametrize(
    ("band", "begins"),
    [
        ((0.70, 0.75, 0.80), "Rising."),
        ((0.60, 0.66, 0.80), "Probably rising."),
        ((0.50, 0.56, 0.62), "Probably falling."),
        ((0.58, 0.61, 0.63), "Steady."),
        ((0.58, 0.61, 0.90), "Little change, or it may rise."),
    ],
)
def test_the_direction_is_no_firmer_than_the_band(band, begins):
    assert words(record_of(*band))[0].startswith(f"{begins} Most likely")


def test_a_wide_band_has_no_false_decimal():
    sentence, _ = words(record_of(0.51, 0.93, 1.62))

    assert "Most likely 0.9 m" in sentence
    assert "between 0.5 and 1.6 m" in sentence


def test_not_known_is_said_plainly_with_its_reason():
    says = ["Not known beyond 12 hours: no rain is on file."]

    sentence, detail = words(record_of(None, None, None, says))

    assert sentence == "What the river will do on Thursday is not known."
    assert detail.endswith("Not known beyond 12 hours: no rain is on file.")


def test_without_a_forecast_or_a_level_both_are_said():
    assert words(None, level_m=None) == (
        "What the river will do on Thursday is not known: nothing was forecast.",
        "No level has been read.",
    )


def test_hours_beyond_the_forecast_are_not_known():
    record = record_of(0.46, 0.52, 0.58)
    late = FROM + timedelta(days=9)

    sentence, _ = river_sentence(record, [], (), late, late + timedelta(hours=4), LONDON)

    assert sentence.endswith("is not known.")


def test_a_daily_record_speaks_of_the_day_and_not_of_an_hour():
    sentence, _ = words(record_of(0.46, 0.52, 0.58, step_minutes=1440))

    assert "Most likely 0.52 m on Thursday," in sentence


def test_a_mark_that_may_be_passed_is_named_by_what_is_seen_there_with_its_chance():
    paths = np.full((10, 120), 0.5)
    paths[:3, 20:] = 1.0
    _, detail = words(record_of(0.46, 0.52, 0.58, paths=paths), marks=(HIGH,))

    assert (
        "At or above 0.90 m (flat stone just covered) at some time in those hours: unlikely, "
        "about 30 %." in detail
    )
    assert "high" not in detail


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "very unlikely, under 5 %"),
        (0.5, "as likely as not, about 50 %"),
        (0.57, "more likely than not, about 55 %"),
        (0.449, "less likely than not, about 45 %"),  # one number, one word
        (0.451, "less likely than not, about 45 %"),
        (0.475, "as likely as not, about 50 %"),
        (0.324, "unlikely, about 30 %"),
        (0.325, "less likely than not, about 35 %"),
        (0.63, "likely, about 65 %"),
        (0.949, "likely, about 95 %"),
        (0.8, "likely, about 80 %"),
        (1.0, "almost certain, over 95 %"),
    ],
)
def test_a_share_of_paths_is_never_called_certain(share, said):
    assert chance_words(share) == said


@given(st.floats(0, 1))
def test_one_number_has_one_word(share):
    words, number = chance_words(share).split(", ")
    stands_for = {
        "very unlikely": ("under 5",),
        "unlikely": tuple(f"about {n}" for n in range(5, 35, 5)),
        "less likely than not": ("about 35", "about 40", "about 45"),
        "as likely as not": ("about 50",),
        "more likely than not": ("about 55", "about 60"),
        "likely": tuple(f"about {n}" for n in range(65, 100, 5)),
        "almost certain": ("over 95",),
    }

    assert number.removesuffix(" %") in stands_for[words]


def test_a_thing_is_said_once():
    says = ["The level jumped.", "No weather forecast is on file.", "The level jumped."]

    _, detail = words(record_of(0.46, 0.52, 0.58, says))

    assert detail.count("The level jumped.") == 1


def test_a_days_mean_on_file_is_of_a_day():
    # a day kept in UTC begins at 01:00 on the clock of London
    levels = [(datetime(2026, 5, 20, tzinfo=UTC), 0.61)]

    _, daily = river_sentence(
        record_of(0.4, 0.5, 0.6, step_minutes=1440), levels, (), FROM, TO, LONDON
    )
    _, without = river_sentence(None, levels, (), FROM, TO, LONDON, step_minutes=1440)

    assert daily == without == "Last on file: 0.61 m, mean of Wednesday 20 May."
