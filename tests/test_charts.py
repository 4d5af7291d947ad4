import json
import re
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree as Tree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.charts.placing import Box, shortened, spread
from guiding.charts.river import river_chart
from guiding.charts.river_table import river_table
from guiding.charts.svg import hatched, number, runs, text_width
from tests.briefings.pack_examples import river_picture

SVG = "{http://www.w3.org/2000/svg}"
SIZES = {"pack": (493, 170), "page": (720, 380), "phone": (354, 430)}
START = datetime(2026, 5, 20, 18, tzinfo=UTC)


def plain(picture):
    return json.loads(json.dumps({f: getattr(picture, f) for f in picture.__slots__}))


def a_picture(**changes):
    return {**plain(river_picture()), **changes}


def without_rain():
    """Return what a picture kept before rain and nights were drawn has for them."""
    return {"rain": None, "nights": None, "shown_from": "", "shown_to": ""}


def drawn(picture, layout="pack", **changes):
    width, height = SIZES[layout]
    wanted = {"title": "The river", "description": "falling", **changes}
    return river_chart(picture, width=width, height=height, layout=layout, **wanted)


def hours(count, start=START):
    return [(start + timedelta(hours=hour)).isoformat() for hour in range(count)]


def words_in(chart):
    return [text.text for text in Tree.fromstring(chart).iter(f"{SVG}text")]  # noqa: S314


def word_boxes(chart):
    for text in Tree.fromstring(chart).iter(f"{SVG}text"):  # noqa: S314
        size, x, y = (float(text.get(key)) for key in ("font-size", "x", "y"))
        wide = text_width(text.text, size, bold=text.get("font-weight") == "700")
        left = x - wide / 2 if text.get("text-anchor") == "middle" else x
        # from the top of a capital to the baseline
        yield text.text, Box(x=left, y=y - size * 0.7, width=wide, height=size * 0.7)


def solid_lines(chart):
    """Return the paths of the thickest solid line: what was measured."""
    paths = list(Tree.fromstring(chart).iter(f"{SVG}path"))  # noqa: S314
    return [
        path.get("d")
        for path in paths
        if path.get("stroke-linejoin") == "round" and path.get("stroke-dasharray") is None
    ]


@pytest.mark.parametrize("layout", SIZES)
def test_a_chart_says_what_it_shows_and_needs_neither_ids_nor_styles(layout):
    chart = drawn(a_picture(), layout)

    children = [child.tag for child in Tree.fromstring(chart)]  # noqa: S314
    assert children[:2] == [f"{SVG}title", f"{SVG}desc"]
    assert " id=" not in chart
    assert "style" not in chart
    assert "nan" not in chart.lower().replace("nance", "")


@pytest.mark.parametrize("layout", SIZES)
@pytest.mark.parametrize("known_hours", [120, 12, 0])
def test_no_two_labels_overlap_and_none_leaves_the_drawing(layout, known_hours):
    chart = drawn(a_picture(**plain(river_picture(known_hours=known_hours))), layout)

    boxes = list(word_boxes(chart))
    width, height = SIZES[layout]
    for place, (words, box) in enumerate(boxes):
        assert -0.5 <= box.x <= width, words
        assert box.x + box.width <= width + 0.5, words
        assert 0 <= box.y <= height, words
        for others, other in boxes[place + 1 :]:
            assert not box.meets(other), f"{words!r} meets {others!r}"


@pytest.mark.parametrize("layout", SIZES)
def test_every_mark_is_named_even_one_far_above_the_picture(layout):
    words = " | ".join(words_in(drawn(a_picture(), layout)))

    for mark in ("0.30 summer level", "0.90 flat stone covered", "2.40 over the bank"):
        assert mark in words


def test_a_gap_breaks_the_line_and_is_not_bridged():
    levels = [0.5, 0.6, None, None, 0.7, 0.6, 0.5]
    picture = a_picture(measured=list(zip(hours(7), levels, strict=True)), forecast=[])

    lines = solid_lines(drawn(picture))

    assert [line.count("L") for line in lines] == [1, 2]


def test_a_reading_alone_between_gaps_is_a_dot():
    levels = [0.5, 0.5, None, 0.7, None, 0.5, 0.5]
    picture = a_picture(measured=list(zip(hours(7), levels, strict=True)), forecast=[], marks=[])

    assert drawn(picture).count("<circle") == 2  # the dot, and the ring of the newest reading


def test_a_stale_river_says_since_when_nothing_is_known():
    measured = [(at, 0.8) for at in hours(3)] + [(START + timedelta(days=4), None)]
    measured = [(str(at).replace(" ", "T"), level) for at, level in measured]
    picture = a_picture(measured=measured, forecast=[])

    words = words_in(drawn(picture))

    # 20:00 UTC is 21:00 on the river's clock
    place = words.index("not known")
    assert words[place : place + 3] == ["not known", "since Wed 20 May,", "21:00"]


def test_a_forecast_that_ends_early_says_after_when_it_is_not_known():
    words = words_in(drawn(a_picture(**plain(river_picture(known_hours=12)))))

    assert "after Thu 21 May," in words


@pytest.mark.parametrize("layout", SIZES)
def test_a_river_of_which_nothing_is_known_says_so_and_keeps_its_marks(layout):
    nothing = a_picture(
        measured=[(at, None) for at in hours(5)],
        forecast=[(at, None, None, None) for at in hours(5)],
    )

    words = " ".join(words_in(drawn(nothing, layout)))

    assert "level not known" in words
    assert "summer level" in words


@pytest.mark.parametrize("layout", SIZES)
@pytest.mark.parametrize(
    "changes",
    [
        {"measured": [], "forecast": [], "marks": [], "day_from": "", "day_to": ""},
        {"measured": [(START.isoformat(), 0.4)], "forecast": [], "marks": []},
        {"marks": []},
        {"measured": [(at, 3.4) for at in hours(5)], "forecast": []},
        {"measured": [(at, -0.4) for at in hours(5)], "forecast": []},
        {"measured": [(at, float("nan")) for at in hours(5)]},
        {"marks": [(0.5 + place / 100, f"mark {place}") for place in range(12)]},
        {"marks": [(0.5, "a stone with a very long story about who once fell over it " * 5)]},
    ],
)
def test_poor_pictures_are_drawn_without_a_broken_number(layout, changes):
    chart = drawn(a_picture(**changes), layout)

    assert not re.search(r'="[^"]*(nan|inf)[^"]*"', chart)
    Tree.fromstring(chart)  # noqa: S314


levels = st.one_of(st.none(), st.floats(-1, 20))


@given(
    measured=st.lists(levels, max_size=30),
    ahead=st.lists(st.tuples(levels, levels, levels), max_size=30),
    marks=st.lists(st.tuples(st.floats(-1, 20), st.text(max_size=40)), max_size=6),
    layout=st.sampled_from(list(SIZES)),
)
def test_any_series_gives_well_formed_markup(measured, ahead, marks, layout):
    picture = a_picture(
        measured=list(zip(hours(len(measured)), measured, strict=True)),
        forecast=[
            (at, *row)
            for at, row in zip(
                hours(len(ahead), START + timedelta(hours=len(measured))), ahead, strict=True
            )
        ],
        marks=marks,
    )

    chart = drawn(picture, layout)

    Tree.fromstring(chart)  # noqa: S314
    assert not re.search(r'="[^"]*(nan|inf)[^"]*"', chart)


def test_words_from_outside_stay_words():
    hostile = '</svg><script>alert("x")</script>'
    chart = drawn(a_picture(marks=[(0.5, hostile)]), title=hostile, description=hostile)

    assert "<script" not in chart
    assert chart.count("</svg>") == 1
    root = Tree.fromstring(chart)  # noqa: S314
    assert root.find(f"{SVG}title").text == hostile


def test_hatching_stays_inside_the_band_and_fills_it():
    # upper edge 10 rising to 0, lower edge 30 falling to 50, over 0 to 100
    run = [(float(x), 10 - x / 10, 30 + x / 5) for x in range(0, 101, 10)]

    path = hatched(run, 5, 0.5)

    pieces = re.findall(r"M([\d.-]+) ([\d.-]+)L([\d.-]+) ([\d.-]+)", path)
    assert len(pieces) > 20
    for x0, y0, x1, y1 in (map(float, piece) for piece in pieces):
        for share in (0, 0.25, 0.5, 0.75, 1):
            x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
            assert 10 - x / 10 - 0.1 <= y <= 30 + x / 5 + 0.1
    # lines 5 apart along x at 45 degrees: area / 5 is the sum of their lengths along x
    along_x = sum(float(x1) - float(x0) for x0, _, x1, _ in pieces)
    assert along_x == pytest.approx(3500 / 5, rel=0.05)  # (20 + 50) / 2 x 100 = 3500


def test_the_band_is_hatched_by_lines_and_not_by_a_pattern():
    chart = drawn(a_picture())

    assert "<pattern" not in chart
    assert max(path.count("M") for path in re.findall(r' d="([^"]*)"', chart)) > 30


def test_the_table_gives_the_picture_at_six_hours_of_the_rivers_clock():
    rows = river_table(a_picture(**without_rain()))

    assert rows[0].when == "Mon 18 May, 00:00"
    newest = [row for row in rows if row.known_as == "measured"][-1]
    assert (newest.when, newest.level, newest.between) == ("Wed 20 May, 19:00", "0.79 m", "read")
    first = next(row for row in rows if row.known_as == "forecast")
    assert first.when == "Thu 21 May, 00:00"
    assert re.fullmatch(r"0\.\d\d to 0\.\d\d m", first.between)


def test_the_table_says_not_known_where_nothing_is():
    rows = river_table(a_picture(**plain(river_picture(known_hours=0))))

    ahead = [row for row in rows if row.known_as == "forecast"]
    assert {(row.level, row.between) for row in ahead} == {("not known", "not known")}


def test_the_table_keeps_whole_hours_over_a_clock_change():
    # clocks in Europe/London go back on 25 October 2026 at 01:00 UTC
    start = datetime(2026, 10, 24, 22, tzinfo=UTC)
    measured = [(at, 0.5) for at in hours(24, start)]
    picture = a_picture(measured=measured, forecast=[], **without_rain())

    whens = [row.when for row in river_table(picture)]

    assert whens == [
        "Sun 25 Oct, 00:00",
        "Sun 25 Oct, 06:00",
        "Sun 25 Oct, 12:00",
        "Sun 25 Oct, 18:00",
        "Sun 25 Oct, 21:00",
    ]


def test_a_daily_record_is_given_whole():
    measured = [((START + timedelta(days=day)).isoformat(), 0.5) for day in range(5)]

    assert len(river_table(a_picture(measured=measured, forecast=[], **without_rain()))) == 5


@pytest.mark.parametrize(
    ("changes", "size", "says"),
    [
        ({"day_from": "2026-05-21T07:30:00"}, {}, "no offset"),
        ({}, {"layout": "wall"}, "pack, page, phone"),
        ({}, {"width": 20}, "too small"),
    ],
)
def test_what_cannot_be_drawn_is_refused_in_words(changes, size, says):
    wanted = {"width": 500, "height": 200, "layout": "pack", **size}

    with pytest.raises(ValueError, match=says):
        river_chart(a_picture(**changes), title="t", description="d", **wanted)


@given(st.lists(st.floats(0, 100), max_size=8))
def test_spread_labels_keep_their_order_and_their_distance(wanted):
    placed = spread(sorted(wanted), 12, 0, 100)

    assert all(b - a >= 12 - 1e-9 for a, b in pairwise(placed))


def test_labels_with_room_stay_where_they_are_wanted():
    assert spread([10, 40, 80], 12, 0, 100) == [10, 40, 80]


def test_words_too_long_are_cut_to_the_room():
    cut = shortened("a very long name of a very small stone", 11, 60)

    assert cut.endswith("…")
    assert text_width(cut, 11) <= 60


def test_numbers_and_runs_are_plain():
    assert [number(value) for value in (1.0, 0.126, -0.001, -0.5, 100)] == [
        *("1", "0.13", "0", "-0.5", "100")
    ]
    assert runs([(1,), None, None, (2,), (3,)]) == [[(1,)], [(2,), (3,)]]
