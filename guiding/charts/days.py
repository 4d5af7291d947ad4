"""The days under the picture, the nights shaded, and the fishing day in its frame."""

from __future__ import annotations

import math
from itertools import pairwise

from guiding.charts.layout import Places, Style
from guiding.charts.series import DAYS, Frame, Series, Span
from guiding.charts.svg import element, stroke, text_width, words_at

NIGHT_SHADE = 0.08
DAY_SHADE = 0.09


def foot_of_days(series: Series, frame: Frame, style: Style) -> list[str]:
    """Return a tick at each midnight and the day's name between two."""
    size, y = style.size, frame.bottom
    body = [stroke([(frame.left, y), (frame.right, y)], style.line * 0.6)]
    step = (frame.right - frame.left) / max((frame.end - frame.start) / 24, 1)
    has_number = step >= text_width("Wed 20", size) + 4
    every = max(1, math.ceil((text_width("Wed 20" if has_number else "Wed", size) + 4) / step))
    for count, (begin, end) in enumerate(pairwise(series.midnights())):
        if frame.start < begin < frame.end:
            body.append(stroke([(frame.x(begin), y), (frame.x(begin), y + 4)], style.line * 0.6))
        inside = frame.inside((begin, end))
        if inside is None:
            continue
        left, right = frame.x(inside[0]), frame.x(inside[1])
        noon = series.clock(begin + 12)
        name = DAYS[noon.weekday()] + (f" {noon.day}" if has_number else "")
        middle, wide = (left + right) / 2, text_width(name, size)
        # of days too narrow for their names every other is named, so a name may lean over its own
        is_whole = end - begin == inside[1] - inside[0]
        has_room = right - left >= wide or (every > 1 and is_whole)
        fits = frame.left <= middle - wide / 2 and middle + wide / 2 <= frame.right
        if has_room and fits and count % every == 0:
            body.append(words_at(middle, y + size * 1.3, name, size, anchor="middle"))
    return body


def nights(series: Series, places: Places, style: Style) -> list[str]:
    """Return each night as a grey ground and, where grey does not print, a bar along the foot."""
    frame, body = places.frame, []
    for night in series.nights:
        inside = frame.inside(night)
        if inside is None:
            continue
        body.append(_ground(frame, inside, places.shaded_top, NIGHT_SHADE))
        y = frame.bottom - style.line * 0.6
        bar = [(frame.x(inside[0]), y), (frame.x(inside[1]), y)]
        body.append(stroke(bar, style.line * 1.6))
    return body


def fishing_day(series: Series, places: Places, style: Style) -> list[str]:
    """Return the frame and the name of the day that is fished."""
    if not series.day:
        return []
    frame, size = places.frame, style.size
    top = places.shaded_top
    left, right = (frame.x(at) for at in series.day)
    wide = text_width(series.day_words, size, bold=True)
    x = min(max((left + right - wide) / 2, frame.left), frame.right - wide)
    bar = places.day_y + size * 0.5
    return [
        _ground(frame, series.day, top, DAY_SHADE),
        stroke([(left, bar), (left, frame.bottom)], style.line * 0.3),
        stroke([(right, bar), (right, frame.bottom)], style.line * 0.3),
        stroke([(left, bar), (right, bar)], style.line * 2),
        words_at(x, places.day_y, series.day_words, size, bold=True),
    ]


def _ground(frame: Frame, span: Span, top: float, shade: float) -> str:
    left, right = (frame.x(at) for at in span)
    return element(
        "rect",
        x=left,
        y=top,
        width=right - left,
        height=frame.bottom - top,
        fill="currentColor",
        fill_opacity=shade,
    )
