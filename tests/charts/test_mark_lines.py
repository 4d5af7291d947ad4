"""The guide's marks on a phone: levels beside the picture, what is seen there under it."""

import pytest

from tests.charts.drawn import chart, words_of

MARKS = [(0.3, "footing dry"), (0.4, "flat stone"), (0.9, "hut steps"), (2.4, "meadow wet")]


def test_a_phone_lists_what_is_seen_from_the_highest_down():
    words = words_of(chart("phone", marks=MARKS))

    listed = [word for word in words if any(seen in word for _, seen in MARKS)]
    assert listed == [
        "2.40 meadow wet, above the picture",
        "0.90 hut steps, above the picture",
        "0.40 flat stone",
        "0.30 footing dry",
    ]
    assert {"0.40", "0.30"} <= set(words)


def test_more_marks_than_there_is_room_for_are_counted():
    words = words_of(chart("phone", marks=[(0.4 + n / 100, f"stone {n}") for n in range(30)]))

    shown = [word for word in words if " stone " in word]
    (more,) = [word for word in words if word.endswith("more marks in the table")]
    assert len(shown) + int(more.split()[1]) == 30


@pytest.mark.parametrize("layout", ["page", "pack"])
def test_a_wide_picture_names_each_mark_beside_its_line(layout):
    words = words_of(chart(layout, marks=MARKS))

    assert "0.40 flat stone" in words
    assert any(word.startswith(("0.90 hut", "2.40")) for word in words)


def test_levels_below_nought_keep_their_sign():
    measured = [("2026-05-20T00:00:00+00:00", -0.6), ("2026-05-20T12:00:00+00:00", -0.5)]
    words = words_of(chart("phone", measured=measured, forecast=[], marks=[(-0.55, "weed")]))

    assert "-0.55 weed" in words
    assert "-0.50 m, Wed 12:00" in words
