"""One gauge worked out from another: by hand, with what it may not be used for."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.measured import Measured
from guiding.gauges.conditions.stand_in import Follows, StandIn, work_out
from tests.gauges.drawn import HOUR, NOW, hourly
from tests.gauges.test_fishing_hours import QUESTION

FOLLOWS = Follows(
    gauge="Brook Weir",
    lag_hours=2,
    ratio=0.5,
    spreads_m=((1, 0.02), (6, 0.05), (24, 0.10), (72, 0.20)),
    share=0.3,
    lowest_m=0.2,
    highest_m=2.0,
)
SILENT_AT = NOW - 10 * HOUR
HERE = Measured(samples=tuple(hourly(lambda h: 0.45, 5, until=SILENT_AT)))
# at the other gauge 0.80 m until eight hours ago, then 10 cm an hour
THERE = Measured(samples=tuple(hourly(lambda h: 0.80 + 0.10 * max(0, h + 8), 5)))


def worked_out(here=HERE, there=THERE, follows=FOLLOWS, until=NOW):
    return work_out(
        here,
        there,
        follows,
        name="Alder Bridge",
        why="is silent since 23:00 on 19 May",
        until=until,
        zone=QUESTION.zone,
    )


def test_the_level_is_the_last_common_one_plus_the_ratio_times_the_change_so_much_later():
    found = worked_out()

    # there 0.80 m until 01:00, so here until 03:00; at 09:00 here it is what it was there at 07:00:
    # 0.45 + 0.5 x (1.40 - 0.80) = 0.75 m (by hand)
    assert dict(found.worked_out)[NOW - 6 * HOUR] == pytest.approx(0.45)
    assert found.worked_out[-1] == (NOW, pytest.approx(0.75))
    assert found.worked_out[0][0] == SILENT_AT + HOUR
    assert found.measured.samples[: len(HERE.samples)] == HERE.samples


def test_the_spread_is_that_of_the_next_longer_horizon_or_a_share_of_a_big_change():
    # ten hours: that of 24 h, 0.10 m; the change is 0.30 m, a third of it less
    assert worked_out().spread_m == pytest.approx(0.10)
    assert worked_out(follows=replace(FOLLOWS, share=0.5)).spread_m == pytest.approx(0.15)
    assert worked_out(follows=replace(FOLLOWS, spreads_m=((24, 0.0),), share=0)).spread_m == 0.02


def test_it_is_said_what_it_is_worked_out_from_and_how_far_off_it_may_be():
    assert worked_out().says == (
        "Alder Bridge is silent since 23:00 on 19 May. Its level is worked out from Brook Weir, "
        "and not measured: the last level that both knew, of 00:00 on 20 May, and 0.50 m here, 2 h "
        "later, for each metre there; 10 cm or more off one time in ten."
    )


def test_a_typed_ratio_that_no_record_has_tried_says_so_and_is_wide():
    typed = Follows(gauge="Brook Weir", lag_hours=2, ratio=0.5)
    found = worked_out(follows=typed)

    assert "which no record has tried" in found.says
    assert found.spread_m == pytest.approx(0.15)  # half of the change


@given(st.floats(0, 6), st.integers(1, 9))
def test_nothing_after_the_moment_is_looked_at(level_m, hours):
    later = tuple((NOW + h * HOUR, level_m) for h in range(1, hours))
    there = replace(THERE, samples=(*THERE.samples, *later))

    assert worked_out(there=there) == worked_out()


@given(st.floats(0.2, 5), st.floats(0.2, 5))
def test_other_units_at_either_gauge_scale_what_is_worked_out(here_by, there_by):
    def by(measured, factor):
        return replace(measured, samples=tuple((t, v * factor) for t, v in measured.samples))

    plain = replace(FOLLOWS, lowest_m=None, highest_m=None)
    follows = replace(plain, ratio=FOLLOWS.ratio * here_by / there_by)
    one = worked_out(follows=plain)
    other = worked_out(by(HERE, here_by), by(THERE, there_by), follows)

    assert other.worked_out[-1][1] == pytest.approx(one.worked_out[-1][1] * here_by, abs=1e-3)


def test_a_gauge_downstream_tells_too_late_to_stand_in():
    found = worked_out(follows=replace(FOLLOWS, lag_hours=-4))

    assert found == "its own newest level is too old, or comes too late, to tell"


def test_a_silent_gauge_stands_in_for_nobody():
    there = replace(THERE, samples=THERE.samples[:-8])

    assert worked_out(there=there) == "its own newest level is too old, or comes too late, to tell"


def test_levels_beyond_those_learned_from_tell_nothing():
    found = worked_out(follows=replace(FOLLOWS, highest_m=1.2))

    assert found == "it stands beyond the levels that it was learned from"


def test_after_the_longest_time_learned_nothing_is_worked_out():
    found = worked_out(follows=replace(FOLLOWS, spreads_m=((1, 0.02), (6, 0.05))))

    assert found == "the two were last known together 10 h ago, too long to work out from"


def test_without_a_level_known_to_both_nothing_is_worked_out():
    there = replace(THERE, samples=THERE.samples[-6:])

    assert "were not both known within 3 days" in worked_out(there=there)
    assert "were not both known within 3 days" in worked_out(here=Measured())


def test_a_gap_at_the_other_gauge_moves_the_common_moment_back():
    gap = tuple(s for s in THERE.samples if not SILENT_AT - 8 * HOUR < s[0] < NOW - 8 * HOUR)
    found = worked_out(there=replace(THERE, samples=gap))

    assert isinstance(found, StandIn)
    assert found.worked_out[-1][1] == pytest.approx(0.75)


def test_records_of_different_steps_are_not_mixed():
    there = replace(THERE, step_hours=24.0)

    assert worked_out(there=there) == "one of the two is read by the hour, the other by the day"


def test_days_follow_days():
    day = timedelta(days=1)
    midnight = NOW.replace(hour=0)
    here = Measured(
        samples=tuple((midnight - n * day, 0.5) for n in range(9, 3, -1)), step_hours=24.0
    )
    there = Measured(
        samples=tuple((midnight - n * day, 1.0 if n > 3 else 1.4) for n in range(9, 0, -1)),
        step_hours=24.0,
    )
    follows = replace(FOLLOWS, lag_hours=24, spreads_m=((24, 0.02), (120, 0.08)), share=0)

    found = worked_out(here, there, follows)

    assert found.worked_out[-1] == (midnight, pytest.approx(0.7))
    assert found.spread_m == pytest.approx(0.08)
