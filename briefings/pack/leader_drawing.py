"""The leader drawn to scale, from the line's end to the point fly."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from guiding.charts.placing import shortened
from guiding.charts.svg import Svg, drawing, element, stroke, text_width, words_at
from guiding.units import length_words

SIZE = 11.0  # of the words, in points
ROW = SIZE * 1.3
LINE_END, BEYOND_POINT = 40.0, 24.0  # room for the line's stub and for the point fly
TAG = "dropper tag"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The leader's places across the drawing."""

    line_end: float
    leader: float  # where the leader begins: the line's end, or the tip's
    dropper: float | None
    point: float
    pt_a_metre: float
    width: float


def leader_drawing(leader: dict[str, Any], flies: list[dict[str, Any]], *, width: float) -> Svg:
    """Draw tip, leader and dropper to one scale, in points; the line before them is cut short.

    `leader` and `flies` are content.LeaderPicture and FlyPicture as plain values, the point fly
    first. Raises ValueError for a leader without length or a dropper off its end.
    """
    scale = _scale(leader, width)
    above = _words_above(leader, flies, scale)
    y = (1 + max(row for row, _, _ in above)) * ROW + 8
    body = [_line_stub(y)]
    body += [words_at(x, y - 8 - row * ROW, words, SIZE) for row, x, words in above]
    if scale.leader > scale.line_end:
        body.append(stroke([(scale.line_end, y), (scale.leader, y)], 2.6))
    body += _pieces(leader, scale, y)
    body.append(_small_fly(scale.point, y, 0))
    foot = y + 14
    if scale.dropper is not None:
        drawn, foot = _dropper(leader, flies, scale, y)
        body += drawn
    drawn, foot = _measures(leader, scale, foot)
    named = [leader["line_words"], leader["tip_words"]]
    named += [words for _, _, words in leader["sections"]]
    named += [leader["dropper_words"], leader["point_words"]]
    return drawing(
        width,
        foot,
        f"The leader drawn to scale: {leader['leader_words']}",
        "From the line to the point fly: " + "; ".join(part for part in named if part) + ".",
        "".join([*body, *drawn]),
        unit="pt",
    )


def _scale(leader: dict[str, Any], width: float) -> Scale:
    tip_m, leader_m = leader["tip_m"] or 0.0, leader["leader_m"]
    dropper_m = leader["dropper_from_line_m"]
    if not leader_m > 0 or tip_m < 0:
        raise ValueError(f"The leader is {leader_m} m and the tip {tip_m} m; both have a length.")
    if dropper_m is not None and not 0 < dropper_m < leader_m:
        raise ValueError(f"The dropper is at {dropper_m} m of a leader of {leader_m} m.")
    point = width - BEYOND_POINT
    pt_a_metre = (point - LINE_END) / (tip_m + leader_m)
    start = LINE_END + tip_m * pt_a_metre
    return Scale(
        line_end=LINE_END,
        leader=start,
        dropper=None if dropper_m is None else start + dropper_m * pt_a_metre,
        point=point,
        pt_a_metre=pt_a_metre,
        width=width,
    )


def _spans(leader: dict[str, Any], scale: Scale) -> list[tuple[float, float, str]]:
    """Return where each piece of the leader begins and ends, and its words."""
    pieces = [(length, words) for part, length, words in leader["sections"] if part != TAG]
    total = sum(length for length, _ in pieces)
    if not total > 0:
        return [(scale.leader, scale.point, "")]
    spans, x = [], scale.leader
    for length, words in pieces:
        to = x + (scale.point - scale.leader) * length / total
        spans.append((x, to, words))
        x = to
    return spans


def _line_stub(y: float) -> str:
    cut = [stroke([(x, y + 6), (x + 4, y - 6)], 1.2) for x in (9.0, 13.5)]
    return stroke([(0, y), (8, y)], 4.5) + stroke([(18, y), (LINE_END, y)], 4.5) + "".join(cut)


def _pieces(leader: dict[str, Any], scale: Scale, y: float) -> list[str]:
    """Return the leader's pieces, each thinner than the one before, a dot at each knot."""
    body = []
    for place, (x, to, _) in enumerate(_spans(leader, scale)):
        body.append(stroke([(x, y), (to, y)], max(1.6 - 0.4 * place, 0.8)))
        body.append(element("circle", cx=x, cy=y, r=2.2, fill="currentColor"))
    return body


def _small_fly(x: float, y: float, slant: float) -> str:
    """Return a sign for a fly, not to scale: head at (x, y), tail `slant` lower."""
    hairs = [stroke([(x + 2, y), (x + 18, y + slant + bend)], 1) for bend in (-4.5, -1.5, 1.5)]
    return element("circle", cx=x + 2, cy=y, r=2.6, fill="currentColor") + "".join(hairs)


def _words_above(
    leader: dict[str, Any], flies: list[dict[str, Any]], scale: Scale
) -> list[tuple[int, float, str]]:
    """Return row (0 is next to the line), left edge and words, no two overlapping."""
    wanted = [(0.0, leader["line_words"])]
    if scale.leader > scale.line_end:
        wanted.append(((scale.line_end + scale.leader) / 2, leader["tip_words"]))
    wanted += [((x + to) / 2, words) for x, to, words in _spans(leader, scale) if words]
    if flies:
        wanted.append((scale.width, f"point: {flies[0]['pattern']}"))
    rows: list[list[tuple[float, float]]] = [[] for _ in wanted]
    placed = []
    for centre, words in wanted:
        shown = shortened(words, SIZE, scale.width)
        wide = text_width(shown, SIZE)
        left = min(max(centre - wide / 2, 0), scale.width - wide)
        for place, row in enumerate(rows):
            if all(left >= end + 10 or left + wide + 10 <= begin for begin, end in row):
                row.append((left, left + wide))
                placed.append((place, left, shown))
                break
    return placed


def _dropper(
    leader: dict[str, Any], flies: list[dict[str, Any]], scale: Scale, y: float
) -> tuple[list[str], float]:
    """Return the tag to scale with its fly named, and how far down it reaches."""
    x = scale.dropper or 0.0
    tags = [(length, words) for part, length, words in leader["sections"] if part == TAG]
    long = max(sum(length for length, _ in tags) * scale.pt_a_metre, 6)
    down, along = long * math.sin(math.radians(55)), long * math.cos(math.radians(55))
    names = [f"dropper: {fly['pattern']}" for fly in flies if fly["role"] == "dropper"]
    lines = [*(names[:1] or ["dropper"]), *(words for _, words in tags)]
    lines = [shortened(line, SIZE, scale.width) for line in lines]
    wide = max(text_width(line, SIZE) for line in lines)
    left = x + along + 26
    if left + wide > scale.width:
        left = max(x - 12 - wide, 0)
    # words that reach under the hanging fly begin below it
    top = y + 18 if left > x + along or left + wide <= x else y + down + 12 + SIZE
    body = [
        element("circle", cx=x, cy=y, r=2.6, fill="currentColor"),
        stroke([(x, y), (x + along, y + down)], 1),
        _small_fly(x + along, y + down, 6),
        *(words_at(left, top + place * ROW, line, SIZE) for place, line in enumerate(lines)),
    ]
    return body, max(y + down + 14, top + ROW * (len(lines) - 1) + 16)


def _measures(leader: dict[str, Any], scale: Scale, top: float) -> tuple[list[str], float]:
    """Return the measuring lines under the leader, and the foot of the drawing."""
    units = "imperial" if re.match(r"\d+ (ft|in)\b", leader["leader_words"]) else "metric"
    whole = (scale.leader, scale.point, f"{leader['leader_words']} of leader")
    parts = []
    if scale.leader > scale.line_end:
        tip = (scale.line_end, scale.leader, f"{length_words(leader['tip_m'], units)} of tip")
        parts.append(tip)
    if scale.dropper is not None:
        before = leader["dropper_from_line_m"]
        after = leader["leader_m"] - before
        parts.append((scale.leader, scale.dropper, length_words(before, units)))
        parts.append((scale.dropper, scale.point, length_words(after, units)))
    rows = [parts, [whole]] if scale.dropper is not None else [[*parts, whole]]
    body, at = [], top + 4
    for row in rows:
        edge, lines = 0.0, 1
        for left, right, words in row:
            body.append(stroke([(left, at), (right, at)], 0.8))
            body += [stroke([(x, at - 5), (x, at + 5)], 0.8) for x in (left, right)]
            shown = shortened(words, SIZE, scale.width)
            wide = text_width(shown, SIZE)
            middle = max(min((left + right) / 2, scale.width - wide / 2), wide / 2)
            lines += middle - wide / 2 < edge  # the words before reach too far: a line lower
            y = at + 5 + SIZE * 0.95 + ROW * (lines - 1)
            body.append(words_at(middle, y, shown, SIZE, anchor="middle"))
            edge = middle + wide / 2 + 8
        at += 5 + ROW * lines + 12
    return body, at - 10
