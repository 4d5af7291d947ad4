"""The river itself: a solid line measured, a dashed one forecast, the band hatched."""

from __future__ import annotations

from typing import Any

from guiding.charts.layout import Style
from guiding.charts.placing import Taken
from guiding.charts.series import Frame, Series
from guiding.charts.svg import element, hatched, runs, stroke

JOINS_H = 25  # a band begins at the last reading where that is no longer ago

Lines = dict[str, list[list[tuple[float, ...]]]]


def water_lines(series: Series, frame: Frame) -> Lines:
    """Return the unbroken runs of each line on the drawing; the band as x, upper edge, lower."""

    def place(at: float, *levels: float) -> tuple[float, ...]:
        # a tenth is finer than any line, and a third of the page's weight less than a hundredth
        return (round(frame.x(at), 1), *(round(frame.y(level), 1) for level in levels))

    def points(rows: Any) -> list[tuple[float, ...] | None]:
        return [None if level is None else place(at, level) for at, level in rows]

    band: list[tuple[float, ...] | None] = [
        None if low is None or high is None else place(at, max(low, high), min(low, high))
        for at, low, _, high in series.forecast
    ]
    last = series.last_measured()
    if last and band and band[0] and 0 <= series.forecast[0][0] - last[0] <= JOINS_H:
        band.insert(0, place(last[0], last[1], last[1]))
    return {
        "measured": runs(points(series.measured)),
        "likely": runs(points((at, middle) for at, _, middle, _ in series.forecast)),
        "band": runs(band),
    }


def draw_water(lines: Lines, style: Style) -> list[str]:
    """Return the strokes of the river."""
    body = []
    for run in lines["band"]:
        body.append(hatched(run, style.hatch, style.line * 0.3))
        for edge in (1, 2):
            body.append(stroke([(point[0], point[edge]) for point in run], style.line * 0.4))
    dashes = f"{style.line * 3.2:.1f} {style.line * 1.8:.1f}"
    for run in lines["likely"]:
        body.append(stroke([(x, y) for x, y in run], style.line, stroke_dasharray=dashes))
    for run in lines["measured"]:
        body.append(stroke([(x, y) for x, y in run], style.line, stroke_linejoin="round"))
        if len(run) == 1:  # a reading alone between two gaps
            (x, y), radius = run[0], style.line
            body.append(element("circle", cx=x, cy=y, r=radius, fill="currentColor"))
    return body


def in_use(lines: Lines, series: Series, frame: Frame) -> Taken:
    """Return what words must keep clear of."""
    taken = Taken()
    for name in ("measured", "likely"):
        for run in lines[name]:
            taken.add_line([(x, y) for x, y in run])
    for run in lines["band"]:
        for edge in (1, 2):
            taken.add_line([(point[0], point[edge]) for point in run])
    for level, _ in series.marks:  # a level printed on a mark's line reads as that mark's
        if frame.low <= level <= frame.high:
            taken.add_line([(frame.left, frame.y(level)), (frame.right, frame.y(level))], cost=1)
    for at in series.day or ():
        taken.add_line([(frame.x(at), frame.top), (frame.x(at), frame.bottom)], cost=1)
    return taken
