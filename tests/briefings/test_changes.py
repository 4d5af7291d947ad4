"""What changed between two issues, told on contents made up by hand."""

from dataclasses import replace

import pytest

from briefings.pack.changes import says_the_same, what_changed
from briefings.pack.words import GOING
from tests.briefings.pack_examples import FINAL, FIRST

OLD = FINAL.as_json()


def changed(**changes):
    return replace(FINAL, **changes).as_json()


def test_late_or_older_data_alone_changes_nothing():
    new = changed(number=3, replaces=2, issued="Wed 20 May, 20:00", valid_until="later", sources=())

    assert says_the_same(OLD, new)
    assert what_changed(OLD, new) == ()


def test_the_old_end_of_the_drawn_line_is_no_news_but_its_new_end_is():
    picture = FINAL.river.picture
    shorter = replace(picture, measured=picture.measured[1:])
    longer = replace(picture, measured=(*picture.measured, ("2026-05-21T00:00:00+01:00", 0.9)))

    assert says_the_same(OLD, changed(river=replace(FINAL.river, picture=shorter)))
    assert not says_the_same(OLD, changed(river=replace(FINAL.river, picture=longer)))


def test_a_reading_that_is_an_hour_older_is_no_news():
    def told(detail):
        return changed(river=replace(FINAL.river, detail=detail))

    old = told("Not known since 09:00 on 25 November (3 h ago).")

    assert says_the_same(old, told("Not known since 09:00 on 25 November (4 h ago)."))
    assert not says_the_same(old, told("Not known since 10:00 on 25 November (3 h ago)."))


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        ({"danger": "The river is big."}, f"the danger line, which said: {FINAL.danger}"),
        ({"wading": "Bank only."}, "wading: Bank only."),
        (
            {"river": replace(FINAL.river, sentence="Rising.")},
            "what the river will do, as read below",
        ),
        (
            {"cautions": (*FINAL.cautions, replace(FINAL.cautions[0], text="Ice: stay off it."))},
            "new caution: Ice: stay off it.",
        ),
        (
            {
                "worth": replace(
                    FINAL.worth, worth_going="Not worth going as the river looks now. Too big."
                )
            },
            "whether to go: Not worth going as the river looks now.",
        ),
        ({"setup": None, "setup_says": "Nothing fits."}, "what to tie on, as said below"),
    ],
)
def test_each_thing_a_reader_must_know_is_said(changes, line):
    new = changed(**changes)

    assert not says_the_same(OLD, new)
    assert line in what_changed(OLD, new)


def test_other_words_for_the_same_answer_are_no_news():
    one = changed(
        worth=replace(FINAL.worth, worth_going="Worth going as the river looks now. Water 9.")
    )
    two = changed(
        worth=replace(FINAL.worth, worth_going="Worth going as the river looks now. Water 8.")
    )

    assert what_changed(one, two) == ()


@pytest.mark.parametrize(
    ("field", "value", "line"),
    [
        ("meets", "09:15", "meet at 09:15, not {meets}"),
        ("ends", "23:00", "we stop at 23:00, not {ends}"),
        ("beat", "Other Beat", "Other Beat, not {beat}"),
    ],
)
def test_a_part_that_moves_says_from_what_to_what(field, value, line):
    first, *rest = FINAL.parts
    new = changed(parts=(replace(first, **{field: value}), *rest))

    when = f"{first.date_words}, {first.part}: "
    assert when + line.format(**OLD["parts"][0]) in what_changed(OLD, new)


def test_a_part_that_falls_away_and_one_that_comes_are_both_said():
    part = FINAL.parts[0]
    new = changed(parts=(replace(part, part="night"),))

    lines = what_changed(changed(parts=(part,)), new)

    assert f"{part.date_words}, {part.part}: not any more" in lines
    assert f"{part.date_words}, night is new" in lines


def test_worth_going_names_each_part_with_its_new_answer_alone():
    def told(text):
        return changed(worth=replace(FINAL.worth, worth_going=text))

    unknown = GOING["not_known"]
    old = told(f"Evening, Beat 1: {GOING['yes']} Settled. Night, Beat 1: {unknown}")
    new = told(f"Evening, Beat 1: {unknown} No gauge. Night, Beat 1: {unknown} No gauge.")

    assert what_changed(old, new) == (
        f"whether to go: Evening, Beat 1: {unknown} Night, Beat 1: {unknown}",
    )


def test_a_new_caution_opens_here_and_stands_whole_among_the_cautions():
    long = replace(FINAL.cautions[0], text="Ice: stay off it. A jam can let go at once.")

    lines = what_changed(OLD, changed(cautions=(*FINAL.cautions, long)))

    assert lines == ("new caution: Ice: stay off it.",)


def test_a_meeting_point_that_moves_is_named():
    part = FINAL.parts[0]
    moved = replace(part, meeting_point=replace(part.meeting_point, name="Red gate"))

    lines = what_changed(OLD, changed(parts=(moved, *FINAL.parts[1:])))

    assert f"{part.date_words}, {part.part}: meet at Red gate" in lines


def test_from_first_to_final_the_news_is_that_the_river_was_read():
    lines = what_changed(replace(FIRST, parts=FINAL.parts).as_json(), OLD)

    assert lines[0] == "the river, the flies and the wading are now read for your day"
    assert not any(line.startswith(("wading:", "the danger line")) for line in lines)


def test_danger_and_wading_come_before_everything_else():
    new = changed(
        danger="The river is big.", wading="Bank only.", setup=None, setup_says="Nothing fits."
    )

    assert [line.split(":")[0] for line in what_changed(OLD, new)][:2] == [
        "the danger line, which said",
        "wading",
    ]
