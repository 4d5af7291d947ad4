"""The river's picture as lines of a table, for those who cannot see it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from guiding.charts.rain_bars import rain_of
from guiding.charts.series import HALF_DAY, Series, moment_words, read_picture

NOT_KNOWN = "not known"
Row = tuple[float, str, float | None, str]  # at, known as, level, between
FEW_ROWS = 16  # a series with no more is given whole


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverRow:
    """One line of the table under the picture."""

    when: str
    known_as: str  # measured or forecast
    level: str
    between: str  # four times in five
    rain: str  # until the next line
    light: str  # dark, light, or nothing for a whole day


def river_table(picture: dict[str, Any], *, every_hours: int = 6) -> list[RiverRow]:
    """Return the picture as lines at whole steps of the river's clock, the newest reading always.

    A series slower than the steps is given whole.
    """
    series = read_picture(picture)
    last = series.last_measured()

    def is_shown(at: float, rows: int) -> bool:
        clock = series.clock(at)
        on_step = clock.hour % every_hours == 0 and clock.minute == 0
        return on_step or rows <= FEW_ROWS or (last is not None and at == last[0])

    rows: list[Row] = [
        (at, series.level_words, level, "read" if level is not None else NOT_KNOWN)
        for at, level in series.measured
        if is_shown(at, len(series.measured))
    ]
    rows += [
        (
            at,
            "forecast",
            middle,
            NOT_KNOWN if low is None or high is None else f"{low:.2f} to {high:.2f} m",
        )
        for at, low, middle, high in series.forecast
        if is_shown(at, len(series.forecast))
    ]
    step = 2 * HALF_DAY if series.is_daily else float(every_hours)
    rows = sorted(
        [*rows, *_rain_alone(series, [row[0] for row in rows], step)], key=lambda row: row[0]
    )
    ends = [min(step, later[0] - row[0]) for row, later in pairwise(rows)] + [step]
    return [
        RiverRow(
            when=moment_words(series.clock(at), is_day=series.is_daily),
            known_as=known_as,
            level=NOT_KNOWN if level is None else f"{level:.2f} m",
            between=between,
            rain=_rain(series, at - (HALF_DAY if series.is_daily else 0), hours),
            light=_light(series, at),
        )
        for (at, known_as, level, between), hours in zip(rows, ends, strict=False)
    ]


def _rain_alone(series: Series, times: list[float], step: float) -> list[Row]:
    """Return lines for known rain where no line has a level, so that it is told as well."""
    if not series.rain:
        return []
    lines: list[Row] = []
    for midnight in series.midnights():
        for count in range(round(24 / step)):
            at = midnight + count * step + (HALF_DAY if series.is_daily else 0.0)
            starts = at - (HALF_DAY if series.is_daily else 0.0)
            is_told = any(starts <= time < starts + step for time in times)
            if not is_told and rain_of(series, (starts, starts + step))[0] is not None:
                lines.append((at, NOT_KNOWN, None, NOT_KNOWN))
    return lines


def _rain(series: Series, at: float, hours: float) -> str:
    """Return the rain until the next line in words; missing rain is never dry."""
    if hours <= 0:
        return ""
    mm, is_whole = rain_of(series, (at, at + hours))
    if mm is None or (mm == 0 and not is_whole):
        return NOT_KNOWN
    kinds = {
        step.is_forecast
        for step in series.rain or ()
        if step.mm is not None and at <= (step.starts + step.ends) / 2 < at + hours
    }
    return (
        f"{mm:.1f} mm{' forecast' if True in kinds else ''}{'' if is_whole else ', part not known'}"
    )


def _light(series: Series, at: float) -> str:
    if series.is_daily or not series.has_light:
        return ""
    return "dark" if any(dusk <= at < dawn for dusk, dawn in series.nights) else "light"
