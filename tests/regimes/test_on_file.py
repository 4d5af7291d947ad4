"""Rows to values: what was on file at a moment, for one beat or for many."""

from datetime import UTC, datetime, timedelta

import pytest

from guiding.regimes.actions import keep_look
from guiding.regimes.on_file import FishingHours, beyond_rain, beyond_rain_of_all
from tests import factories
from tests.regimes.schedules import (
    DAY,
    SAID,
    make_dam,
    make_tide,
    print_table,
    regulated_beat,
    release,
    say,
)

STARTS = datetime(2026, 5, 21, 8, 0, tzinfo=UTC)
LATE = datetime(2026, 5, 21, 7, 0, tzinfo=UTC)

pytestmark = pytest.mark.django_db


def hours_on(beat, starts_at=STARTS, day=DAY):
    return FishingHours(
        beat=beat, day=day, starts_at=starts_at, ends_at=starts_at + timedelta(hours=4)
    )


def test_natural_water_asks_one_question_and_is_moved_by_nothing(django_assert_num_queries):
    beat = factories.make_beat()
    hours = hours_on(beat)

    with django_assert_num_queries(1):
        seen = beyond_rain(hours, at=LATE)

    assert (seen.regime, seen.moved, seen.ice.is_there) == ("natural", None, None)


@pytest.mark.parametrize(
    ("regime", "why"),
    [
        ("regulated", "no dam is on file above this beat"),
        ("tidal", "no tide place is on file for this beat"),
    ],
)
def test_moved_water_without_a_row_is_not_known(regime, why):
    seen = beyond_rain(hours_on(factories.make_beat(regime=regime)), at=LATE)

    assert seen.moved.missing == (why,)


def test_the_newest_revision_on_file_at_the_moment_counts():
    beat = regulated_beat()
    dam = make_dam(beat)
    say(dam, DAY)
    say(dam, DAY, release("09:30"), at=SAID + timedelta(hours=12))

    before = beyond_rain(hours_on(beat), at=SAID + timedelta(hours=1))
    after = beyond_rain(hours_on(beat), at=LATE)

    assert before.moved.out_by_at(LATE) is None
    assert after.moved.out_by_at(LATE) == datetime(2026, 5, 21, 11, 0, tzinfo=UTC)
    assert not beyond_rain(hours_on(beat), at=SAID - timedelta(hours=1)).moved.is_known


def test_a_beat_called_natural_below_a_dam_is_taken_as_regulated():
    beat = regulated_beat()
    make_dam(beat)
    beat.regime = "natural"
    beat.save()

    seen = beyond_rain(hours_on(beat), at=LATE)

    assert seen.regime == "regulated"
    assert not seen.moved.is_known


def test_dam_and_tide_on_one_beat_must_both_be_on_file():
    beat = factories.make_beat(regime="tidal")
    dam, place = make_dam(beat), make_tide(beat)
    say(dam, DAY)
    assert "no tide table" in beyond_rain(hours_on(beat), at=LATE).moved.missing[0]
    print_table(place, DAY, "high 01:40", "low 07:50", "high 14:10", "low 20:20")

    seen = beyond_rain(hours_on(beat), at=LATE)

    assert seen.moved.is_known
    assert not seen.moved.gauge_is_there  # the tide's is not, so neither is the whole


def test_a_look_speaks_for_its_day_alone():
    beat = factories.make_beat()
    keep_look(beat.water.river, beat=beat, seen="none", looked_at=SAID, who_looked="Ruan", at=SAID)

    same_day = hours_on(beat, STARTS - timedelta(days=1), DAY - timedelta(days=1))

    assert beyond_rain(same_day, at=LATE).ice.is_there is False
    assert beyond_rain(hours_on(beat), at=LATE).ice.is_there is None


def test_a_look_after_midnight_speaks_for_the_night_that_began_before():
    beat = factories.make_beat()
    night = FishingHours(
        beat=beat,
        day=DAY - timedelta(days=1),
        starts_at=datetime(2026, 5, 20, 21, 0, tzinfo=UTC),
        ends_at=datetime(2026, 5, 21, 1, 0, tzinfo=UTC),
    )
    looked = datetime(2026, 5, 21, 0, 0, tzinfo=UTC)
    keep_look(
        beat.water.river, beat=beat, seen="shore", looked_at=looked, who_looked="R", at=looked
    )

    assert beyond_rain(night, at=looked).ice.is_there is True


def test_a_look_typed_in_later_was_not_known_before():
    beat = factories.make_beat()
    keep_look(
        beat.water.river,
        beat=beat,
        seen="cover",
        looked_at=STARTS,
        who_looked="R",
        at=STARTS + timedelta(hours=2),
    )

    assert beyond_rain(hours_on(beat), at=STARTS + timedelta(hours=1)).ice.is_there is None
    assert beyond_rain(hours_on(beat), at=STARTS + timedelta(hours=2)).ice.is_there is True


def test_many_are_read_as_one_is_and_ask_no_more(django_assert_num_queries):
    river = factories.make_river()
    beats = [
        factories.make_beat(regime="tidal", water=factories.make_water(river=river))
        for _ in range(5)
    ]
    dam, place = make_dam(*beats), make_tide(*beats)
    say(dam, DAY, release("09:30"))
    print_table(place, DAY, "high 01:40", "low 07:50", "high 14:10", "low 20:20")
    keep_look(river, beat=None, seen="none", looked_at=SAID, who_looked="R", at=SAID)
    asked = [hours_on(beat) for beat in beats]

    with django_assert_num_queries(7):
        one = beyond_rain_of_all(asked[:1], at=LATE)
    with django_assert_num_queries(7):
        many = beyond_rain_of_all(asked, at=LATE)

    assert one[0] == many[0] == beyond_rain(asked[0], at=LATE)
    assert all(seen == many[0] for seen in many[1:])
