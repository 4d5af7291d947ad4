"""The tide at a beat: a hand-worked day, whole days only, and nothing between high and low."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from guiding.regimes.tides import Turn, days_needed, read_tide, turns_refusal, wave_of
from tests.regimes.schedules import DAY, LONDON, table, tide_at_beat, turns

HOUR = timedelta(hours=1)
DAY_BEFORE, DAY_AFTER = DAY - timedelta(days=1), DAY + timedelta(days=1)
# 09:00 to 17:00 by the river's clock
HOURS = (datetime(2026, 5, 21, 8, 0, tzinfo=UTC), datetime(2026, 5, 21, 16, 0, tzinfo=UTC))
WHOLE = table(DAY, "high 01:40 4.6", "low 07:50 0.9", "high 14:10 4.8", "low 20:20 0.8")


def read(tide, hours=HOURS, day=DAY):
    return read_tide(tide, day=day, starts_at=hours[0], ends_at=hours[1], zone=LONDON)


def local(moment):
    return f"{moment.astimezone(LONDON):%d %H:%M}"


def test_the_flood_reaches_a_beat_by_its_lag_and_the_time_it_takes_to_rise():
    # by hand: high water 14:10 there is 15:10 here; felt from two hours before, 13:10; out half an
    # hour before, 12:40; gone three hours and a half after high water here, 18:40
    moved = read(tide_at_beat(WHOLE))

    wave = moved.next_wave(HOURS[0])
    assert local(wave.arrives_at) == "21 13:10"
    assert local(wave.out_by_at) == "21 12:40"
    assert local(wave.gone_at) == "21 18:40"
    assert moved.is_known
    assert "High water at Firth Mouth 14:10, 4.8 m there; here about 15:10, give or take" in (
        " ".join(moved.says)
    )
    assert "Cut off by the tide: the island at Long Pool." in moved.says


def test_where_low_water_is_here_is_not_known_without_its_own_lag():
    hours = (datetime(2026, 5, 21, 6, 0, tzinfo=UTC), HOURS[1])
    known = read(tide_at_beat(WHOLE, low_lag_hours=1.5), hours)
    unknown = read(tide_at_beat(WHOLE), hours)

    assert any(
        "Low water at Firth Mouth 07:50, 0.9 m there; here about 09:20" in s for s in known.says
    )
    assert any("when it is low here is not known" in line for line in unknown.says)


def test_no_height_between_high_and_low_water_is_ever_said():
    said = " ".join(read(tide_at_beat(WHOLE)).says)

    heights = [word for word in said.replace(",", "").split() if word.replace(".", "").isdigit()]
    assert {w for w in heights if "." in w} <= {"4.6", "0.9", "4.8", "0.8"}


def test_without_the_table_of_every_day_that_can_be_felt_it_is_not_known():
    evening = (datetime(2026, 5, 21, 19, 0, tzinfo=UTC), datetime(2026, 5, 21, 22, 0, tzinfo=UTC))

    assert days_needed(tide_at_beat(), *evening) == (DAY, DAY_AFTER)
    moved = read(tide_at_beat(WHOLE), evening)
    assert moved.missing == ("no tide table of Firth Mouth for Friday 22 May is on file",)
    assert moved.may_be_here(evening[0]) is None


def test_a_table_on_file_that_has_lost_a_line_is_not_known():
    moved = read(tide_at_beat(table(DAY, "high 01:40", "low 07:50")))

    assert "is not whole: 2 tides stand there; a day has 3 to 4" in moved.missing[0]


def test_a_table_printed_in_utc_is_read_by_its_own_clock():
    # 13:10 UTC is 14:10 by the river's summer clock
    printed = table(DAY, "high 00:40", "low 06:50", "high 13:10", "low 19:20")
    tide = tide_at_beat(printed, zone=ZoneInfo("UTC"))

    assert local(read(tide).next_wave(HOURS[0]).out_by_at) == "21 12:40"
    assert "by the clock of UTC" in read(tide).on_record[0].value


def test_in_the_repeated_hour_the_wider_reading_is_taken():
    day = date(2026, 10, 25)

    wave = wave_of(tide_at_beat(), day, Turn(clock=time(1, 30), is_high=True))

    # 01:30 is 00:30 or 01:30 UTC; + 1 h - 2 h - 0.5 h, and + 1 h + 3 h + 0.5 h
    assert wave.out_by_at == datetime(2026, 10, 24, 23, 0, tzinfo=UTC)
    assert wave.gone_at == datetime(2026, 10, 25, 6, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("high 06:00", "low 12:10", "high 18:30"), ""),
        (("low 00:10", "high 06:20", "low 12:30", "high 18:40"), ""),
        (("high 06:00", "low 12:10"), "2 tides stand there"),
        (("high 06:00", "high 12:10", "low 18:30"), "06:00 and 12:10 are both high"),
        (("high 06:00", "low 08:10", "high 14:30"), "lie 2.2 h apart"),
        (("high 02:00", "low 12:10", "high 18:30"), "so a line is wrong or missing"),
        (("low 12:10", "high 06:00", "low 18:30"), "06:00 comes after 12:10"),
        (("high 06:00 1.0", "low 12:10 1.2", "high 18:30"), "is no higher than the low water"),
    ],
)
def test_a_day_of_tides_is_whole_or_refused(words, why):
    said = turns_refusal(turns(*words), twice_a_day=True)

    assert (said == "") == (why == "")
    assert why in said


def test_a_coast_with_one_tide_a_day_may_have_two_turns():
    assert turns_refusal(turns("low 03:00", "high 15:30"), twice_a_day=False) == ""
    assert "no high water" in turns_refusal(turns("low 03:00"), twice_a_day=False)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"lag_hours": -3.1}, "lag_hours is -3.1"),
        ({"flood_hours": 0}, "flood_hours is 0"),
        ({"ebb_hours": float("nan")}, "ebb_hours is nan"),
        ({"margin_hours": -1}, "margin_hours is -1"),
    ],
)
def test_a_lag_that_no_tide_has_is_refused(changes, said):
    with pytest.raises(ValueError, match=said):
        tide_at_beat(**changes)


@given(
    first=st.integers(0, 360),
    apart=st.lists(st.integers(300, 430), min_size=3, max_size=3),
    lag=st.floats(-3, 12),
    flood=st.floats(0.1, 6),
    margin=st.floats(0, 3),
    starts_in=st.integers(-12, 30),
)
def test_nobody_is_told_to_be_out_later_than_the_flood_less_the_margin(
    first, apart, lag, flood, margin, starts_in
):
    minutes = [first]
    for step in apart:
        minutes.append(minutes[-1] + step)
    assume(len([m for m in minutes if m < 24 * 60]) >= 3)
    day_turns = tuple(
        Turn(clock=time(*divmod(m, 60)), is_high=n % 2 == 0)
        for n, m in enumerate(minutes)
        if m < 24 * 60
    )
    tide = replace(
        tide_at_beat(replace(WHOLE, turns=day_turns)),
        lag_hours=lag,
        flood_hours=flood,
        margin_hours=margin,
    )
    starts_at = datetime(2026, 5, 21, tzinfo=UTC) + starts_in * HOUR
    hours = (starts_at, starts_at + 4 * HOUR)

    moved = read(tide, hours)

    for turn in day_turns:
        if not turn.is_high:
            continue
        high_here = datetime.combine(DAY, turn.clock, tzinfo=LONDON) + timedelta(hours=lag)
        wave = wave_of(tide, DAY, turn)
        assert wave.out_by_at <= high_here - timedelta(hours=flood + margin)
        assert wave.gone_at >= high_here + timedelta(hours=tide.ebb_hours + margin)
        if wave in moved.waves and hours[0] <= wave.out_by_at <= hours[1]:
            assert moved.out_by_at(hours[0]) <= wave.out_by_at
    if not moved.is_known:
        assert moved.may_be_here(hours[0]) is None
