"""The few strokes our drawings are made of: SVG with presentation attributes, values escaped."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Iterable
from itertools import pairwise

FAMILY = "Atkinson Hyperlegible Next, sans-serif"
NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

# Advance widths of the pack's font in thousandths of an em, rounded up to 20; others count 600.
ADVANCES = {
    160: "'",
    220: ",.:;",
    240: "|",
    260: "`ij",
    280: " l",
    300: "!()",
    320: '"[f',
    340: "t",
    360: "]r{}",
    380: "-_",
    400: "/I\\",
    420: "1",
    460: "yz",
    480: "?sv",
    500: "*ckx",
    520: "7J",
    540: "aeu",
    560: "2<>FLT^ghno~",
    580: "3EYbdpq",
    640: "+48BRZ=AKX",
    660: "#0C",
    680: "D",
    700: "GHNUw",
    740: "&QO",
    780: "@",
    860: "MWm",
    920: "%",
}
EM = {letter: advance for advance, letters in ADVANCES.items() for letter in letters}
BOLD = 1.08  # the bold is this much wider

Point = tuple[float, float]


class Svg(str):
    """Markup of our own making, every value in it escaped: a template prints it as it is."""

    __slots__ = ()

    def __html__(self) -> str:
        return str(self)


def escaped(words: str) -> str:
    """Return words fit for XML: markup signs escaped, characters XML forbids left out."""
    return html.escape(NOT_XML.sub("", words), quote=True)


def number(value: float) -> str:
    """Return a coordinate to the hundredth, without a trailing nought."""
    shown = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def text_width(words: str, size: float, *, bold: bool = False) -> float:
    """Return about how wide words come out, in the unit of `size`."""
    wide = sum(EM.get(letter, 600) for letter in words) / 1000 * size
    return wide * BOLD if bold else wide


def element(name: str, inner: str = "", /, **attributes: float | str) -> str:
    """Return one element; `stroke_width` becomes stroke-width; `inner` is markup already."""
    parts = [name]
    for key, value in attributes.items():
        shown = number(value) if isinstance(value, int | float) else escaped(value)
        parts.append(f'{key.rstrip("_").replace("_", "-")}="{shown}"')
    start = " ".join(parts)
    return f"<{start}>{inner}</{name}>" if inner else f"<{start}/>"


def words_at(
    x: float, y: float, words: str, size: float, *, anchor: str = "start", bold: bool = False
) -> str:
    """Return one line of text with its baseline at y."""
    return element(
        "text",
        escaped(words),
        x=x,
        y=y,
        font_size=size,
        font_weight="700" if bold else "400",
        text_anchor=anchor,
        fill="currentColor",
    )


def stroke(points: Iterable[Point], width: float, **attributes: float | str) -> str:
    """Return one open line through the points."""
    corners = " L".join(f"{number(x)} {number(y)}" for x, y in points)
    return element(
        "path",
        d=f"M{corners}",
        fill="none",
        stroke="currentColor",
        stroke_width=width,
        **attributes,
    )


def runs(points: Iterable[tuple[float, ...] | None]) -> list[list[tuple[float, ...]]]:
    """Return the unbroken runs of points; None breaks a line."""
    found: list[list[tuple[float, ...]]] = [[]]
    for point in points:
        if point is not None:
            found[-1].append(point)
        elif found[-1]:
            found.append([])
    return [run for run in found if run]


def hatched(run: list[tuple[float, ...]], gap: float, width: float) -> str:
    """Return slanting lines cut to a band: a pattern fill prints as flat grey on paper.

    `run` holds x, y of the upper edge and y of the lower edge. A line is y = c - x; between two
    points both edges are straight, so the part of it inside the band is one interval of x.
    """
    lowest = min(x + upper for x, upper, _ in run)
    highest = max(x + lower for x, _, lower in run)
    pieces = []
    for step in range(math.ceil(lowest / gap), math.floor(highest / gap) + 1):
        c = step * gap
        begin = end = None
        for left, right in pairwise(run):
            inside = _inside_band(c, left, right)
            if inside is None:
                continue
            if end is not None and begin is not None and inside[0] - end > 1e-6:
                pieces.append((begin, end, c))
                begin = None
            begin, end = (inside[0] if begin is None else begin), inside[1]
        if begin is not None and end is not None:
            pieces.append((begin, end, c))
    if not pieces:
        return ""
    lines = "".join(f"M{a:.1f} {c - a:.1f}L{b:.1f} {c - b:.1f}" for a, b, c in pieces)
    return element("path", d=lines, fill="none", stroke="currentColor", stroke_width=width)


def _inside_band(
    c: float, left: tuple[float, ...], right: tuple[float, ...]
) -> tuple[float, float] | None:
    """Return where the line y = c - x lies between the edges that join two points of a band."""
    x0, upper0, lower0 = left
    x1, upper1, lower1 = right
    begin, end = x0, x1
    for room0, room1 in ((c - x0 - upper0, c - x1 - upper1), (lower0 + x0 - c, lower1 + x1 - c)):
        if room0 < 0 and room1 < 0:
            return None
        if room0 < 0:
            begin = max(begin, x0 + (x1 - x0) * room0 / (room0 - room1))
        elif room1 < 0:
            end = min(end, x0 + (x1 - x0) * room0 / (room0 - room1))
    return (begin, end) if end > begin else None


def paper(x: float, y: float, width: float, height: float) -> str:
    """Return a patch of paper to keep words apart from the lines under them."""
    return element("rect", class_="paper", x=x, y=y, width=width, height=height, fill="#fff")


def drawing(
    width: float, height: float, title: str, description: str, body: str, *, unit: str = ""
) -> Svg:
    """Return a whole drawing. Its words stand inside it, so nothing needs an id."""
    about = element("title", escaped(title) or " ") + (
        element("desc", escaped(description)) if description else ""
    )
    return Svg(
        element(
            "svg",
            about + body,
            xmlns="http://www.w3.org/2000/svg",
            viewBox=f"0 0 {number(width)} {number(height)}",
            width=f"{number(width)}{unit}",
            height=f"{number(height)}{unit}",
            role="img",
            font_family=FAMILY,
        )
    )
