"""Regulated, tidal and iced water in the fishing hours: when the gauge may speak, what is said."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.fishing_hours import read_conditions
from guiding.gauges.conditions.question import OnFile
from guiding.gauges.conditions.values import Given, Kind
from guiding.regimes.ice_looks import IceSeen
from guiding.regimes.moved_water import MovedWater, Wave, wave_between
from tests.gauges.drawn import HOUR, NOW, hourly, measured, record
from tests.gauges.test_fishing_hours import LONDON, QUESTION, WHOLE

# asked at 10:00 by the river's clock, of hours from 09:00 to 13:00
UNDER_WAY = replace(
    QUESTION, day=NOW.date(), starts_at=NOW - HOUR, ends_at=NOW + 3 * HOUR, regime="regulated"
)
STEADY = measured(hourly(lambda h: 0.35, 30))


def moved(*waves, question=UNDER_WAY, **changes):
    fields = {
        "day": question.day,
        "starts_at": question.starts_at,
        "ends_at": question.ends_at,
        "zone": LONDON,
        "waves": waves,
        "gauge_is_there": True,
        "says": ("Alder Dam: a schedule.",),
    }
    return MovedWater(**{**fields, **changes})


def wave(starts_in, ends_in=None, margin=0.5):
    """Return a wave that arrives so many hours from now."""
    return wave_between(
        "water let go at Alder Dam",
        NOW + starts_in * HOUR,
        None if ends_in is None else NOW + ends_in * HOUR,
        margin * HOUR,
    )


def read(water, question=UNDER_WAY, **changes):
    on_file = replace(WHOLE, **{"levels": STEADY, "moved": water, **changes})
    return read_conditions(question, on_file)


def test_with_a_schedule_and_no_wave_due_the_level_measured_now_speaks():
    seen = read(moved())

    assert (seen.level.value, seen.level.kind) == (0.35, Kind.OBSERVED)
    assert (seen.level.low, seen.level.high) == (0.35, 0.35)
    assert seen.level_class.value == "summer"
    assert seen.rise.value == pytest.approx(0)
    assert seen.phase.value == "settled"
    assert any("may change at any time" in line for line in seen.says)
    assert "The level is what the gauge read at 10:00; nothing says that it stays." in seen.says


def test_it_speaks_until_the_time_to_be_out_and_not_after():
    later = moved(wave(2.5))  # here from 12:30, out by 12:00

    before = read(later)
    due = read(later, replace(UNDER_WAY, asked_at=NOW + 2 * HOUR))

    assert before.level.kind is Kind.OBSERVED
    assert before.out_by_words == "Out of the water, and back from its edge, by 12:00."
    assert any("it speaks until 12:00 at the latest, and not after" in s for s in before.says)
    assert due.level.kind is Kind.NOT_KNOWN
    assert due.level.source == "regulated water: water let go at Alder Dam may be here"


@pytest.mark.parametrize(
    ("water", "why"),
    [
        (None, "regulated water: a release is not in the record"),
        (moved(missing=("no schedule on file",)), "regulated water: no schedule on file"),
        (moved(gauge_is_there=False), "regulated water: no gauge on file feels what moves it"),
        (moved(wave(-1)), "regulated water: water let go at Alder Dam may be here"),
        (moved(wave(0.4)), "regulated water: water let go at Alder Dam may be here"),
    ],
)
def test_where_the_gauge_may_not_speak_the_level_is_not_known_and_says_why(water, why):
    seen = read(water)

    assert {c.kind for c in (seen.level, seen.level_class, seen.rise, seen.phase)} == {
        Kind.NOT_KNOWN
    }
    assert seen.level.source == why
    assert seen.class_chances == ()


def test_not_known_bank_only_is_said_in_so_many_words():
    seen = read(moved(missing=("no schedule of Alder Dam for today is on file",)))

    assert "Not known, bank only: no schedule of Alder Dam for today is on file." in seen.says


def test_a_level_of_the_evening_before_says_nothing_of_the_morning():
    tomorrow = replace(QUESTION, regime="regulated")

    seen = read(moved(question=tomorrow), tomorrow)

    assert seen.level.source == "regulated water: its level is read once the hours have begun"


def test_a_rise_that_nobody_planned_takes_the_level_back():
    rising = measured(hourly(lambda h: 0.35 + max(0.0, 0.03 * (h + 2)), 30))

    seen = read(moved(), levels=rising)

    assert seen.level.kind is Kind.NOT_KNOWN
    assert seen.level.source == "regulated water: the gauge rises and nothing on file says why"


def test_a_gauge_that_fell_silent_does_not_speak_for_moved_water():
    silent = measured(hourly(lambda h: 0.35, 30, until=NOW - 5 * HOUR))

    assert read(moved(), levels=silent).level.kind is Kind.NOT_KNOWN


def test_after_the_hours_what_was_measured_is_told():
    over = replace(UNDER_WAY, asked_at=NOW, starts_at=NOW - 5 * HOUR, ends_at=NOW - HOUR)

    seen = read(moved(wave(-3, -2), question=over), over)

    assert seen.level.kind is Kind.OBSERVED


def test_a_forecast_from_rain_never_speaks_for_moved_water():
    seen = read(moved(), record=record([0.9] * 120))

    assert seen.level.value == seen.level.high == 0.35
    assert seen.class_chances == ()


def test_the_time_to_be_out_is_said_even_where_the_level_is_not_known():
    seen = read(moved(wave(2.5), gauge_is_there=False))

    assert seen.level.kind is Kind.NOT_KNOWN
    assert any(
        line.startswith("Out of the water, and back from its edge, by 12:00.") for line in seen.says
    )


def test_a_given_level_stands_and_the_order_to_be_out_with_it():
    on_file = replace(WHOLE, moved=moved(wave(2.5), missing=("no schedule",)))

    seen = read_conditions(UNDER_WAY, on_file, Given(level_m=0.4))

    assert seen.level.kind is Kind.GIVEN
    assert seen.out_by_words.endswith("by 12:00.")


def test_a_beat_without_a_gauge_still_says_when_to_be_out():
    seen = read_conditions(UNDER_WAY, OnFile(has_gauge=False, moved=moved(wave(2.5))))

    assert any("by 12:00" in line for line in seen.says)
    assert "No gauge speaks for this beat: the level is not known." in seen.says


# --- ice -----------------------------------------------------------------------------------------

ICY = replace(QUESTION, may_ice=True, starts_at=NOW - HOUR, ends_at=NOW + 3 * HOUR)
COLD = replace(WHOLE, water=measured(hourly(lambda h: 0.3, 60)))


def test_a_look_that_sees_no_ice_lets_the_level_of_cold_water_speak():
    blind = read_conditions(ICY, COLD)
    looked = read_conditions(ICY, replace(COLD, ice=IceSeen(is_there=False, words="no ice")))

    assert (blind.level.kind, blind.has_ice) == (Kind.NOT_KNOWN, True)
    assert (looked.level.kind, looked.has_ice) == (Kind.OBSERVED, False)
    assert "It is cold enough for ice: look again before anybody wades." in looked.says


@pytest.mark.parametrize("water_c", [0.6, 1.2, 3.0])
def test_cold_water_that_nobody_looked_at_hides_the_level(water_c):
    unseen = replace(WHOLE, water=measured(hourly(lambda h: water_c, 60)))

    seen = read_conditions(ICY, unseen)

    assert seen.has_ice is None
    assert seen.level.kind is Kind.NOT_KNOWN


def test_ice_that_was_seen_hides_the_level_whatever_the_temperature():
    warm = replace(WHOLE, ice=IceSeen(is_there=True, words="floating ice at Home Beat"))

    seen = read_conditions(replace(ICY, may_ice=False), warm)

    assert seen.has_ice is True
    assert seen.level.source == "ice may hold the level up"
    assert any("floating ice at Home Beat" in line for line in seen.says)


# --- laws ----------------------------------------------------------------------------------------

WAVES = st.lists(
    st.builds(
        lambda starts, lasting, margin: wave(
            starts, None if lasting is None else starts + lasting, margin
        ),
        st.floats(-12, 12),
        st.none() | st.floats(0, 8),
        st.floats(0, 3),
    ),
    max_size=4,
)


@given(
    waves=WAVES,
    missing=st.booleans(),
    is_there=st.booleans(),
    starts_in=st.integers(-10, 30),
    regime=st.sampled_from(["regulated", "tidal"]),
    slope=st.floats(-0.05, 0.05),
)
def test_a_level_of_moved_water_is_known_only_where_everything_speaks_for_it(
    waves, missing, is_there, starts_in, regime, slope
):
    starts_at = NOW + starts_in * HOUR
    question = replace(UNDER_WAY, regime=regime, starts_at=starts_at, ends_at=starts_at + 4 * HOUR)
    water = moved(
        *waves,
        question=question,
        missing=("nothing on file",) if missing else (),
        gauge_is_there=is_there,
    )

    seen = read(water, question, levels=measured(hourly(lambda h: 1.0 + slope * h, 30)))

    if seen.level.kind is not Kind.NOT_KNOWN:
        assert not missing
        assert is_there
        assert starts_at <= NOW
        assert seen.level.kind is Kind.OBSERVED
        is_over = question.ends_at <= NOW
        assert is_over or not any(one.is_here(NOW) for one in waves)
        assert is_over or slope < 0.02 + 1e-9
    assert seen.class_chances == () or question.ends_at <= NOW
    assert not any("safe" in line.lower() for line in seen.says)
    out_by = water.out_by_at(NOW)
    if out_by is not None:
        assert seen.out_by_words
        assert any(seen.out_by_words in line for line in seen.says)


def test_a_wave_that_arrives_before_its_time_to_be_out_cannot_be():
    with pytest.raises(ValueError, match="after it arrives"):
        Wave(what="x", out_by_at=NOW, arrives_at=NOW - HOUR, gone_at=None)
    with pytest.raises(ValueError, match="before it arrives"):
        Wave(what="x", out_by_at=NOW, arrives_at=NOW, gone_at=NOW - timedelta(minutes=1))
