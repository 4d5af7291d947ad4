"""Days, nights and the fishing day on the river's picture."""

import re
from xml.etree import ElementTree as Tree

import pytest

from tests.charts.drawn import HOUR, SIZES, START, SVG, chart, iso, words_of


def grounds(drawing):
    """Return left and width of each grey ground."""
    rects = Tree.fromstring(drawing).iter(f"{SVG}rect")  # noqa: S314
    return [
        (float(r.get("x")), float(r.get("width"))) for r in rects if r.get("fill-opacity") == "0.08"
    ]


def test_each_night_is_a_grey_ground_and_a_bar_that_prints_in_black():
    nights = [(iso(20), iso(28)), (iso(44), iso(52))]
    drawing, without = chart(nights=nights), chart()

    assert len(grounds(drawing)) == 2
    assert grounds(without) == []
    assert drawing.count("<path") == without.count("<path") + 2


def test_a_night_is_drawn_only_as_far_as_the_picture_goes():
    frame_width = grounds(chart(nights=[(iso(-20), iso(200))]))[0]

    assert frame_width[0] == 2
    assert grounds(chart(nights=[(iso(-20), iso(-10)), (iso(300), iso(310))])) == []
    ((left, wide),) = grounds(chart(nights=[(iso(0), iso(48))]))
    assert (left, wide) == pytest.approx((2, frame_width[1] / 2), abs=0.01)


@pytest.mark.parametrize("layout", SIZES)
def test_days_too_narrow_for_their_names_are_named_in_turn(layout):
    measured = [((START + 24 * n * HOUR).isoformat(), 0.5) for n in range(15)]
    drawing = chart(layout, measured=measured, forecast=[], step_minutes=1440)

    days = [
        words
        for words in words_of(drawing)
        if re.fullmatch(r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun)( \d+)?", words)
    ]
    assert len(days) >= 4


def test_the_picture_goes_as_far_as_was_asked_even_where_nothing_is_known():
    few = [(iso(0), 0.5), (iso(1), 0.5)]

    words = words_of(chart(measured=few, forecast=[], shown_from=iso(-72), shown_to=iso(120)))

    assert "not known" in words
    assert sum(bool(re.match("(Mon|Tue|Wed|Thu|Fri|Sat|Sun) ", word)) for word in words) >= 7
