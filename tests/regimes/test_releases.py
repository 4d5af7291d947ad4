"""Releases: the hand-worked day, the laws of the time to be out, nights and clock changes."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.regimes.releases import Release, days_needed, read_releases, wave_of
from tests.regimes.schedules import DAY, LONDON, dam_above, release, schedule

HOUR = timedelta(hours=1)
MORNING = (datetime(2026, 5, 21, 8, 0, tzinfo=UTC), datetime(2026, 5, 21, 12, 0, tzinfo=UTC))
AT_EIGHT = MORNING[0]  # 09:00 by the river's clock


def read(dam, hours=MORNING, day=DAY):
    return read_releases(dam, day=day, starts_at=hours[0], ends_at=hours[1], zone=LONDON)


def local(moment):
    return f"{moment.astimezone(LONDON):%d %H:%M}"


def test_the_time_to_be_out_is_the_way_down_less_the_margin():
    # by hand: 09:20 at the dam, 3 h on the way, half an hour before: out by 11:50;
    # 10:40 at the dam, 3 h, half an hour after: gone by 14:10
    moved = read(dam_above(schedule(DAY, release("09:20", "10:40"))))

    (wave,) = moved.waves
    assert local(wave.arrives_at) == "21 12:20"
    assert local(wave.out_by_at) == "21 11:50"
    assert local(wave.gone_at) == "21 14:10"
    assert moved.out_by_words(AT_EIGHT) == "Out of the water, and back from its edge, by 11:50."


def test_the_time_to_be_out_is_rounded_down_to_five_minutes():
    # 09:20 + 2.9 h - 0.55 h = 11:41, so 11:40
    moved = read(dam_above(schedule(DAY, release("09:20")), travel_hours=2.9, margin_hours=0.55))

    assert local(moved.waves[0].out_by_at) == "21 11:40"


def test_without_that_days_schedule_nothing_is_known():
    moved = read(dam_above(schedule(DAY - timedelta(days=1))))

    assert moved.missing == ("no schedule of Alder Dam for Thursday 21 May is on file",)
    assert moved.may_be_here(AT_EIGHT) is None
    assert not moved.is_known


def test_that_none_is_planned_is_a_fact_of_its_own_with_who_said_so():
    moved = read(dam_above(schedule(DAY)))

    assert moved.is_known
    assert moved.may_be_here(AT_EIGHT) is False
    assert moved.out_by_at(AT_EIGHT) is None
    assert moved.says[0] == ("Alder Dam, Thursday 21 May: no release planned, said by the keeper.")
    assert "a plan and not a promise: water may be let go at any time" in moved.says[-1]
    assert moved.on_record[0].value == "no release planned"


def test_water_let_go_the_day_before_is_needed_where_it_can_still_be_on_its_way():
    dam = dam_above(schedule(DAY), travel_hours=12)

    assert days_needed(dam, *MORNING, LONDON) == (DAY - timedelta(days=1), DAY)
    assert "Wednesday 20 May" in read(dam).missing[0]


def test_a_release_overnight_is_seen_in_the_morning_even_if_that_day_says_none():
    night = schedule(DAY - timedelta(days=1), release("23:00", "06:30"))

    moved = read(dam_above(schedule(DAY), night))

    assert moved.may_be_here(AT_EIGHT) is True
    assert local(moved.here(AT_EIGHT).gone_at) == "21 10:00"
    assert moved.out_by_words(AT_EIGHT) == (
        "Stay back from the water until 10:00, and then ask your guide."
    )
    assert moved.may_be_here(AT_EIGHT + 2 * HOUR) is False


def test_a_release_that_ended_before_midnight_is_no_news_in_the_morning():
    before = schedule(DAY - timedelta(days=1), release("08:00", "10:00"))

    moved = read(dam_above(schedule(DAY), before))

    assert moved.may_be_here(AT_EIGHT) is False
    assert not any("Wednesday" in line for line in moved.says)


def test_a_release_without_an_end_never_goes_by():
    moved = read(dam_above(schedule(DAY, release("04:00"))))

    assert moved.may_be_here(AT_EIGHT + 3 * HOUR) is True
    assert moved.out_by_words(AT_EIGHT).endswith("when it falls again is not known.")


def test_a_release_without_an_end_lasts_until_the_next_days_schedule_speaks():
    # by hand: 16:00 until midnight at the dam, 3 h on the way and half an hour more: gone by 03:30
    before = schedule(DAY - timedelta(days=1), release("16:00"))

    moved = read(dam_above(before, schedule(DAY)))

    assert local(moved.waves[0].gone_at) == "21 03:30"
    assert moved.may_be_here(AT_EIGHT) is False
    assert read(dam_above(before)).may_be_here(AT_EIGHT) is None


def test_a_wave_soon_after_the_hours_is_told_and_one_much_later_is_not():
    soon = read(dam_above(schedule(DAY, release("12:00"))))  # here from 15:00, hours end 13:00
    late = read(dam_above(schedule(DAY, release("18:00"))))

    assert local(soon.out_by_at(AT_EIGHT)) == "21 14:30"
    assert late.out_by_at(AT_EIGHT) is None


def test_in_the_repeated_hour_the_wider_reading_is_taken():
    # 01:30 is 00:30 UTC the first time and 01:30 UTC the second
    day = date(2026, 10, 25)
    dam = dam_above(travel_hours=1, margin_hours=0.5)

    wave = wave_of(dam, day, release("01:15", "01:45"), LONDON)

    assert wave.out_by_at == datetime(2026, 10, 25, 0, 45, tzinfo=UTC)
    assert wave.gone_at == datetime(2026, 10, 25, 3, 15, tzinfo=UTC)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"travel_hours": -0.1}, "travel_hours is -0.1"),
        ({"travel_hours": 97}, "0 to 96 hours"),
        ({"margin_hours": 13}, "margin_hours is 13"),
        ({"margin_hours": float("nan")}, "margin_hours is nan"),
    ],
)
def test_a_way_that_no_water_takes_is_refused(changes, said):
    with pytest.raises(ValueError, match=said):
        dam_above(**changes)


def test_a_release_that_lasts_no_time_is_refused():
    with pytest.raises(ValueError, match="lasts no time"):
        release("10:00", "10:00")


CLOCKS = st.builds(time, st.integers(0, 23), st.integers(0, 59))
RELEASES = st.builds(
    lambda starts, ends: Release(starts=starts, ends=None if ends == starts else ends),
    CLOCKS,
    st.none() | CLOCKS,
)
# a plain week, and both days on which the clocks change with the days about them
DAYS = st.sampled_from(
    [
        date(2026, 5, 21),
        date(2026, 3, 28),
        date(2026, 3, 29),
        date(2026, 10, 24),
        date(2026, 10, 25),
    ]
)
HOURS = st.tuples(st.integers(0, 28), st.integers(1, 12))


@st.composite
def asked(draw):
    """Return a dam with three days of schedules, and hours on the middle one."""
    day = draw(DAYS)
    dam = dam_above(
        *(
            schedule(day + timedelta(days=n), *draw(st.lists(RELEASES, max_size=3)))
            for n in (-1, 0, 1)
        ),
        travel_hours=draw(st.floats(0, 20)),
        margin_hours=draw(st.floats(0, 4)),
    )
    starts_in, lasting = draw(HOURS)
    starts_at = datetime(day.year, day.month, day.day, tzinfo=UTC) + starts_in * HOUR
    return dam, day, (starts_at, starts_at + lasting * HOUR)


@given(asked(), st.integers(-24, 12))
def test_nobody_is_told_to_be_out_later_than_the_arrival_less_the_margin(one, asked_in):
    dam, day, hours = one
    at = hours[0] + asked_in * HOUR

    moved = read(dam, hours, day)

    for row in dam.schedules:
        for planned in row.releases:
            wave = wave_of(dam, row.day, planned, LONDON)
            # whichever way the clock time is read, all are out before the water
            for fold in (0, 1):
                starts = planned.starts.replace(fold=fold)
                starts_at = datetime.combine(row.day, starts, tzinfo=LONDON).astimezone(UTC)
                assert wave.out_by_at <= starts_at + dam.travel - dam.margin
            assert wave.arrives_at - wave.out_by_at >= dam.margin
            out_by = moved.out_by_at(at)
            is_ahead = moved.from_at(at) <= wave.out_by_at <= hours[1]
            is_read = any(other.arrives_at == wave.arrives_at for other in moved.waves)
            if is_read and is_ahead:
                assert out_by is not None
                assert out_by <= wave.out_by_at


@given(asked(), RELEASES, st.sampled_from([-1, 0, 1]), st.integers(-24, 12))
def test_more_water_let_go_never_makes_the_time_to_be_out_later(one, more, when, asked_in):
    dam, day, hours = one
    at = hours[0] + asked_in * HOUR
    added = replace(
        dam,
        schedules=tuple(
            replace(row, releases=(*row.releases, more))
            if row.day == day + timedelta(days=when)
            else row
            for row in dam.schedules
        ),
    )

    before, after = read(dam, hours, day), read(added, hours, day)

    if before.out_by_at(at) is not None:
        assert after.out_by_at(at) is not None
        assert after.out_by_at(at) <= before.out_by_at(at)
    if before.may_be_here(at) is True:
        assert after.may_be_here(at) is True


@given(asked(), st.floats(0, 3), st.integers(-24, 12))
def test_a_wider_margin_never_makes_the_time_to_be_out_later(one, wider, asked_in):
    dam, day, hours = one
    at = hours[0] + asked_in * HOUR

    before = read(dam, hours, day)
    after = read(replace(dam, margin_hours=dam.margin_hours + wider), hours, day)

    if before.out_by_at(at) is not None and after.is_known:
        assert after.out_by_at(at) <= before.out_by_at(at)


@given(asked(), st.sampled_from([-1, 0, 1]))
def test_a_day_taken_off_file_never_makes_more_known(one, when):
    dam, day, hours = one
    fewer = replace(
        dam, schedules=tuple(r for r in dam.schedules if r.day != day + timedelta(days=when))
    )

    assert read(fewer, hours, day).is_known <= read(dam, hours, day).is_known


@given(asked())
def test_what_is_not_known_is_never_no_wave(one):
    dam, day, hours = one

    moved = read(replace(dam, schedules=()), hours, day)

    assert moved.may_be_here(hours[0]) is None
    assert moved.missing
    assert moved.says == ()
