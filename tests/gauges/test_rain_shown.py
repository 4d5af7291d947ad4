"""Rain for the eye: whole steps, measured before forecast, nothing shared out or made up."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.rain_shown import measured_steps, rain_shown, steps_of
from guiding.gauges.steps import Steps

NOW = datetime(2026, 5, 20, 9, 20, tzinfo=UTC)
HOUR = timedelta(hours=1)
TOP = NOW.replace(minute=0)
LONDON = ZoneInfo("Europe/London")


def shown(measured=(), run=()):
    return rain_shown([(at, at + HOUR, mm) for at, mm in measured], run, at=NOW)


def test_an_hour_that_is_not_over_is_not_measured_yet():
    steps = shown([(TOP - HOUR, 1.0), (TOP, 5.0)])

    assert [(step.starts_at, step.mm) for step in steps] == [(TOP - HOUR, 1.0)]


def test_the_forecast_begins_where_the_gauge_has_stopped_speaking():
    run = [(TOP + h * HOUR, TOP + (h + 1) * HOUR, 2.0) for h in range(-4, 4)]

    steps = shown([(TOP - 3 * HOUR, 1.0)], run)

    assert [step.known_as for step in steps] == ["measured", *["forecast"] * 6]
    assert steps[1].starts_at == TOP - 2 * HOUR


def test_six_hours_of_forecast_stay_six_hours():
    (step,) = shown(run=[(TOP, TOP + 6 * HOUR, 12.0)])

    assert (step.ends_at - step.starts_at, step.mm) == (6 * HOUR, 12.0)


def test_six_hours_that_reach_back_over_what_was_measured_are_left_out_whole():
    run = [(TOP - 3 * HOUR, TOP + 3 * HOUR, 12.0), (TOP + 3 * HOUR, TOP + 9 * HOUR, 1.0)]

    steps = shown([(TOP - HOUR, 0.0)], run)

    assert [step.mm for step in steps] == [0.0, 1.0]


def test_a_step_without_rain_is_not_a_dry_one():
    rows = [
        {"starts_at": TOP.isoformat(), "ends_at": (TOP + HOUR).isoformat(), "rain_mm": None},
        {"starts_at": (TOP + HOUR).isoformat(), "ends_at": (TOP + 2 * HOUR).isoformat()},
    ]

    assert shown(run=steps_of(rows)) == ()


def test_quarter_hours_are_summed_to_hours_and_a_broken_hour_is_not_known():
    hourly = Steps(step_minutes=60, zone=LONDON)
    since = TOP - 6 * HOUR
    quarters = [(since + n * HOUR / 4, 0.5) for n in range(24) if n != 9]

    steps = measured_steps(quarters, hourly, since=since, at=NOW)

    assert [(starts, mm) for starts, _, mm in steps] == [
        (since + n * HOUR, 2.0) for n in (0, 1, 3, 4, 5)
    ]


def test_a_day_on_which_the_clocks_change_keeps_its_neighbours():
    daily = Steps(step_minutes=1440, zone=LONDON)
    days = [datetime(2026, 3, day, tzinfo=LONDON) for day in (28, 29, 30)]  # the 29th has 23 hours
    at = datetime(2026, 3, 31, tzinfo=LONDON)

    steps = measured_steps([(day, 4.0) for day in days], daily, since=days[0], at=at)

    assert [step.mm for step in rain_shown(steps, (), at=at)] == [4.0, 4.0, 4.0]
    assert steps[1][1] - steps[1][0] == 23 * HOUR


def test_nothing_measured_is_nothing_known():
    hourly = Steps(step_minutes=60, zone=LONDON)

    assert measured_steps([], hourly, since=TOP - 6 * HOUR, at=NOW) == []


moments = st.integers(-200, 200).map(lambda quarter: TOP + quarter * timedelta(minutes=15))
amounts = st.one_of(st.none(), st.floats(0, 50))


@given(
    measured=st.lists(st.tuples(moments, st.floats(-1, 50)), max_size=20),
    run=st.lists(st.tuples(moments, moments, amounts), max_size=20),
)
def test_no_two_steps_overlap_and_each_is_one_that_was_given(measured, run):
    steps = shown(measured, run)

    assert all(a.ends_at <= b.starts_at for a, b in pairwise(steps))
    given_steps = {(at, at + HOUR, mm) for at, mm in measured} | set(run)
    assert {(step.starts_at, step.ends_at, step.mm) for step in steps} <= given_steps
    assert all(step.ends_at <= NOW for step in steps if step.known_as == "measured")
