"""When to ask again."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.feeds import schedule

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
QUARTER = timedelta(minutes=15)
MINUTE = timedelta(minutes=1)


def head(**fields):
    return {name.replace("_", "-"): value for name, value in fields.items()}


# The form of dates in headers: RFC 9110, HTTP Semantics, section 5.6.7.
DATE = "Tue, 24 Nov 2026 09:30:00 GMT"


def test_how_long_an_answer_is_fresh_is_counted_on_the_agencys_own_clock():
    # the agency's clock is a day behind ours, and its answer is fresh for half an hour all the same
    headers = head(date="Mon, 23 Nov 2026 09:30:00 GMT", expires="Mon, 23 Nov 2026 10:00:00 GMT")

    assert schedule.fresh_for(headers) == timedelta(minutes=30)
    asked = schedule.next_after_success(NOW, least=QUARTER, headers=headers, share=0)
    assert asked == NOW + timedelta(minutes=30)


@pytest.mark.parametrize(
    "headers",
    [
        {},
        head(expires="0", date=DATE),
        head(expires=DATE),
        head(expires="Tue, 24 Nov 2026 09:00:00 GMT", date=DATE),
        head(expires="Tue, 99 Nov 2026 09:00:00 GMT", date=DATE),
    ],
)
def test_without_a_good_word_the_least_time_holds(headers):
    asked = schedule.next_after_success(NOW, least=QUARTER, headers=headers, share=0)

    assert asked == NOW + QUARTER


def test_an_answer_that_claims_to_stay_fresh_for_ever_is_asked_for_again_within_a_day():
    headers = head(date=DATE, expires="Tue, 24 Nov 2036 09:30:00 GMT")

    assert schedule.fresh_for(headers) == timedelta(hours=24)


@pytest.mark.parametrize(
    ("said", "wait"),
    [
        ("120", timedelta(minutes=2)),
        ("Tue, 24 Nov 2026 10:30:00 GMT", timedelta(hours=1)),
        ("Tue, 24 Nov 2026 08:30:00 GMT", timedelta(0)),
        ("99999999999999", timedelta(hours=24)),
        ("Tue, 24 Nov 2099 08:30:00 GMT", timedelta(hours=24)),
        ("-5", None),
        ("soon", None),
        ("", None),
        ("٣", None),
    ],
)
def test_retry_after_is_understood_in_seconds_and_as_a_moment_and_is_capped(said, wait):
    assert schedule.asked_to_wait(head(retry_after=said, date=DATE), NOW) == wait


def test_the_wait_doubles_up_to_six_hours():
    waits = [
        schedule.next_after_failure(NOW, least=QUARTER, failures=n, headers={}, share=0) - NOW
        for n in (1, 2, 3, 4, 5, 50, 10_000)
    ]

    assert waits == [timedelta(minutes=m) for m in (30, 60, 120, 240, 360, 360, 360)]


def test_retry_after_holds_where_it_is_longer_and_never_shortens_a_wait():
    def wait(seconds):
        headers = head(retry_after=str(seconds))
        asked = schedule.next_after_failure(
            NOW, least=QUARTER, failures=1, headers=headers, share=0
        )
        return asked - NOW

    assert wait(7200) == timedelta(hours=2)
    assert wait(5) == timedelta(minutes=30)


@given(st.integers(0, 100), st.floats(0, 1), st.text(max_size=20), st.text(max_size=20))
def test_whatever_is_sent_nobody_is_asked_before_the_least_time_or_never(
    failures, share, first, second
):
    headers = head(retry_after=first, expires=second, date=first)

    for asked in (
        schedule.next_after_success(NOW, least=QUARTER, headers=headers, share=share),
        schedule.next_after_failure(
            NOW, least=QUARTER, failures=failures, headers=headers, share=share
        ),
    ):
        assert NOW + QUARTER <= asked <= NOW + timedelta(hours=27)


def test_requests_are_spread():
    moments = {schedule.spread(NOW, timedelta(hours=1), k / 10) for k in range(11)}

    assert (min(moments), max(moments)) == (NOW + 60 * MINUTE, NOW + 66 * MINUTE)
    assert len(moments) == 11


def test_two_clocks_more_than_two_minutes_apart_are_worth_a_word():
    def apart(now):
        return schedule.clock_difference(head(date=DATE), now)

    assert apart(NOW + timedelta(seconds=120)) is None
    assert apart(NOW + timedelta(seconds=121)) == timedelta(seconds=-121)
    assert apart(NOW - timedelta(hours=1)) == timedelta(hours=1)
    assert schedule.clock_difference({}, NOW) is None


def test_a_budget_begins_anew_at_midnight_in_utc():
    assert schedule.next_day(NOW, 0) == datetime(2026, 11, 25, tzinfo=UTC)
