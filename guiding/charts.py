"""The river as one picture for page and pack: what was measured, what may come, the marks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from guiding.svg import Point, Svg, drawing, element, paper, stroke, text_width, words_at

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NOT_KNOWN = "not known"
HOUR_S = 3600.0
LEAST_SPAN_M = 0.3  # a steady river is not drawn as a mountain range
REACH = 0.45  # a mark this share of the span beyond the data still belongs in the picture


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """The picture read: hours since the epoch, metres, None where nothing is known."""

    measured: tuple[tuple[float, float | None], ...]
    forecast: tuple[tuple[float, float | None, float | None, float | None], ...]
    marks: tuple[tuple[float, str], ...]
    day: tuple[float, float] | None
    day_words: str
    zone: ZoneInfo

    def levels(self) -> list[float]:
        """Return every level that has to fit in."""
        seen = [level for _, level in self.measured if level is not None]
        for _, *levels in self.forecast:
            seen += [level for level in levels if level is not None]
        return seen

    def last_measured(self) -> tuple[float, float] | None:
        """Return the newest reading."""
        known = [(at, level) for at, level in self.measured if level is not None]
        return known[-1] if known else None

    def last_known(self) -> float | None:
        """Return the last moment of which anything is known."""
        ends = [at for at, _, middle, _ in self.forecast if middle is not None]
        last = self.last_measured()
        return max([*ends, last[0]]) if last else (max(ends) if ends else None)

    def clock(self, at: float) -> datetime:
        """Return a moment on the river's clock."""
        return datetime.fromtimestamp(round(at * HOUR_S), self.zone)


def _level(value: Any) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _hours(moment: str) -> float:
    return datetime.fromisoformat(moment).timestamp() / HOUR_S


def read_picture(picture: dict[str, Any]) -> Series:
    """Return a stored picture as numbers. Raises ValueError for a time without an offset."""
    for moment in (picture["day_from"], picture["day_to"]):
        if moment and datetime.fromisoformat(moment).tzinfo is None:
            raise ValueError(f"{moment} has no offset; a picture's times are ISO 8601 with one.")
    is_day = picture["day_from"] and picture["day_to"]
    return Series(
        measured=tuple((_hours(at), _level(level)) for at, level in picture["measured"]),
        forecast=tuple(
            (_hours(at), _level(low), _level(middle), _level(high))
            for at, low, middle, high in picture["forecast"]
        ),
        marks=tuple(sorted((float(level), str(seen)) for level, seen in picture["marks"])),
        day=(_hours(picture["day_from"]), _hours(picture["day_to"])) if is_day else None,
        day_words=picture["day_words"],
        zone=ZoneInfo(picture["zone"]),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where hours and metres fall on the drawing."""

    left: float
    right: float
    top: float
    bottom: float
    start: float
    end: float
    low: float
    high: float

    def x(self, at: float) -> float:
        """Return the place of a moment."""
        share = (at - self.start) / (self.end - self.start)
        return self.left + share * (self.right - self.left)

    def y(self, level_m: float) -> float:
        """Return the height of a level."""
        share = (level_m - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


def _time_span(series: Series) -> tuple[float, float]:
    times = [at for at, *_ in series.measured] + [at for at, *_ in series.forecast]
    if series.day:
        times += series.day
    if not times:
        return 0.0, 24.0
    start, end = min(times), max(times)
    return (start, end) if end - start >= 1 else (start - 12, end + 12)


def _level_span(series: Series) -> tuple[float, float]:
    levels = series.levels()
    marks = [level for level, _ in series.marks]
    if not levels:
        levels = marks or [0.0, 1.0]
    low, high = min(levels), max(levels)
    span = max(high - low, LEAST_SPAN_M)
    near = [mark for mark in marks if low - REACH * span <= mark <= high + REACH * span]
    low, high = min([low, *near]), max([high, *near])
    spare = max(LEAST_SPAN_M - (high - low), 0) / 2 + 0.06 * max(high - low, LEAST_SPAN_M)
    return low - spare, high + spare


def _runs(points: list[tuple[float, ...] | None]) -> list[list[tuple[float, ...]]]:
    runs: list[list[tuple[float, ...]]] = [[]]
    for point in points:
        if point is not None:
            runs[-1].append(point)
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if run]


def _hatch(run: list[tuple[float, ...]], gap: float) -> str:
    """Return slanting lines cut to the band: a pattern fill prints as flat grey.

    `run` holds (x, y of the upper edge, y of the lower edge). A line is y = c - x; within one
    step both edges are straight, so the part inside the band is an interval of x.
    """
    pieces: list[tuple[Point, Point]] = []
    lowest = min(x + upper for x, upper, _ in run)
    highest = max(x + lower for x, _, lower in run)
    for number in range(math.ceil(lowest / gap), math.floor(highest / gap) + 1):
        c = number * gap
        for (x0, upper0, lower0), (x1, upper1, lower1) in pairwise(run):
            begin, end = x0, x1
            # above[x] = line - upper edge >= 0, and lower edge - line >= 0
            for at0, at1 in (
                (c - x0 - upper0, c - x1 - upper1),
                (lower0 + x0 - c, lower1 + x1 - c),
            ):
                if at0 < 0 and at1 < 0:
                    begin, end = 1.0, 0.0
                elif at0 < 0 <= at1:
                    begin = max(begin, x0 + (x1 - x0) * at0 / (at0 - at1))
                elif at1 < 0 <= at0:
                    end = min(end, x0 + (x1 - x0) * at0 / (at0 - at1))
            if end <= begin:
                continue
            if pieces and abs(pieces[-1][1][0] - begin) < 1e-6 and pieces[-1][1][1] == c - begin:
                pieces[-1] = (pieces[-1][0], (end, c - end))
            else:
                pieces.append(((begin, c - begin), (end, c - end)))
    return " ".join(f"M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}" for a, b in pieces)


def _water(series: Series, frame: Frame, layout: Layout) -> list[str]:
    body = []
    band = [
        None
        if low is None or high is None
        else (frame.x(at), frame.y(max(low, high)), frame.y(min(low, high)))
        for at, low, _, high in series.forecast
    ]
    last = series.last_measured()
    if last and band and band[0] and last[0] <= series.forecast[0][0] <= last[0] + 25:
        band.insert(0, (frame.x(last[0]), frame.y(last[1]), frame.y(last[1])))
    for run in _runs(list(band)):
        lines = _hatch(run, layout.hatch)
        if lines:
            body.append(
                element(
                    "path",
                    d=lines,
                    stroke="currentColor",
                    stroke_width=layout.line * 0.3,
                    stroke_opacity=0.75,
                    fill="none",
                )
            )
        for edge in (1, 2):
            body.append(stroke([(p[0], p[edge]) for p in run], layout.line * 0.4))
    middle = [
        None if level is None else (frame.x(at), frame.y(level))
        for at, _, level, _ in series.forecast
    ]
    dashes = f"{layout.line * 3.2:.1f} {layout.line * 1.8:.1f}"
    body += [stroke(run, layout.line, stroke_dasharray=dashes) for run in _runs(list(middle))]  # type: ignore[arg-type]
    measured = [
        None if level is None else (frame.x(at), frame.y(level)) for at, level in series.measured
    ]
    body += [
        stroke(run, layout.line, stroke_linejoin="round")  # type: ignore[arg-type]
        for run in _runs(list(measured))
        if len(run) > 1
    ]
    return body


def _spread(wanted: list[float], gap: float, low: float, high: float) -> list[float]:
    """Return heights at least `gap` apart, as near to the wanted ones as one sweep each way gives.

    `wanted` runs from the top of the page downwards.
    """
    placed: list[float] = []
    for y in wanted:
        placed.append(max(y, placed[-1] + gap if placed else low))
    ceiling = high
    for i in range(len(placed) - 1, -1, -1):
        placed[i] = min(placed[i], ceiling)
        ceiling = placed[i] - gap
    return placed


def _cut(words: str, size: float, room: float) -> str:
    if text_width(words, size) <= room:
        return words
    while words and text_width(words + "…", size) > room:
        words = words[:-1]
    return words.rstrip() + "…"


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A place that words may take."""

    x: float
    y: float  # top
    width: float
    height: float

    def meets(self, other: Box) -> bool:
        """Return whether two boxes overlap."""
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )

    def holds(self, point: Point) -> bool:
        """Return whether a point lies inside."""
        x, y = point
        return self.x <= x <= self.x + self.width and self.y <= y <= self.y + self.height


def _free(candidates: list[Box], taken: list[Box], points: list[Point]) -> Box:
    """Return the first of the candidates that covers least."""

    def covered(box: Box) -> int:
        return 100 * sum(box.meets(other) for other in taken) + sum(map(box.holds, points))

    return min(candidates, key=covered)


def _mark_words(level: float, seen: str) -> str:
    return f"{level:.2f} {seen}".rstrip()


def _marks(series: Series, frame: Frame, layout: Layout, taken: list[Box]) -> list[str]:
    """Return a line for each mark inside the frame and its words beside or above the line."""
    inside = [mark for mark in series.marks if frame.low <= mark[0] <= frame.high][::-1]
    body = []
    for level, _ in inside:
        y = frame.y(level)
        dots = f"{layout.line * 0.6:.1f} {layout.line * 1.6:.1f}"
        body.append(
            stroke(
                [(frame.left, y), (frame.right, y)],
                layout.line * 0.45,
                stroke_dasharray=dots,
                stroke_opacity=0.9,
            )
        )
    if layout.marks_beside:
        return body + _words_beside(inside, frame, layout, taken)
    return body + _words_above(inside, series, frame, layout, taken)


def _words_beside(
    inside: list[tuple[float, str]], frame: Frame, layout: Layout, room: list[Box]
) -> list[str]:
    column = room[0]
    size = layout.size
    wanted = [frame.y(level) for level, _ in inside]
    places = _spread(wanted, size * 1.2, frame.top + size * 0.4, frame.bottom - size * 0.1)
    body = []
    for (level, seen), y, place in zip(inside, wanted, places, strict=True):
        bend = [
            (frame.right, y),
            (frame.right + 4, y),
            (column.x - 8, place),
            (column.x - 3, place),
        ]
        body.append(stroke(bend, layout.line * 0.45))
        shown = _cut(_mark_words(level, seen), size, column.width)
        body.append(words_at(column.x, place + size * 0.34, shown, size))
    return body


def _words_above(
    inside: list[tuple[float, str]], series: Series, frame: Frame, layout: Layout, taken: list[Box]
) -> list[str]:
    points = _ink(series, frame)
    size = layout.size
    body = []
    for level, seen in inside:
        shown = _cut(_mark_words(level, seen), size, frame.right - frame.left - 4)
        wide, y = text_width(shown, size), frame.y(level)
        columns = (frame.left + 3, frame.right - wide - 3, (frame.left + frame.right - wide) / 2)
        candidates = [
            Box(x=x, y=top, width=wide, height=size * 1.05)
            for top in (y - size * 1.15, y + size * 0.15)
            for x in columns
            if frame.top <= top and top + size <= frame.bottom
        ]
        box = _free(candidates or [Box(x=columns[0], y=y, width=wide, height=size)], taken, points)
        taken.append(box)
        body.append(paper(box.x - 2, box.y, box.width + 4, box.height))
        body.append(words_at(box.x, box.y + size * 0.85, shown, size))
    return body


def _ink(series: Series, frame: Frame) -> list[Point]:
    """Return the points that words should not cover."""
    points = [(frame.x(at), frame.y(level)) for at, level in series.measured if level is not None]
    for at in series.day or ():
        points += [(frame.x(at), frame.top + step * 4) for step in range(100)]
    for at, *levels in series.forecast:
        points += [(frame.x(at), frame.y(level)) for level in levels if level is not None]
    return points


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


def _fishing_day(series: Series, frame: Frame, layout: Layout, taken: list[Box]) -> list[str]:
    if not series.day:
        return []
    left, right = (frame.x(at) for at in series.day)
    size = layout.size
    wide = text_width(series.day_words, size, bold=True)
    x = min(max((left + right - wide) / 2, frame.left), frame.right - wide)
    taken.append(Box(x=x, y=frame.top - size * 1.8, width=wide, height=size * 1.2))
    edge = {"stroke_opacity": 0.6}
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
        stroke([(left, frame.top), (left, frame.bottom)], layout.line * 0.4, **edge),
        stroke([(right, frame.top), (right, frame.bottom)], layout.line * 0.4, **edge),
        stroke([(left, frame.top), (right, frame.top)], layout.line * 2),
        words_at(x, frame.top - size * 0.6, series.day_words, size, bold=True),
    ]


def _newest(series: Series, frame: Frame, layout: Layout, taken: list[Box]) -> list[str]:
    """Return the ring at the newest reading and its words, clear of the lines."""
    last = series.last_measured()
    if last is None:
        return []
    x, y = frame.x(last[0]), frame.y(last[1])
    size, ring = layout.size, layout.line * 1.6
    shown = f"{last[1]:.2f} m, {moment_words(series.clock(last[0]), is_short=True)}"
    wide, gap = text_width(shown, size, bold=True), ring + 3
    candidates = [
        Box(x=left, y=top, width=wide, height=size * 1.1)
        for top in (y + gap, y - gap - size * 1.1, y + 3 * gap, y - 3 * gap - size)
        for left in (x - wide - gap, x + gap, x - wide / 2)
        if frame.left <= left <= frame.right - wide
        and frame.top <= top <= frame.bottom - size * 1.1
    ]
    lines = [
        (frame.left + step * 4, frame.y(level)) for level, _ in series.marks for step in range(200)
    ]
    if candidates:
        box = _free(candidates, taken, _ink(series, frame) + lines)
    else:
        box = Box(x=min(x, frame.right - wide), y=frame.top, width=wide, height=size * 1.1)
    taken.append(box)
    return [
        element(
            "circle",
            class_="paper",
            cx=x,
            cy=y,
            r=ring,
            fill="#fff",
            stroke="currentColor",
            stroke_width=layout.line,
        ),
        paper(box.x - 2, box.y, box.width + 4, box.height),
        words_at(box.x, box.y + size * 0.87, shown, size, bold=True),
    ]


def _unknown(series: Series, frame: Frame, layout: Layout) -> list[str]:
    """Return the words for the part of the picture of which nothing is known."""
    last = series.last_known()
    if last is None:
        lines, begin = ["level", NOT_KNOWN], frame.start
    else:
        has_forecast = any(middle is not None for _, _, middle, _ in series.forecast)
        word = "after" if has_forecast else "since"
        day, _, clock = moment_words(series.clock(last), is_short=False).partition(", ")
        lines, begin = [NOT_KNOWN, f"{word} {day},", clock], last
    if frame.end - begin < max(6, 0.06 * (frame.end - frame.start)):
        return []
    size = layout.size
    left = frame.x(begin) if last is not None else frame.left
    wide = max(text_width(line, size, bold=True) for line in lines)
    tall = size * 1.2 * len(lines) + 4
    y = (frame.top + frame.bottom - tall) / 2
    places = ((left + frame.right) / 2, frame.right - wide / 2 - 4, left + wide / 2 + 8)
    candidates = [
        Box(x=x - wide / 2, y=y, width=wide, height=tall)
        for x in places
        if x + wide / 2 <= frame.right
    ] or [Box(x=frame.right - wide, y=y, width=wide, height=tall)]
    box = _free(candidates, [], _ink(series, frame))
    x = box.x + wide / 2
    body = [paper(box.x - 3, y, wide + 6, tall)]
    for count, line in enumerate(lines):
        place = y + size * (1.2 * count + 0.95)
        body.append(words_at(x, place, line, size, anchor="middle", bold=True))
    return body


def _beyond(series: Series, frame: Frame, layout: Layout, column: list[Box]) -> list[str]:
    """Return words for the nearest mark above the picture, so that it is not left out unsaid."""
    above = [mark for mark in series.marks if mark[0] > frame.high]
    if not above:
        return []
    size = layout.size
    if column:
        shown = _cut(_mark_words(*above[0]), size, column[0].width)
        x, y = column[0].x - 11, size * 1.35
        arrow = [(x + 4, y - size * 0.1), (x + 4, y - size * 0.8)]
        head = [(x + 1, y - size * 0.5), (x + 4, y - size * 0.8), (x + 7, y - size * 0.5)]
        lines = [stroke(line, layout.line * 0.6) for line in (arrow, head)]
        return [*lines, words_at(column[0].x, y, shown, size)]
    shown = _cut(f"higher still: {_mark_words(*above[0])}", size, frame.right - frame.left)
    return [words_at(frame.left, size, shown, size)]


def moment_words(moment: datetime, *, is_short: bool) -> str:
    """Return "Wed 19:00", or "Wed 20 May, 19:00"."""
    day = DAYS[moment.weekday()]
    if is_short:
        return f"{day} {moment:%H:%M}"
    return f"{day} {moment.day} {MONTHS[moment.month - 1]}, {moment:%H:%M}"


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
    (start, end), (low, high) = _time_span(series), _level_span(series)
    size = style.size
    widest = max([text_width(_mark_words(*mark), size) for mark in series.marks] or [0])
    beside = min(widest, width * 0.3) if style.marks_beside else 0
    frame = Frame(
        left=2,
        right=width - 2 - (beside + 18 if beside else 0),
        top=size * (2.4 if style.marks_beside else 3.6),
        bottom=height - size * 1.6,
        start=start,
        end=end,
        low=low,
        high=high,
    )
    column = [Box(x=frame.right + 18, y=0, width=beside, height=height)] if beside else []
    taken: list[Box] = []
    day = _fishing_day(series, frame, style, taken)
    newest = _newest(series, frame, style, taken)
    marks = _marks(series, frame, style, column or taken)
    body = [
        *day,
        *_days(series, frame, style),
        *(marks if beside else []),
        *_water(series, frame, style),
        *([] if beside else marks),
        *_unknown(series, frame, style),
        *newest,
        *_beyond(series, frame, style, column),
    ]
    return drawing(width, height, title, description, "".join(body), unit=style.unit)


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
            when=moment_words(series.clock(at), is_short=False),
            known_as="measured",
            level=metres(level),
            between="read" if level is not None else NOT_KNOWN,
        )
        for at, level in series.measured
        if is_shown(at, len(series.measured))
    ]
    return table + [
        RiverRow(
            when=moment_words(series.clock(at), is_short=False),
            known_as="forecast",
            level=metres(middle),
            between=NOT_KNOWN if low is None or high is None else f"{low:.2f} to {high:.2f} m",
        )
        for at, low, middle, high in series.forecast
        if is_shown(at, len(series.forecast))
    ]
