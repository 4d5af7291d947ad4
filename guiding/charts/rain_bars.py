"""Rain over the picture: bars that hang from the top, measured filled, forecast in outline.

A bar is as wide as the step it was given for and as deep as millimetres an hour, so that its area
is the rain: six hours' rain in one figure is one bar, never six. Where rain is not known the line
it hangs from is broken and a question mark stands there; a line without a bar is a dry step.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from guiding.charts.layout import Places, Strip, Style
from guiding.charts.series import Frame, RainStep, Series, Span, gaps_between
from guiding.charts.svg import element, number, stroke, text_width, words_at

LEAST_FULL_MM_H = 1.0  # drizzle is not drawn as a downpour
LEAST_DEPTH = 0.9  # of a bar that is not dry, in units of the drawing
NOT_KNOWN = "rain not known"


def known_rain(series: Series, start: float, end: float) -> list[RainStep]:
    """Return the steps with known rain that reach into a span, in order."""
    known = (step for step in series.rain or () if step.mm is not None)
    inside = [step for step in known if step.ends > start and step.starts < end]
    return sorted(inside, key=lambda step: (step.starts, step.ends))


def rain_of(series: Series, span: Span) -> tuple[float | None, bool]:
    """Return the rain [mm] that is known of a span, and whether that is all of it.

    A step counts where its middle lies and is never shared out. None: nothing is known.
    """
    steps = [s for s in series.rain or () if s.mm is not None and s.ends > s.starts]
    there = [s for s in steps if span[0] <= (s.starts + s.ends) / 2 < span[1]]
    if not there:
        return None, False
    is_whole = not gaps_between([(s.starts, s.ends) for s in steps], *span)
    return sum(s.mm for s in there if s.mm is not None), is_whole


def rain_words(mm: float | None, *, is_whole: bool) -> str:
    """Return a sum as written over the bars: "12", "<1", "4+" where part is not known, "?"."""
    if mm is None or (mm == 0 and not is_whole):
        return "?"
    shown = "<1" if 0 < mm < 0.5 else f"{mm:.0f}"
    return shown if is_whole else f"{shown}+"


def rain_bars(series: Series, places: Places, style: Style) -> list[str]:
    """Return the rain of a picture, or nothing where it was made without any."""
    strip, frame = places.rain, places.frame
    if strip is None:
        return []
    steps = known_rain(series, frame.start, frame.end)
    rates = [(s.mm or 0) / (s.ends - s.starts) for s in steps]
    most = max([*rates, LEAST_FULL_MM_H])

    def depth(rate: float) -> float:
        return max(rate / most * (strip.bottom - strip.top), LEAST_DEPTH) if rate > 0 else 0.0

    # a step that reaches out of the picture is drawn as deep as it is, up to the picture's edge
    bars = [
        (frame.x(max(s.starts, frame.start)), frame.x(min(s.ends, frame.end)), depth(rate))
        for s, rate in zip(steps, rates, strict=True)
    ]
    measured = [bar for bar, s in zip(bars, steps, strict=True) if not s.is_forecast]
    ahead = [bar for bar, s in zip(bars, steps, strict=True) if s.is_forecast]
    gaps = gaps_between([(s.starts, s.ends) for s in steps], frame.start, frame.end)
    known = gaps_between(gaps, frame.start, frame.end)
    body = [
        stroke([(frame.x(start), strip.top), (frame.x(end), strip.top)], style.line * 0.4)
        for start, end in known
    ]
    if any(deep for *_, deep in measured):
        body.append(element("path", d=_boxes(measured, strip.top), fill="currentColor"))
    if any(deep for *_, deep in ahead):
        body.append(_outline(ahead, strip.top, style))
    body += _unknown(gaps, frame, strip, style)
    return [*body, *_sums(series, places, strip, style)]


def _boxes(bars: Iterable[tuple[float, float, float]], top: float) -> str:
    return "".join(
        f"M{number(left)} {number(top)}V{number(top + deep)}H{number(right)}V{number(top)}z"
        for left, right, deep in bars
        if deep
    )


def _outline(bars: list[tuple[float, float, float]], top: float, style: Style) -> str:
    """Return bars in outline; of narrow neighbours only the common edge, or they would fill up."""
    narrow = style.line * 3
    groups: list[list[tuple[float, float, float]]] = []
    for bar in (bar for bar in bars if bar[2]):
        before = groups[-1][-1] if groups else None
        joins = before is not None and all(
            (
                abs(before[1] - bar[0]) < 0.01,
                bar[1] - bar[0] < narrow,
                before[1] - before[0] < narrow,
            )
        )
        if joins:
            groups[-1].append(bar)
        else:
            groups.append([bar])
    edges = []
    for group in groups:
        steps = "".join(f"V{number(top + deep)}H{number(right)}" for _, right, deep in group)
        edges.append(f"M{number(group[0][0])} {number(top)}{steps}V{number(top)}")
    return element(
        "path",
        d="".join(edges),
        fill="none",
        stroke="currentColor",
        stroke_width=style.line * 0.5,
    )


def _unknown(gaps: list[Span], frame: Frame, strip: Strip, style: Style) -> list[str]:
    """Return words or question marks where the rain is not known."""
    size, body = style.size, []
    wide = text_width(NOT_KNOWN, size)
    y = (strip.top + strip.bottom) / 2 + size * 0.34
    for start, end in gaps:
        left, right = frame.x(start), frame.x(end)
        middle = (left + right) / 2
        if right - left >= wide + 6:
            body.append(words_at(middle, y, NOT_KNOWN, size, anchor="middle"))
        elif right - left >= text_width("?", size):
            body.append(words_at(middle, y, "?", size, anchor="middle"))
    return body


def _sums(series: Series, places: Places, strip: Strip, style: Style) -> list[str]:
    """Return what falls on each whole day of the picture, in whole millimetres."""
    frame, size = places.frame, style.size
    sums = _day_sums(series, frame) if strip.sums_y is not None else []
    widest = max([text_width(words, size) for _, words, _ in sums], default=0.0)
    has_room = all(widest + 4 <= wide for *_, wide in sums)
    if strip.sums_y is None or not has_room:
        label_y = strip.top + size * 0.8
        return [words_at(places.words_x, label_y, "rain", size)] if places.words_room else []
    what = "mm" if style.marks_below else "mm a day"
    label = [words_at(places.words_x, strip.sums_y, what, size)] if places.words_room else []
    return label + [
        words_at(middle, strip.sums_y, words, size, anchor="middle") for middle, words, _ in sums
    ]


def _day_sums(series: Series, frame: Frame) -> list[tuple[float, str, float]]:
    """Return the middle, the words and the width on the drawing of each whole day."""
    sums = []
    for begin, end in pairwise(series.midnights()):
        if begin < frame.start - 1e-6 or end > frame.end + 1e-6:
            continue
        mm, is_whole = rain_of(series, (begin, end))
        left, right = frame.x(begin), frame.x(end)
        sums.append(((left + right) / 2, rain_words(mm, is_whole=is_whole), right - left))
    return sums
