"""A fly drawn at true size from its dressed length: hook or tube, body, wing, all by us."""

from __future__ import annotations

import math
from typing import Any

from guiding.charts.svg import Point, Svg, drawing, element, stroke, text_width, words_at

LONGEST_FLY_MM = 120  # anything longer is a slip of the pen, and would not fit the page
WORDS_MM = 11 * 25.4 / 72  # 11 pt

DARK = frozenset(("black", "brown", "claret", "purple", "blue", "green", "olive"))
LIGHT = frozenset(("yellow", "white", "silver", "gold", "cream", "pearl"))
HAIRS = {"sparse": 4, "medium": 7, "full": 11}
STOUTNESS = {"sparse": 0.07, "medium": 0.1, "full": 0.13}  # half a body's depth / its length


def fly_drawing(fly: dict[str, Any]) -> Svg | None:
    """Draw a fly at true size, in millimetres, head to the left; None for no credible length."""
    length = float(fly["length_mm"])
    if not 0 < length <= LONGEST_FLY_MM:
        return None
    margin, size = 2.0, WORDS_MM
    words = f"{fly['length_mm']} mm"
    width = max(length, text_width(words, size)) + 2 * margin
    left = (width - length) / 2
    depth = max(0.22 * length, 3.0)
    axis = depth + 0.5
    body = [*_hook(fly, left, axis, length), *_wing(fly, left, axis, length)]
    body += _body(fly, left, axis, length)
    foot = axis + max(0.2 * length, 2.5) + 1.6
    body.append(stroke([(left, foot), (left + length, foot)], 0.25))
    for x in (left, left + length):
        body.append(stroke([(x, foot - 1), (x, foot + 1)], 0.25))
    body.append(words_at(width / 2, foot + size * 1.15, words, size, anchor="middle"))
    about = ", ".join(part for part in (fly["looks_like"], " and ".join(fly["colours"])) if part)
    return drawing(
        width,
        foot + size * 1.5,
        f"{fly['pattern']} at true size: {fly['words']}",
        about,
        "".join(body),
        unit="mm",
    )


def _tone(fly: dict[str, Any], place: int) -> str:
    colours = [word for colour in fly["colours"] for word in colour.lower().split()]
    colour = colours[place] if place < len(colours) else (colours or [""])[0]
    return "dark" if colour in DARK else "light" if colour in LIGHT else "middle"


def _hook(fly: dict[str, Any], x: float, y: float, length: float) -> list[str]:
    end, gape = x + 0.58 * length, 0.1 * length
    bend: list[Point] = [
        (end + gape * math.sin(turn), y + gape - gape * math.cos(turn))
        for turn in (math.pi * step / 8 for step in range(9))
    ]
    point = [(end - gape * 1.1, y + 2 * gape)]
    shank = [] if fly["is_tube"] else [stroke([(x, y), (end, y)], 0.4)]
    eye = element("circle", cx=x + 0.6, cy=y, r=0.6, fill="#fff", stroke="currentColor")
    eye = eye.replace("/>", ' stroke-width="0.3"/>')
    return [*shank, stroke(bend + point, 0.35), *([] if fly["is_tube"] else [eye])]


def _wing(fly: dict[str, Any], x: float, y: float, length: float) -> list[str]:
    """Return hairs from the head back to the very end of the dressing, more in a fuller one."""
    hairs = HAIRS.get(fly["dressing"], HAIRS["medium"])
    tone = _tone(fly, 1)
    wide = {"dark": 0.3, "middle": 0.2, "light": 0.15}[tone]
    rise = STOUTNESS.get(fly["dressing"], 0.1) * length * 1.5
    body = []
    for hair in range(hairs):
        share = hair / (hairs - 1)
        end = length * (1 - 0.22 * abs(share - 0.35))
        if hair == round(0.35 * (hairs - 1)):
            end = length
        points = [
            (x + length * 0.08 + (end - length * 0.08) * t, y - rise * share * math.sqrt(t) * 1.1)
            for t in (step / 10 for step in range(11))
        ]
        body.append(stroke(points, wide))
    for hair in range(max(hairs // 2, 2)):  # the throat
        reach = length * (0.12 + 0.04 * hair)
        body.append(
            stroke([(x + 0.08 * length, y), (x + 0.08 * length + reach, y + reach * 0.5)], wide)
        )
    return body


def _body(fly: dict[str, Any], x: float, y: float, length: float) -> list[str]:
    """Return the body: filled where dark, ribbed where bright, bare where light."""
    begin, end = x + 0.07 * length, x + (0.5 if fly["is_tube"] else 0.52) * length
    half = STOUTNESS.get(fly["dressing"], 0.1) * length * (0.45 if fly["is_tube"] else 0.5)
    tone = _tone(fly, 0)
    fill = "currentColor" if tone == "dark" else "#fff"
    if fly["is_tube"]:
        shape = element(
            "rect",
            x=begin,
            y=y - half,
            width=end - begin,
            height=2 * half,
            fill=fill,
            stroke="currentColor",
            stroke_width=0.3,
        )
    else:
        middle = (begin + end) / 2
        shape = element(
            "path",
            d=f"M{begin:.2f} {y:.2f}Q{middle:.2f} {y - 2 * half:.2f} {end:.2f} {y:.2f}"
            f"Q{middle:.2f} {y + 2 * half:.2f} {begin:.2f} {y:.2f}Z",
            fill=fill,
            stroke="currentColor",
            stroke_width=0.3,
        )
    if tone == "dark":
        return [shape]
    gap = 0.7 if tone == "middle" else 1.6
    ribs = []
    for count in range(1, int((end - begin) / gap)):
        at = begin + count * gap
        share = (at - begin) / (end - begin)
        high = half * (1.0 if fly["is_tube"] else 4 * share * (1 - share)) * 0.95
        ribs.append(stroke([(at - 0.15, y + high), (at + 0.15, y - high)], 0.2))
    return [shape, *ribs]
