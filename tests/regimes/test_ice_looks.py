"""What is seen of ice speaks for its place and its day."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.regimes.ice_looks import SEEN, Look, read_looks
from guiding.regimes.models import IceLook
from tests.regimes.schedules import LONDON

EIGHT = datetime(2026, 1, 15, 8, 0, tzinfo=UTC)


def look(seen="none", hours=0.0, *, place="Home Beat", here=True, **others):
    return Look(
        looked_at=EIGHT + timedelta(hours=hours),
        seen=seen,
        who="Ruan",
        place=place,
        is_of_this_beat=here,
        **others,
    )


def test_nobody_looked_is_not_known():
    assert read_looks([], LONDON).is_there is None


def test_what_was_seen_is_said_with_place_time_and_who():
    seen = read_looks([look("floating", water_c=0.3)], LONDON)

    assert seen.is_there is True
    assert seen.words == ("floating ice at Home Beat at 08:00, water 0.3 degrees C, seen by Ruan")


def test_the_newest_look_at_a_place_counts():
    assert read_looks([look("cover"), look("none", 3)], LONDON).is_there is False
    assert read_looks([look("none", 3), look("breaking", 4)], LONDON).is_there is True


def test_no_ice_at_another_beat_says_nothing_of_this_one():
    assert read_looks([look(place="Far Beat", here=False)], LONDON).is_there is None


def test_ice_at_another_beat_comes_down_the_river():
    looks = [look("none", 2), look("breaking", place="Far Beat", here=False)]

    assert read_looks(looks, LONDON).is_there is True


def test_only_what_can_be_seen_is_taken():
    with pytest.raises(ValueError, match="seen is 'slush'"):
        look("slush")
    assert set(SEEN) == set(IceLook.Seen.values)
    assert dict(IceLook.Seen.choices) == SEEN


LOOKS = st.lists(
    st.builds(
        lambda seen, hours, place: look(seen, hours, place=place, here=place != "Far Beat"),
        st.sampled_from(list(SEEN)),
        st.floats(0, 10),
        st.sampled_from(["Home Beat", "the whole River Test", "Far Beat"]),
    ),
    max_size=6,
)


@given(LOOKS)
def test_ice_free_is_only_said_where_somebody_looked_here_and_nobody_sees_ice(looks):
    seen = read_looks(looks, LONDON)

    if seen.is_there is False:
        assert any(one.is_of_this_beat and one.seen == "none" for one in looks)
    for one in looks:
        newest = max((o for o in looks if o.place == one.place), key=lambda o: o.looked_at)
        if newest.seen != "none" and [o.looked_at for o in looks].count(newest.looked_at) == 1:
            assert seen.is_there is True
