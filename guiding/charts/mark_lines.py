"""The guide's marks across the picture, each with what is seen there."""

from __future__ import annotations

from guiding.charts.layout import Places, Style, mark_words
from guiding.charts.placing import shortened, spread
from guiding.charts.series import Frame, Series
from guiding.charts.svg import stroke, words_at

LIST_ROW = 1.35  # times the words' size


def _inside(series: Series, frame: Frame) -> list[tuple[float, str]]:
    """Return the marks in the picture from the highest down."""
    return [mark for mark in series.marks if frame.low <= mark[0] <= frame.high][::-1]


def mark_lines(series: Series, frame: Frame, style: Style) -> list[str]:
    """Return a dotted line for each mark in the picture."""
    dots = f"{style.line * 0.6:.1f} {style.line * 1.6:.1f}"
    return [
        stroke(
            [(frame.left, frame.y(level)), (frame.right, frame.y(level))],
            style.line * 0.45,
            stroke_dasharray=dots,
        )
        for level, _ in _inside(series, frame)
    ]


def words_of_marks(series: Series, places: Places, style: Style) -> list[str]:
    """Return the words of every mark: beside its line or, on a phone, listed under the picture."""
    if style.marks_below:
        return [*_beside(series, places, style, with_words=False), *_listed(series, places, style)]
    beside = _beside(series, places, style, with_words=True)
    return [*beside, *_higher_still(series, places, style)]


def _beside(series: Series, places: Places, style: Style, *, with_words: bool) -> list[str]:
    """Return the marks in a column, moved apart, each tied to its line."""
    size, frame, x = style.size, places.frame, places.words_x
    inside = _inside(series, frame)
    wanted = [frame.y(level) for level, _ in inside]
    apart = spread(wanted, size * 1.2, frame.top + size * 0.4, frame.bottom - size * 0.1)
    body = []
    for (level, seen), y, place in zip(inside, wanted, apart, strict=True):
        bend = [(frame.right, y), (frame.right + 4, y), (x - 8, place), (x - 3, place)]
        body.append(stroke(bend, style.line * 0.45))
        words = mark_words(level, seen) if with_words else f"{level:.2f}"
        shown = shortened(words, size, places.words_room)
        body.append(words_at(x, place + size * 0.34, shown, size))
    return body


def _listed(series: Series, places: Places, style: Style) -> list[str]:
    """Return each mark's words in a list, the highest first, those out of the picture said so."""
    frame, size = places.frame, style.size
    highest_first = series.marks[::-1]
    shown = []
    for level, seen in highest_first:
        beyond = ", above the picture" if level > frame.high else ""
        beyond = ", below the picture" if level < frame.low else beyond
        shown.append(f"{mark_words(level, seen)}{beyond}")
    left_out = len(shown) - places.listed
    if left_out > 0 and places.listed:
        shown = [*shown[: places.listed - 1], f"and {left_out + 1} more marks in the table"]
    room = places.words_x + places.words_room - frame.left
    return [
        words_at(
            frame.left,
            places.list_top + size * (LIST_ROW * row + 0.95),
            shortened(words, size, room),
            size,
        )
        for row, words in enumerate(shown[: places.listed])
    ]


def _higher_still(series: Series, places: Places, style: Style) -> list[str]:
    """Return words for the nearest mark above the picture, so that it is not left out unsaid."""
    above = [mark for mark in series.marks if mark[0] > places.frame.high]
    if not above:
        return []
    size, x, y = style.size, places.words_x, style.size * 1.1
    shaft = [(x - 7, y - size * 0.1), (x - 7, y - size * 0.8)]
    head = [(x - 10, y - size * 0.5), (x - 7, y - size * 0.8), (x - 4, y - size * 0.5)]
    lines = [stroke(line, style.line * 0.6) for line in (shaft, head)]
    shown = shortened(mark_words(*above[0]), size, places.words_room)
    return [*lines, words_at(x, y, shown, size)]
