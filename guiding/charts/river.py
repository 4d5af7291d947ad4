"""The river as one picture for page and pack: rain, what was measured, what may come, the marks."""

from __future__ import annotations

from typing import Any

from guiding.charts.days import fishing_day, foot_of_days, nights
from guiding.charts.labels import newest_reading, not_known
from guiding.charts.layout import STYLES, lay_out
from guiding.charts.mark_lines import mark_lines, words_of_marks
from guiding.charts.rain_bars import rain_bars
from guiding.charts.series import read_picture
from guiding.charts.svg import Svg, drawing
from guiding.charts.water_line import draw_water, in_use, water_lines


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

    `picture` is what gauges.picture.river_picture returns. Rain hangs from the top, nights are
    shaded. Layouts: "pack" (points, on paper), "page" and "phone" (pixels). What is not known is
    left blank and said inside the picture. Raises ValueError for a layout, a size or a time that
    cannot be drawn.
    """
    if layout not in STYLES:
        raise ValueError(f"layout is {layout!r}; there are {', '.join(STYLES)}.")
    if width < 200 or height < 100:
        raise ValueError(f"{width:g} by {height:g} is too small; 200 by 100 is the least.")
    series, style = read_picture(picture), STYLES[layout]
    places = lay_out(series, style, width, height)
    frame = places.frame
    lines = water_lines(series, frame)
    taken = in_use(lines, series, frame)
    unknown = not_known(series, frame, style, taken)
    newest = newest_reading(series, frame, style, taken)
    body = [
        *nights(series, places, style),
        *fishing_day(series, places, style),
        *foot_of_days(series, frame, style),
        *rain_bars(series, places, style),
        *mark_lines(series, frame, style),
        *draw_water(lines, style),
        *words_of_marks(series, places, style),
        *unknown,
        *newest,
    ]
    return drawing(width, height, title, description, "".join(body), unit=style.unit)
