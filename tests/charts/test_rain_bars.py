"""Rain over the river: one bar a step as it was given, and what is not known never dry."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.charts.rain_bars import NOT_KNOWN, rain_of, rain_words
from tests.charts.drawn import SIZES, bars_of, chart, picture, rain, series, words_of

HOURS = 97.0  # of the picture: 48 measured, 48 ahead


def test_six_hours_rain_in_one_figure_is_one_bar_and_never_six():
    drawing = chart(rain=rain((54, 6, 12.0, "forecast")))

    ((left, right, _),) = bars_of(drawing, filled=False)
    hourly = chart(rain=rain(*[(54 + h, 1, 2.0, "forecast") for h in range(6)]))
    assert right - left == pytest.approx(sum(b - a for a, b, _ in bars_of(hourly, filled=False)))


def test_the_area_of_a_bar_is_its_rain():
    drawing = chart(rain=rain((10, 1, 4.0, "measured"), (20, 6, 12.0, "measured")))

    one, six = bars_of(drawing, filled=True)

    def area(bar):
        return (bar[1] - bar[0]) * bar[2]

    assert area(six) == pytest.approx(3 * area(one), rel=0.01)  # 12 mm against 4 mm


def test_measured_bars_are_filled_and_forecast_ones_only_outlined():
    drawing = chart(rain=rain((10, 1, 4.0, "measured"), (60, 1, 4.0, "forecast")))

    ((measured_left, _, _),) = bars_of(drawing, filled=True)
    ((ahead_left, _, _),) = bars_of(drawing, filled=False)
    assert measured_left < ahead_left


def test_narrow_neighbours_in_outline_share_their_edge():
    drawing = chart("phone", rain=rain((60, 1, 4.0, "forecast"), (61, 1, 2.0, "forecast")))

    first, second = bars_of(drawing, filled=False)
    assert first[1] == second[0]
    assert first[2] == pytest.approx(2 * second[2], abs=0.02)


def test_a_dry_step_is_a_line_without_a_bar():
    drawing = chart(rain=rain(*[(h, 1, 0.0, "measured") for h in range(96)]))

    assert bars_of(drawing, filled=True) == []
    assert not {"?", NOT_KNOWN} & set(words_of(drawing))


@pytest.mark.parametrize("layout", SIZES)
def test_missing_rain_is_said_and_never_drawn_dry(layout):
    known = [(h, 1, 0.0, "measured") for h in range(24)]

    assert NOT_KNOWN in words_of(chart(layout, rain=rain(*known)))
    assert NOT_KNOWN in words_of(chart(layout, rain=[]))
    nothing = [(h, 1, None, "forecast") for h in range(96)]
    assert NOT_KNOWN in words_of(chart(layout, rain=rain(*nothing)))


def test_the_line_that_rain_hangs_from_is_broken_where_nothing_is_known():
    whole = chart(rain=rain(*[(h, 1, 0.0, "measured") for h in range(96)]))
    broken = chart(rain=rain(*[(h, 1, 0.0, "measured") for h in range(96) if h != 30]))

    assert broken.count("<path") == whole.count("<path") + 1


def test_a_picture_kept_before_rain_was_drawn_has_no_strip():
    drawing = chart()

    assert NOT_KNOWN not in words_of(drawing)
    assert "mm a day" not in words_of(drawing)


def test_a_step_that_reaches_out_of_the_picture_is_known_up_to_its_edge():
    steps = [(h, 1, 0.0, "measured") for h in range(90)] + [(90, 12, 12.0, "forecast")]
    drawing = chart(rain=rain(*steps))

    ((left, right, _),) = bars_of(drawing, filled=False)
    a_day = (right - left) / 6 * 24  # six of its twelve hours lie inside
    assert a_day * 4 == pytest.approx(right - 2, rel=0.01)
    assert "?" not in words_of(drawing)


def test_each_day_has_its_sum_and_says_where_it_is_not_whole():
    steps = [(h, 1, 0.5, "measured") for h in range(24)]  # 12 mm
    steps += [(h, 1, 0.5, "measured") for h in range(24, 36)]  # half a day on file
    steps += [(72, 24, 0.2, "forecast")]
    words = words_of(chart(rain=rain(*steps), shown_from="", shown_to=""))

    place = words.index("mm a day")
    assert words[place + 1 : place + 5] == ["12", "6+", "?", "<1"]


@pytest.mark.parametrize(
    ("mm", "is_whole", "said"),
    [
        (None, False, "?"),
        (0.0, False, "?"),
        (0.0, True, "0"),
        (0.4, True, "<1"),
        (4.0, False, "4+"),
        (12.6, True, "13"),
    ],
)
def test_a_sum_of_which_part_is_missing_is_no_sum(mm, is_whole, said):
    assert rain_words(mm, is_whole=is_whole) == said


def test_a_step_counts_to_the_day_of_its_middle_and_is_never_shared_out():
    drawn = series(rain=rain((20, 6, 6.0, "forecast")))  # 20:00 to 02:00, middle 23:00
    first, second = drawn.midnights()[0:2]

    assert rain_of(drawn, (first, second)) == (6.0, False)
    assert rain_of(drawn, (second, second + 24)) == (None, False)


amounts = st.lists(
    st.tuples(st.integers(0, 95), st.integers(1, 12), st.one_of(st.none(), st.floats(0, 80))),
    max_size=30,
)


@given(steps=amounts, layout=st.sampled_from(list(SIZES)))
def test_no_rain_is_lost_or_made_and_none_leaves_the_strip(steps, layout):
    chosen, reached = [], 0
    for at, wide, mm in sorted(steps, key=lambda step: step[0]):
        if at >= reached:
            chosen.append((at, wide, mm, "measured" if at < 48 else "forecast"))
            reached = at + wide
    drawn = series(rain=rain(*chosen))
    drawing = chart(layout, rain=rain(*chosen))

    days = list(zip(drawn.midnights(), drawn.midnights()[1:], strict=False))
    told = sum(rain_of(drawn, day)[0] or 0 for day in days)
    assert told == pytest.approx(sum(mm or 0 for _, _, mm, _ in chosen))
    for filled in (True, False):
        for left, right, deep in bars_of(drawing, filled=filled):
            assert 0 <= left <= right <= SIZES[layout][0]
            assert 0 < deep <= 60


def test_a_picture_by_hand_reads_as_it_was_written():
    assert series().rain is None
    assert series(rain=[]).rain == ()
    assert len(picture()["measured"]) + len(picture()["forecast"]) == HOURS
