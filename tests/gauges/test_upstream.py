"""A sharp rise upstream: how much, since when, and about when it is here."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.further_gauges import with_upstream
from guiding.gauges.conditions.upstream import read_upstream
from guiding.gauges.conditions.values import Kind
from tests.factories import make_conditions
from tests.gauges.drawn import HOUR, NOW, hourly
from tests.gauges.test_fishing_hours import QUESTION


def rise_of(level, *, delay=6, asked_at=NOW, ends_at=NOW + 8 * HOUR, ratio=1.0):
    return read_upstream(
        "Brook Weir",
        hourly(level, 3),
        delay=timedelta(hours=delay),
        ratio=ratio,
        step=HOUR,
        asked_at=asked_at,
        ends_at=ends_at,
    )


def up(h):
    """Return 0.40 m until three hours ago, then 12 cm an hour."""
    return 0.40 + 0.12 * max(0, h + 3)


def test_a_sharp_rise_says_how_much_since_when_and_when_it_is_here():
    found = rise_of(up)

    assert found.rise_m == pytest.approx(0.36)
    assert (found.since_at, found.arrives_at) == (NOW - 3 * HOUR, NOW + 3 * HOUR)
    assert found.rate_m_h == pytest.approx(0.12)
    assert found.words(QUESTION.zone, NOW) == (
        "The river upstream has risen 36 cm since 07:00 (Brook Weir): it arrives here about 13:00, "
        "or sooner."
    )


def test_the_foot_of_a_rise_that_is_here_already_is_said_to_be():
    found = rise_of(up, delay=2)

    assert found.words(QUESTION.zone, NOW).endswith("it may be here already.")


def test_a_rise_that_has_all_come_here_is_not_told():
    peak = NOW - 20 * HOUR
    assert rise_of(lambda h: 0.9 if NOW + h * HOUR >= peak else 0.4) is None


def test_a_rise_that_has_passed_its_top_upstream_is_told():
    found = rise_of(lambda h: max(0.4, 0.9 - 0.1 * abs(h + 4)))

    assert found.rise_m == pytest.approx(0.5)


def test_a_river_that_flutters_or_falls_warns_of_nothing():
    assert rise_of(lambda h: 0.40 + 0.01 * (int(h) % 2)) is None
    assert rise_of(lambda h: 0.40 - 0.05 * h) is None
    assert rise_of(lambda h: 0.40 + 0.015 * max(0, h + 6)) is None  # 9 cm in six hours


def test_ten_centimetres_in_six_hours_is_sharp_and_so_are_five_in_one():
    assert rise_of(lambda h: 0.40 + 0.02 * max(0, h + 6)) is not None
    assert rise_of(lambda h: 0.45 if h >= 0 else 0.40) is not None


def test_what_comes_long_after_the_hours_is_not_told():
    assert rise_of(up, delay=48, ends_at=NOW + 8 * HOUR) is None


@given(st.lists(st.floats(0, 5), min_size=1, max_size=8))
def test_what_is_measured_later_changes_nothing(later):
    samples = [*hourly(up, 3), *((NOW + (k + 1) * HOUR, v) for k, v in enumerate(later))]
    found = read_upstream(
        "Brook Weir",
        samples,
        delay=6 * HOUR,
        ratio=1.0,
        step=HOUR,
        asked_at=NOW,
        ends_at=NOW + 8 * HOUR,
    )

    assert found == rise_of(up)


def conditions(**changes):
    return make_conditions(
        starts_at=NOW + HOUR, ends_at=NOW + 5 * HOUR, asked_at=NOW, day=NOW.date(), **changes
    )


def test_it_counts_into_how_fast_the_river_rises_where_it_comes_in_the_hours():
    told = with_upstream(conditions(rise=1.0), [rise_of(up, ratio=0.5)], QUESTION.zone)

    assert told.rise.value == pytest.approx(6.0)  # 12 cm an hour there, half of it here
    assert told.rise.kind is Kind.INFERRED
    assert told.upstream[0].gauge == "Brook Weir"
    assert told.says[0].startswith("The river upstream has risen 36 cm")


def test_it_never_makes_a_rise_slower_and_never_makes_an_unknown_one_known():
    faster = with_upstream(conditions(rise=20.0), [rise_of(up)], QUESTION.zone)
    unknown = with_upstream(conditions(rise=None), [rise_of(up)], QUESTION.zone)

    assert faster.rise.value == 20.0
    assert unknown.rise.number is None
    assert unknown.upstream


def test_several_rises_are_told_the_soonest_first():
    late, soon = rise_of(up, delay=8), rise_of(up, delay=4)

    told = with_upstream(conditions(), [late, soon], QUESTION.zone)

    assert told.upstream == (soon, late)
