"""The river as one picture for page and pack: what was measured, what may come, the marks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import Any

from guiding.charts.placing import Box, Taken, around, shortened, spread
from guiding.charts.series import DAYS, HOUR_S, Frame, Series, moment_words, read_picture
from guiding.charts.svg import (
    Svg,
    drawing,
    element,
    hatched,
    paper,
    runs,
    stroke,
    text_width,
    words_at,
)

NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What differs between paper, a wide page and a phone."""

    size: float  # of the words
    line: float
    hatch: float
    unit: str
    marks_beside: bool  # their words in a column of their own


LAYOUTS = {
    "pack": Layout(size=11, line=1.8, hatch=5, unit="pt", marks_beside=True),
    "page": Layout(size=16, line=2.6, hatch=8, unit="", marks_beside=True),
    "phone": Layout(size=15, line=2.4, hatch=7, unit="", marks_beside=False),
}


def _lines(series: Series, frame: Frame) -> dict[str, list[list[tuple[float, ...]]]]:
    """Return the unbroken runs of each line on the drawing; the band as x, upper edge, lower."""

    def points(rows: Any) -> list[tuple[float, ...] | None]:
        return [None if level is None else (frame.x(at), frame.y(level)) for at, level in rows]

    band: list[tuple[float, ...] | None] = [
        None
        if low is None or high is None
        else (frame.x(at), frame.y(max(low, high)), frame.y(min(low, high)))
        for at, low, _, high in series.forecast
    ]
    last = series.last_measured()
    if last and band and band[0] and 0 <= series.forecast[0][0] - last[0] <= 25:
        band.insert(0, (frame.x(last[0]), frame.y(last[1]), frame.y(last[1])))
    return {
        "measured": runs(points(series.measured)),
        "likely": runs(points((at, middle) for at, _, middle, _ in series.forecast)),
        "band": runs(band),
    }


def _water(lines: dict[str, list[list[tuple[float, ...]]]], layout: Layout) -> list[str]:
    body = []
    for run in lines["band"]:
        body.append(hatched(run, layout.hatch, layout.line * 0.3))
        for edge in (1, 2):
            body.append(stroke([(point[0], point[edge]) for point in run], layout.line * 0.4))
    dashes = f"{layout.line * 3.2:.1f} {layout.line * 1.8:.1f}"
    for run in lines["likely"]:
        body.append(stroke([(x, y) for x, y in run], layout.line, stroke_dasharray=dashes))
    for run in lines["measured"]:
        body.append(stroke([(x, y) for x, y in run], layout.line, stroke_linejoin="round"))
        if len(run) == 1:  # a reading alone between two gaps
            (x, y), radius = run[0], layout.line
            body.append(element("circle", cx=x, cy=y, r=radius, fill="currentColor"))
    return body


def _in_use(lines: dict[str, list[list[tuple[float, ...]]]], series: Series, frame: Frame) -> Taken:
    taken = Taken()
    for name in ("measured", "likely"):
        for run in lines[name]:
            taken.add_line([(x, y) for x, y in run])
    for run in lines["band"]:
        for edge in (1, 2):
            taken.add_line([(point[0], point[edge]) for point in run])
    for at in series.day or ():
        taken.add_line([(frame.x(at), frame.top), (frame.x(at), frame.bottom)], cost=1)
    return taken


def _mark_words(level: float, seen: str) -> str:
    return f"{level:.2f} {seen}".rstrip()


def _inside(series: Series, frame: Frame) -> list[tuple[float, str]]:
    """Return the marks in the picture from the highest down."""
    return [mark for mark in series.marks if frame.low <= mark[0] <= frame.high][::-1]


def _mark_lines(series: Series, frame: Frame, layout: Layout) -> list[str]:
    dots = f"{layout.line * 0.6:.1f} {layout.line * 1.6:.1f}"
    return [
        stroke(
            [(frame.left, frame.y(level)), (frame.right, frame.y(level))],
            layout.line * 0.45,
            stroke_dasharray=dots,
        )
        for level, _ in _inside(series, frame)
    ]


def _words_beside(series: Series, frame: Frame, layout: Layout, x: float, room: float) -> list[str]:
    """Return the marks' words in a column, moved apart, each tied to its line."""
    size = layout.size
    inside = _inside(series, frame)
    wanted = [frame.y(level) for level, _ in inside]
    places = spread(wanted, size * 1.2, frame.top + size * 0.4, frame.bottom - size * 0.1)
    body = []
    for mark, y, place in zip(inside, wanted, places, strict=True):
        bend = [(frame.right, y), (frame.right + 4, y), (x - 8, place), (x - 3, place)]
        body.append(stroke(bend, layout.line * 0.45))
        shown = shortened(_mark_words(*mark), size, room)
        body.append(words_at(x, place + size * 0.34, shown, size))
    return body


def _words_above(series: Series, frame: Frame, layout: Layout, taken: Taken) -> list[str]:
    """Return the marks' words on their lines, where they cover least."""
    size = layout.size
    body = []
    for mark in _inside(series, frame):
        shown = shortened(_mark_words(*mark), size, frame.right - frame.left - 6)
        wide, y = text_width(shown, size), frame.y(mark[0])
        steps = range(int((frame.right - frame.left - wide - 6) // 8) + 1)
        candidates = [
            Box(x=frame.left + 3 + 8 * step, y=top, width=wide, height=size)
            for top in (y - size * 1.12, y + size * 0.15)
            for step in steps
            if frame.top <= top <= frame.bottom - size
        ]
        box = taken.place(candidates, Box(x=frame.left + 3, y=y, width=wide, height=size))
        body.append(paper(box.x - 2, box.y, box.width + 4, box.height))
        body.append(words_at(box.x, box.y + size * 0.82, shown, size))
    return body


def _days(series: Series, frame: Frame, layout: Layout) -> list[str]:
    """Return the foot of the picture: a tick at each midnight, the day's name between two."""
    size, y = layout.size, frame.bottom
    body = [stroke([(frame.left, y), (frame.right, y)], layout.line * 0.6)]
    first = series.clock(frame.start).replace(hour=0, minute=0, second=0, microsecond=0)
    edges = []
    for day in range(round((frame.end - frame.start) / 24) + 3):
        midnight = (first + timedelta(days=day)).replace(tzinfo=None)
        edges.append(midnight.replace(tzinfo=series.zone).timestamp() / HOUR_S)
    step = (frame.right - frame.left) / max((frame.end - frame.start) / 24, 1)
    has_number = step >= text_width("Wed 20", size) + 4
    every = max(1, math.ceil((text_width("Wed 20" if has_number else "Wed", size) + 4) / step))
    for count, (begin, end) in enumerate(pairwise(edges)):
        if frame.start < begin < frame.end:
            body.append(stroke([(frame.x(begin), y), (frame.x(begin), y + 4)], layout.line * 0.6))
        left, right = frame.x(max(begin, frame.start)), frame.x(min(end, frame.end))
        noon = series.clock(begin + 12)
        name = DAYS[noon.weekday()] + (f" {noon.day}" if has_number else "")
        if right - left >= text_width(name, size) and count % every == 0:
            middle = (left + right) / 2
            body.append(words_at(middle, y + size * 1.3, name, size, anchor="middle"))
    return body


def _fishing_day(series: Series, frame: Frame, layout: Layout) -> list[str]:
    if not series.day:
        return []
    left, right = (frame.x(at) for at in series.day)
    size = layout.size
    wide = text_width(series.day_words, size, bold=True)
    x = min(max((left + right - wide) / 2, frame.left), frame.right - wide)
    return [
        element(
            "rect",
            x=left,
            y=frame.top,
            width=right - left,
            height=frame.bottom - frame.top,
            fill="currentColor",
            fill_opacity=0.09,
        ),
        stroke([(left, frame.top), (left, frame.bottom)], layout.line * 0.3),
        stroke([(right, frame.top), (right, frame.bottom)], layout.line * 0.3),
        stroke([(left, frame.top), (right, frame.top)], layout.line * 2),
        words_at(x, frame.top - size * 0.6, series.day_words, size, bold=True),
    ]


def _newest(series: Series, frame: Frame, layout: Layout, taken: Taken) -> list[str]:
    """Return the ring at the newest reading and its words, clear of the lines."""
    last = series.last_measured()
    if last is None:
        return []
    x, y = frame.x(last[0]), frame.y(last[1])
    size, ring = layout.size, layout.line * 1.6
    shown = f"{last[1]:.2f} m, {moment_words(series.clock(last[0]), is_short=True)}"
    wide, tall = text_width(shown, size, bold=True), size * 1.1
    taken.add_line([(x - ring, y - ring), (x + ring, y + ring)])
    within = Box(
        x=frame.left,
        y=frame.top,
        width=frame.right - frame.left,
        height=frame.bottom - frame.top,
    )
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
        stroke_width=layout.line,
    )
    patch = paper(box.x - 2, box.y, box.width + 4, box.height)
    return [patch, circle, words_at(box.x, box.y + size * 0.87, shown, size, bold=True)]


def _unknown(series: Series, frame: Frame, layout: Layout, taken: Taken) -> list[str]:
    """Return the words for the part of the picture of which nothing is known."""
    last = series.last_known()
    if last is None:
        lines, left = ["level", NOT_KNOWN], frame.left
    else:
        word = "after" if series.has_forecast() else "since"
        day, _, clock = moment_words(series.clock(last)).partition(", ")
        lines, left = [NOT_KNOWN, f"{word} {day},", clock], frame.x(last)
    if frame.right - left < max(0.06 * (frame.right - frame.left), 12):
        return []
    size = layout.size
    wide = max(text_width(line, size, bold=True) for line in lines)
    tall = size * 1.2 * len(lines) + 4
    y = (frame.top + frame.bottom - tall) / 2
    middle = Box(x=(left + frame.right - wide) / 2, y=y, width=wide, height=tall)
    right = Box(x=frame.right - wide - 4, y=y, width=wide, height=tall)
    candidates = [middle, right] if middle.x > left + 4 else [right]
    box = taken.place(candidates, right)
    body = [paper(box.x - 3, y, wide + 6, tall)]
    for count, line in enumerate(lines):
        place = y + size * (1.2 * count + 0.95)
        body.append(words_at(box.x + wide / 2, place, line, size, anchor="middle", bold=True))
    return body


def _beyond(series: Series, frame: Frame, layout: Layout, x: float, room: float) -> list[str]:
    """Return words for the nearest mark above the picture, so that it is not left out unsaid."""
    above = [mark for mark in series.marks if mark[0] > frame.high]
    if not above:
        return []
    size = layout.size
    if not layout.marks_beside:
        shown = shortened(f"higher still: {_mark_words(*above[0])}", size, room)
        return [words_at(x, size, shown, size)]
    y = size * 1.35
    shaft = [(x - 7, y - size * 0.1), (x - 7, y - size * 0.8)]
    head = [(x - 10, y - size * 0.5), (x - 7, y - size * 0.8), (x - 4, y - size * 0.5)]
    lines = [stroke(line, layout.line * 0.6) for line in (shaft, head)]
    return [*lines, words_at(x, y, shortened(_mark_words(*above[0]), size, room), size)]


def river_chart(
    picture: dict[str, Any],
    *,
    width: float,
    height: float,
    layout: str = "page",
    title: str,
    description: str,
) -> Svg:
    """Draw a river: a solid line measured, a dashed one forecast, the band hatched, the marks.

    `picture` is content.RiverPicture as plain values. Layouts: "pack" (points, on paper), "page"
    and "phone" (pixels). What is not known is left blank and said inside the picture. Raises
    ValueError for a layout, a size or a time that cannot be drawn.
    """
    if layout not in LAYOUTS:
        raise ValueError(f"layout is {layout!r}; there are {', '.join(LAYOUTS)}.")
    if width < 200 or height < 100:
        raise ValueError(f"{width:g} by {height:g} is too small; 200 by 100 is the least.")
    series, style = read_picture(picture), LAYOUTS[layout]
    frame, x, room = _layout(series, style, width, height)
    lines = _lines(series, frame)
    taken = _in_use(lines, series, frame)
    unknown = _unknown(series, frame, style, taken)
    newest = _newest(series, frame, style, taken)
    if style.marks_beside:
        marks = _words_beside(series, frame, style, x, room)
    else:
        marks = _words_above(series, frame, style, taken)
    body = [
        *_fishing_day(series, frame, style),
        *_days(series, frame, style),
        *_mark_lines(series, frame, style),
        *_water(lines, style),
        *marks,
        *unknown,
        *newest,
        *_beyond(series, frame, style, x, room),
    ]
    return drawing(width, height, title, description, "".join(body), unit=style.unit)


def _layout(
    series: Series, style: Layout, width: float, height: float
) -> tuple[Frame, float, float]:
    """Return the frame, and left edge and width of the room for the marks' words."""
    size = style.size
    widest = max([text_width(_mark_words(*mark), size) for mark in series.marks], default=0.0)
    beside = min(widest, width * 0.3) if style.marks_beside else 0.0
    right = width - 2 - (beside + 18 if beside else 0)
    (start, end), (low, high) = series.time_span(), series.level_span()
    frame = Frame(
        left=2,
        right=right,
        top=size * (2.4 if style.marks_beside else 3.6),
        bottom=height - size * 1.6,
        start=start,
        end=end,
        low=low,
        high=high,
    )
    return (frame, right + 18, beside) if style.marks_beside else (frame, 2.0, right)


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverRow:
    """One line of the table under the picture."""

    when: str
    known_as: str  # measured or forecast
    level: str
    between: str  # four times in five


def river_table(picture: dict[str, Any], *, every_hours: int = 6) -> list[RiverRow]:
    """Return the picture as lines at whole steps of the river's clock, the newest reading always.

    A series slower than the steps is given whole.
    """
    series = read_picture(picture)
    last = series.last_measured()

    def is_shown(at: float, rows: int) -> bool:
        clock = series.clock(at)
        on_step = clock.hour % every_hours == 0 and clock.minute == 0
        return on_step or rows <= 16 or (last is not None and at == last[0])

    def metres(level: float | None) -> str:
        return NOT_KNOWN if level is None else f"{level:.2f} m"

    table = [
        RiverRow(
            when=moment_words(series.clock(at)),
            known_as="measured",
            level=metres(level),
            between="read" if level is not None else NOT_KNOWN,
        )
        for at, level in series.measured
        if is_shown(at, len(series.measured))
    ]
    return table + [
        RiverRow(
            when=moment_words(series.clock(at)),
            known_as="forecast",
            level=metres(middle),
            between=NOT_KNOWN if low is None or high is None else f"{low:.2f} to {high:.2f} m",
        )
        for at, low, middle, high in series.forecast
        if is_shown(at, len(series.forecast))
    ]
