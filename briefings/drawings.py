"""The leader to scale and the flies at true size, drawn from their measures."""

from __future__ import annotations

import math
from typing import Any

from guiding.charts import river_chart, river_table
from guiding.svg import Point, Svg, drawing, element, stroke, text_width, words_at

PAGE_WIDTH_PT = {"A4": 493.0, "A5": 352.0}  # between the margins of pack.css
MM_PT = 72 / 25.4
LONGEST_FLY_MM = 120  # anything longer is a slip of the pen, and would not fit the page
SIZE = 11.0

DARK = frozenset(("black", "brown", "claret", "purple", "blue", "green", "olive"))
LIGHT = frozenset(("yellow", "white", "silver", "gold", "cream", "pearl"))
HAIRS = {"sparse": 4, "medium": 7, "full": 11}
STOUTNESS = {"sparse": 0.07, "medium": 0.1, "full": 0.13}  # half a body's depth / its length


def draw_pack(content: dict[str, Any], *, page_size: str = "A4") -> dict[str, Any]:
    """Return every drawing of a pack for paper, keyed as the parts of the template use them."""
    width = PAGE_WIDTH_PT[page_size]
    picture = content["river"]["picture"]
    return {
        "river": _river(content, width, 172, "pack"),
        "river_phone": None,
        "river_rows": river_table(picture, every_hours=12) if picture else [],
        "setups": _setups(content, width),
    }


def draw_page(content: dict[str, Any]) -> dict[str, Any]:
    """Return the same drawings for a web page: the river wide and for a phone."""
    picture = content["river"]["picture"]
    return {
        "river": _river(content, 720, 320, "page"),
        "river_phone": _river(content, 354, 340, "phone"),
        "river_rows": river_table(picture) if picture else [],
        "setups": _setups(content, PAGE_WIDTH_PT["A4"]),
    }


def _river(content: dict[str, Any], width: float, height: float, layout: str) -> Svg | None:
    river = content["river"]
    if not river["picture"]:
        return None
    marks = ", ".join(f"{level:.2f} m {seen}" for level, seen in river["picture"]["marks"])
    return river_chart(
        river["picture"],
        width=width,
        height=height,
        layout=layout,
        title=f"River level at {river['gauge']}. {river['sentence']}",
        description=f"{river['detail']} Marks: {marks or 'none on file'}.",
    )


def _setups(content: dict[str, Any], width: float) -> list[dict[str, Any]]:
    setups = [content["setup"]] if content["setup"] else []
    return [
        {
            "setup": setup,
            "leader": leader_drawing(setup["leader"], setup["flies"], width=width),
            "flies": [{"fly": fly, "drawing": fly_drawing(fly)} for fly in setup["flies"]],
            "laid_out": [{"fly": fly, "drawing": fly_drawing(fly)} for fly in setup["laid_out"]],
        }
        for setup in setups + list(content.get("later_setups", ()))
    ]


# --- the leader ---


def leader_drawing(leader: dict[str, Any], flies: list[dict[str, Any]], *, width: float) -> Svg:
    """Draw tip, leader and dropper to one scale, in points; the line before them is cut short.

    `leader` and `flies` are content.LeaderPicture and FlyPicture as plain values, the point fly
    first. Raises ValueError for a leader without length or a dropper off its end.
    """
    tip_m, leader_m = leader["tip_m"] or 0.0, leader["leader_m"]
    dropper_m = leader["dropper_from_line_m"]
    if not leader_m > 0 or tip_m < 0:
        raise ValueError(f"The leader is {leader_m} m and the tip {tip_m} m; both have a length.")
    if dropper_m is not None and not 0 < dropper_m < leader_m:
        raise ValueError(f"The dropper is at {dropper_m} m of a leader of {leader_m} m.")
    line_end, point_x = 40.0, width - 24
    scale = (point_x - line_end) / (tip_m + leader_m)
    leader_x = line_end + tip_m * scale
    above = _words_above_leader(leader, flies, line_end, leader_x, point_x, width)
    rows_above = 1 + max(row for row, _, _ in above)
    y = rows_above * SIZE * 1.3 + 8
    body = [_line_stub(line_end, y)]
    body += [words_at(x, y - 8 - row * SIZE * 1.3, words, SIZE) for row, x, words in above]
    if tip_m:
        body.append(stroke([(line_end, y), (leader_x, y)], 2.4))
    body += _sections(leader, leader_x, point_x, y)
    body.append(_small_fly(point_x, y, 0))
    foot = y + 14
    if dropper_m is not None:
        foot += _dropper(body, leader, flies, leader_x + dropper_m * scale, y, scale, width)
    foot = _measures(body, leader, leader_x, point_x, scale, foot, y)
    parts = [leader["line_words"], leader["tip_words"]]
    parts += [f"{part}: {words}" for part, _, words in leader["sections"]]
    parts += [leader["dropper_words"], leader["point_words"]]
    return drawing(
        width,
        foot,
        f"The leader drawn to scale: {leader['leader_words']}",
        "From the line to the point fly: " + "; ".join(part for part in parts if part) + ".",
        "".join(body),
        unit="pt",
    )


def _line_stub(end: float, y: float) -> str:
    cut = [stroke([(x, y + 5), (x + 4, y - 5)], 1.2) for x in (9.0, 13.0)]
    return stroke([(0, y), (8, y)], 4) + stroke([(18, y), (end, y)], 4) + "".join(cut)


def _sections(leader: dict[str, Any], start: float, end: float, y: float) -> list[str]:
    """Return the pieces of the leader, each thinner than the one before, a dot at each knot."""
    pieces = [length for part, length, _ in leader["sections"] if part != "dropper tag"]
    total = sum(pieces) or 1.0
    body, x = [], start
    for place, length in enumerate(pieces or [1.0]):
        to = x + (end - start) * length / total
        body.append(stroke([(x, y), (to, y)], max(1.5 - 0.4 * place, 0.7)))
        body.append(element("circle", cx=x, cy=y, r=2, fill="currentColor"))
        x = to
    return body


def _small_fly(x: float, y: float, slant: float) -> str:
    """Return a sign for a fly, not to scale: head at (x, y), tail `slant` lower."""
    hairs = [stroke([(x + 2, y), (x + 17, y + slant + bend)], 0.9) for bend in (-4.0, -1.5, 1.0)]
    head = element("circle", cx=x + 2, cy=y + slant * 0.1, r=2.4, fill="currentColor")
    return head + "".join(hairs)


def _words_above_leader(
    leader: dict[str, Any],
    flies: list[dict[str, Any]],
    line_end: float,
    leader_x: float,
    point_x: float,
    width: float,
) -> list[tuple[int, float, str]]:
    """Return row (0 is next to the line), left edge and words, no two overlapping."""
    wanted = [(0.0, leader["line_words"])]
    if leader["tip_m"]:
        wanted.append(((line_end + leader_x) / 2, leader["tip_words"]))
    pieces = [s for s in leader["sections"] if s[0] != "dropper tag"]
    total, x = sum(length for _, length, _ in pieces) or 1.0, leader_x
    for _, length, words in pieces:
        to = x + (point_x - leader_x) * length / total
        wanted.append(((x + to) / 2, words))
        x = to
    if flies:
        wanted.append((width, f"point: {flies[0]['pattern']}"))
    rows: list[list[tuple[float, float]]] = []
    placed = []
    for centre, words in wanted:
        wide = text_width(words, SIZE)
        left = min(max(centre - wide / 2, 0), max(width - wide, 0))
        for row in range(len(wanted)):
            if row == len(rows):
                rows.append([])
            if all(left >= end + 10 or left + wide + 10 <= begin for begin, end in rows[row]):
                rows[row].append((left, left + wide))
                placed.append((row, left, words))
                break
    return placed


def _dropper(
    body: list[str],
    leader: dict[str, Any],
    flies: list[dict[str, Any]],
    x: float,
    y: float,
    scale: float,
    width: float,
) -> float:
    """Draw the tag to scale and name its fly; return how far down it reaches."""
    tags = [length for part, length, _ in leader["sections"] if part == "dropper tag"]
    long = max(sum(tags) * scale, 6)
    down, along = long * math.sin(math.radians(55)), long * math.cos(math.radians(55))
    body.append(element("circle", cx=x, cy=y, r=2.4, fill="currentColor"))
    body.append(stroke([(x, y), (x + along, y + down)], 0.8))
    body.append(_small_fly(x + along, y + down, 6))
    droppers = [fly for fly in flies if fly["role"] == "dropper"]
    words = f"dropper: {droppers[0]['pattern']}" if droppers else "dropper"
    tag = next((words for part, _, words in leader["sections"] if part == "dropper tag"), "")
    lines = [words] + ([tag] if tag else [])
    wide = max(text_width(line, SIZE) for line in lines)
    left = x + along + 24
    if left + wide > width:
        left = max(x - 12 - wide, 0)
    for count, line in enumerate(lines):
        body.append(words_at(left, y + 18 + count * SIZE * 1.3, line, SIZE))
    return max(down + 10, 6 + SIZE * 1.3 * len(lines))


def _measures(
    body: list[str],
    leader: dict[str, Any],
    start: float,
    end: float,
    scale: float,
    top: float,
    y: float,
) -> float:
    """Draw the measuring lines under the leader; return the foot of the drawing."""
    rows: list[list[tuple[float, float, str]]] = []
    if leader["dropper_from_line_m"] is not None:
        x = start + leader["dropper_from_line_m"] * scale
        rows.append([(start, x, leader["dropper_words"]), (x, end, leader["point_words"])])
    rows.append([(start, end, leader["leader_words"])])
    at = top
    for row in rows:
        foot = at + 8
        edge = 0.0
        drop = 0.0
        for left, right, words in row:
            body.append(stroke([(left, at), (right, at)], 0.8))
            for x in (left, right):
                body.append(stroke([(x, at - 5), (x, at + 5)], 0.8))
            wide = text_width(words, SIZE)
            middle = max(min((left + right) / 2, end + 24 - wide / 2), wide / 2)
            if middle - wide / 2 < edge:
                drop += SIZE * 1.2  # the words before it reach too far: one line lower
            body.append(words_at(middle, at + SIZE * 1.25 + drop, words, SIZE, anchor="middle"))
            edge = middle + wide / 2 + 6
            foot = at + SIZE * 1.25 + drop + 6
        at = foot + 10
    return at - 10


# --- the flies ---


def fly_drawing(fly: dict[str, Any]) -> Svg | None:
    """Draw a fly at true size, in millimetres, head to the left; None for no credible length."""
    length = float(fly["length_mm"])
    if not 0 < length <= LONGEST_FLY_MM:
        return None
    margin, size = 2.0, SIZE / MM_PT
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
