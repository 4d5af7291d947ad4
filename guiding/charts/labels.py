"""The newest reading and the part of which nothing is known, in words inside the picture."""

from __future__ import annotations

from collections.abc import Iterator

from guiding.charts.layout import Style
from guiding.charts.placing import Box, Taken, around
from guiding.charts.series import Frame, Series, moment_words
from guiding.charts.svg import element, paper, text_width, words_at

NOT_KNOWN = "not known"


def newest_reading(series: Series, frame: Frame, style: Style, taken: Taken) -> list[str]:
    """Return the ring at the newest reading and its words, clear of the lines."""
    last = series.last_measured()
    if last is None:
        return []
    x, y = frame.x(last[0]), frame.y(last[1])
    size, ring = style.size, style.line * 1.6
    when = moment_words(series.clock(last[0]), is_short=True, is_day=series.is_daily)
    shown = f"{last[1]:.2f} m, {'mean of ' if series.is_daily else ''}{when}"
    wide, tall = text_width(shown, size, bold=True) + 4, size * 1.1
    taken.words.append(Box(x=x - ring - 2, y=y - ring - 2, width=2 * ring + 4, height=2 * ring + 4))
    within = _box_of(frame)
    otherwise = Box(x=max(min(x, frame.right - wide), 0), y=frame.top, width=wide, height=tall)
    box = taken.place(around(x, y, wide, tall, within), otherwise)
    circle = element(
        "circle",
        class_="paper",
        cx=x,
        cy=y,
        r=ring,
        fill="#fff",
        stroke="currentColor",
        stroke_width=style.line,
    )
    patch = paper(box.x, box.y, box.width, box.height)
    return [patch, circle, words_at(box.x + 2, box.y + size * 0.87, shown, size, bold=True)]


def not_known(series: Series, frame: Frame, style: Style, taken: Taken) -> list[str]:
    """Return the words for the part of the picture of which nothing is known."""
    last = series.last_known()
    if last is None:
        lines, left = ["level", NOT_KNOWN], frame.left
    else:
        word = "after" if series.has_forecast() else "since"
        moment = moment_words(series.clock(last), is_day=series.is_daily)
        day, _, clock = moment.partition(", ")
        lines = [NOT_KNOWN, f"{word} {day}{',' if clock else ''}", *([clock] if clock else [])]
        left = frame.x(last)
    if frame.right - left < max(0.06 * (frame.right - frame.left), 12):
        return []
    size = style.size
    wide = max(text_width(line, size, bold=True) for line in lines) + 6
    tall = size * 1.2 * len(lines) + 4
    middle = Box(
        x=(left + frame.right - wide) / 2,
        y=(frame.top + frame.bottom - tall) / 2,
        width=wide,
        height=tall,
    )
    otherwise = Box(x=frame.right - wide - 4, y=middle.y, width=wide, height=tall)
    box = taken.place(_places(middle, left, frame), otherwise)
    body = [paper(box.x, box.y, wide, tall)]
    for count, line in enumerate(lines):
        place = box.y + size * (1.2 * count + 0.95)
        body.append(words_at(box.x + wide / 2, place, line, size, anchor="middle", bold=True))
    return body


def _places(middle: Box, left: float, frame: Frame) -> Iterator[Box]:
    """Yield places for words on what is not known: in that part if it is wide enough, else near it.

    The record is worth more than these words: where they would cover it they move up or down.
    """
    fits = middle.x > left + 4
    right = frame.right - middle.width - 4
    heights = [middle.y, frame.top + 2, frame.bottom - middle.height - 4]
    heights += [frame.top + 2 + 6 * k for k in range(int((frame.bottom - frame.top) // 6))]
    for x in [middle.x, right] if fits else [right]:
        for y in heights:
            if frame.top <= y <= max(frame.bottom - middle.height, frame.top):
                yield Box(x=x, y=y, width=middle.width, height=middle.height)
    if not fits:
        for x in range(int(right), int(frame.left), -8):
            for y in heights:
                yield Box(x=float(x), y=y, width=middle.width, height=middle.height)


def _box_of(frame: Frame) -> Box:
    return Box(
        x=frame.left,
        y=frame.top,
        width=frame.right - frame.left,
        height=frame.bottom - frame.top,
    )
