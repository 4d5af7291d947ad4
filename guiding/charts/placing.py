"""Where words go on a drawing so that they cover neither the lines nor each other."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from guiding.charts.svg import Point, text_width

CELL = 4.0  # lines are remembered by squares of this side
LINE_COST, WORDS_COST = 3, 200


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


@dataclass(slots=True)
class Taken:
    """The part of a drawing that is in use: squares with a line in them, boxes with words."""

    costs: dict[tuple[int, int], int] = field(default_factory=dict)
    words: list[Box] = field(default_factory=list)

    def add_line(self, points: Iterable[Point], cost: int = LINE_COST) -> None:
        """Remember a line through the points."""
        for (x0, y0), (x1, y1) in pairwise(points):
            steps = max(1, math.ceil(max(abs(x1 - x0), abs(y1 - y0)) / CELL))
            for step in range(steps + 1):
                x, y = x0 + (x1 - x0) * step / steps, y0 + (y1 - y0) * step / steps
                cell = (math.floor(x / CELL), math.floor(y / CELL))
                self.costs[cell] = max(cost, self.costs.get(cell, 0))

    def cost(self, box: Box) -> int:
        """Return how much a box would cover."""
        columns = range(math.floor(box.x / CELL), math.floor((box.x + box.width) / CELL) + 1)
        rows = range(math.floor(box.y / CELL), math.floor((box.y + box.height) / CELL) + 1)
        lines = sum(self.costs.get((column, row), 0) for column in columns for row in rows)
        return lines + WORDS_COST * sum(box.meets(other) for other in self.words)

    def place(self, candidates: Iterable[Box], otherwise: Box) -> Box:
        """Take the first candidate that covers nothing, else the one that covers least."""
        best, least = otherwise, None
        for box in candidates:
            cost = self.cost(box)
            if least is None or cost < least:
                best, least = box, cost
            if cost == 0:
                break
        self.words.append(best)
        return best


def around(x: float, y: float, wide: float, tall: float, within: Box) -> Iterator[Box]:
    """Yield places for words near a point, the nearest first, all inside a box."""
    offsets = [
        (left, top)
        for left in range(-int(wide) - 104, 105, 8)
        for top in range(-int(tall) * 6, int(tall) * 5 + 1, 4)
    ]

    def distance(offset: tuple[int, int]) -> float:
        left, top = offset
        away_x = max(left, -left - wide, 0)
        away_y = max(top, -top - tall, 0)
        return math.hypot(away_x, away_y) + 0.01 * abs(left + wide / 2)

    for left, top in sorted(offsets, key=distance):
        box = Box(x=x + left, y=y + top, width=wide, height=tall)
        fits_x = within.x <= box.x and box.x + wide <= within.x + within.width
        if fits_x and within.y <= box.y and box.y + tall <= within.y + within.height:
            yield box


def spread(wanted: Iterable[float], gap: float, low: float, high: float) -> list[float]:
    """Return heights at least `gap` apart, near the wanted ones, which run down the page."""
    placed: list[float] = []
    for y in wanted:
        placed.append(max(y, placed[-1] + gap if placed else low))
    ceiling = high
    for place in range(len(placed) - 1, -1, -1):
        placed[place] = min(placed[place], ceiling)
        ceiling = placed[place] - gap
    return placed


def shortened(words: str, size: float, room: float) -> str:
    """Return words that fit the room, with an ellipsis where some had to go."""
    if text_width(words, size) <= room:
        return words
    while words and text_width(words + "…", size) > room:
        words = words[:-1]
    return words.rstrip() + "…"
