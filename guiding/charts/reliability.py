"""Chances that were given against how often it happened: on the slanting line they were right."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from guiding.charts.svg import Svg, drawing, element, stroke, words_at

LEFT, TOP, RIGHT, FOOT = 64.0, 18.0, 22.0, 64.0
WORDS, SMALL_WORDS = 16.0, 15.0  # pixels
FEW = 10  # times given; a ring and not a disc says that they were so few
TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)
SMALLEST, LARGEST = 5.0, 12.0  # radius of a point

Scale = Callable[[float], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """Chances about `chance` were given `count` times, and a share `happened` of them came."""

    chance: float
    happened: float
    count: int


def reliability_chart(points: Sequence[Given], *, size: float, title: str, description: str) -> Svg:
    """Draw the points in a square of `size` pixels; a larger point stands for more forecasts.

    Raises ValueError for a size that cannot be drawn, or a share outside 0 to 1.
    """
    if size < 240:
        raise ValueError(f"size is {size:g} pixels; 240 is the least.")
    for point in points:
        if not (0 <= point.chance <= 1 and 0 <= point.happened <= 1):
            raise ValueError(f"a share is {point}; it lies in 0 to 1.")
    side = size - LEFT - RIGHT

    def x_of(share: float) -> float:
        return LEFT + share * side

    def y_of(share: float) -> float:
        return TOP + (1 - share) * side

    body = _frame(x_of, y_of)
    most = max((point.count for point in points), default=1)
    for point in points:
        radius = SMALLEST + (LARGEST - SMALLEST) * (point.count / most) ** 0.5
        body.append(
            element(
                "circle",
                cx=x_of(point.chance),
                cy=y_of(point.happened),
                r=radius,
                fill="currentColor" if point.count >= FEW else "none",
                stroke="currentColor",
                stroke_width=2,
            )
        )
    if not points:
        middle = (x_of(0.5), y_of(0.25))
        body.append(words_at(*middle, "nothing to show yet", WORDS, anchor="middle"))
    return drawing(size, TOP + side + FOOT, title, description, "".join(body))


def _frame(x_of: Scale, y_of: Scale) -> list[str]:
    corners = [(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]
    lines = [
        stroke([(x_of(x), y_of(y)) for x, y in corners], 1),
        stroke([(x_of(0), y_of(0)), (x_of(1), y_of(1))], 1.5, stroke_dasharray="6 5"),
    ]
    for share in TICKS:
        lines.append(
            words_at(x_of(share), y_of(0) + 20, f"{share:.0%}", SMALL_WORDS, anchor="middle")
        )
        lines.append(words_at(LEFT - 8, y_of(share) + 5, f"{share:.0%}", SMALL_WORDS, anchor="end"))
    lines.append(words_at(x_of(0.5), y_of(0) + 44, "the chance we gave", WORDS, anchor="middle"))
    lines.append(words_at(x_of(0.04), y_of(1) + 22, "how often it happened", WORDS))
    return lines
