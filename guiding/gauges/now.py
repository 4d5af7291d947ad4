"""What a river is doing now, in a sentence and a picture, for every page that shows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from guiding.charts.river import river_chart
from guiding.charts.river_table import RiverRow, river_table
from guiding.gauges.forecast_remarks import SILENT, other_water
from guiding.gauges.forecasting import newest_forecast
from guiding.gauges.hydrology.record import DAY_MINUTES, ForecastRecord, MarkLevel
from guiding.gauges.levels import has_levels_from_flow, level_source_words, levels_of, newest_level
from guiding.gauges.models import Forecast, Gauge, Mark
from guiding.gauges.outlook_sentence import outlook_sentence
from guiding.gauges.outlook_words import age_words, chance_words, last_words, likely_words
from guiding.gauges.picture import river_picture, shown_span
from guiding.gauges.rain_now import rain_now
from guiding.gauges.skill import POOR, record_remark
from guiding.gauges.troubles import troubles_of
from guiding.gauges.water_words import water_words

SHOWN_AHEAD = timedelta(hours=24)
OUTLOOK_AHEAD = timedelta(days=5)
READ_BEHIND = timedelta(days=16)
FROM_FLOW = "worked out from flow"

Levels = tuple[tuple[datetime, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkRow:
    """One mark with its chances in words."""

    name: str
    level: str
    seen: str
    passing: str  # "rise above" or "fall below"
    p24: str
    p48: str
    p120: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InputRow:
    """One thing the forecast was made from, its age in words."""

    what: str
    observed_at: datetime | None
    age: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverNow:
    """One gauge as a page shows it: the answer first, then the picture, then the table."""

    gauge: Gauge
    sentence: str
    detail: str
    water: tuple[str, ...]
    troubles: tuple[str, ...]  # what is wrong with the sources
    record_remark: str  # how good we have been here, where that must be said
    is_stale: bool
    not_known: str  # why nothing is forecast, if so
    age: str  # how old the newest level is, in words
    forecast_age: str
    wide_chart: str
    phone_chart: str
    legend: str
    table: tuple[RiverRow, ...]
    marks: tuple[MarkRow, ...]
    forecast: Forecast | None
    record: ForecastRecord | None
    inputs: tuple[InputRow, ...]
    levels: Levels
    last: tuple[datetime, float] | None
    level_source: str

    @property
    def is_daily(self) -> bool:
        """Say whether a level is the mean of a day."""
        return self.gauge.step_minutes == DAY_MINUTES


def river_now(gauge: Gauge, at: datetime) -> RiverNow:
    """Read a gauge's last days and its newest forecast; what is not known is said, never filled."""
    zone = gauge.river.zoneinfo
    is_daily = gauge.step_minutes == DAY_MINUTES
    read = levels_of(gauge, since=at - READ_BEHIND, until=at)
    levels = tuple(read or newest_level(gauge, at))
    forecast = newest_forecast(gauge, at)
    is_stale = _is_stale(gauge, levels, forecast, at)
    record = forecast.as_record() if forecast and not is_stale else None
    troubles = troubles_of(gauge)
    marks_hold = gauge.marks_suspended_since is None
    rows = tuple(mark for mark in gauge.marks.all() if marks_hold and mark.beat_id is None)
    marks = tuple(row.as_level() for row in rows)
    since, _ = shown_span(at, step_minutes=gauge.step_minutes, ahead=OUTLOOK_AHEAD)
    rain = rain_now(gauge, since, at)
    source = level_source_words(gauge)
    is_from_flow = has_levels_from_flow(gauge)
    not_known = _not_known(record, levels, forecast, is_stale, at)
    sentence = outlook_sentence(record, levels, marks if marks_hold else None, rain, at, zone)
    if not_known:
        doing = "is doing" if is_stale else "will do"
        sentence = f"What the river {doing} is not known: {not_known}."
    picture = river_picture(
        levels=levels,
        record=record,
        marks=marks,
        zone=zone,
        at=at,
        step_minutes=gauge.step_minutes,
        ahead=OUTLOOK_AHEAD,
        rain=rain,
        place=(gauge.latitude, gauge.longitude),
        level_words=FROM_FLOW if is_from_flow else "measured",
    )
    said = (
        last_words(levels, zone, is_daily=is_daily),
        f"These levels are {source}." if is_from_flow else "",
        likely_words(record, at + SHOWN_AHEAD, zone),
        *(line for line in (record.says if record else ()) if _is_detail(line, not_known)),
        *other_water(gauge),
    )
    return RiverNow(
        gauge=gauge,
        sentence=sentence,
        detail=" ".join(dict.fromkeys(line for line in said if line)),
        water=water_words(record, at, zone),
        troubles=troubles,
        record_remark=record_remark(gauge, at),
        is_stale=is_stale,
        not_known=not_known,
        age=_level_age(levels, at, is_daily=is_daily),
        forecast_age=_age(forecast.issued_at, at) if forecast else "",
        wide_chart=_chart(gauge, picture, sentence, marks, 736, 400, "page"),
        phone_chart=_chart(gauge, picture, sentence, marks, 358, 460, "phone"),
        legend=_legend(picture, is_daily=is_daily),
        table=tuple(river_table(picture)),
        marks=tuple(_mark_row(row, None if is_stale else forecast) for row in rows),
        forecast=forecast,
        record=record,
        inputs=tuple(
            InputRow(
                what=given.what,
                observed_at=given.observed_at,
                age=age_words(given.age_hours),
                source=given.source,
            )
            for given in (record.inputs if record else ())
        ),
        levels=levels,
        last=levels[-1] if levels else None,
        level_source=source,
    )


def _is_stale(gauge: Gauge, levels: Levels, forecast: Forecast | None, at: datetime) -> bool:
    """Say whether what is on file is too old to be shown as what the river does now."""
    silent = SILENT[gauge.step_minutes]
    if not levels:
        return False  # nothing is on file, and that is said
    return at - levels[-1][0] > silent or (
        forecast is not None and at - forecast.issued_at > silent
    )


def _stale_because(levels: Levels, forecast: Forecast | None, at: datetime) -> str:
    if forecast is not None and forecast.issued_at < levels[-1][0]:
        return f"the newest forecast is {_age(forecast.issued_at, at)} old"
    return f"the newest level is {_age(levels[-1][0], at)} old"


def _age(moment: datetime, at: datetime) -> str:
    return age_words((at - moment).total_seconds() / 3600)


def _mark_row(mark: Mark, forecast: Forecast | None) -> MarkRow:
    """Return one mark's line; without a forecast every chance is not known."""
    known = {row["name"]: row for row in forecast.marks} if forecast else {}
    row = known.get(mark.get_kind_display(), {})

    def words(share: float | None) -> str:
        return "not known" if share is None else chance_words(share)

    return MarkRow(
        name=mark.get_kind_display(),
        level=f"{mark.level_m:.2f} m",
        seen=mark.seen,
        passing=str(row.get("direction", "")).replace("_", " "),
        p24=words(row.get("p24")),
        p48=words(row.get("p48")),
        p120=words(row.get("p120")),
    )


def _not_known(
    record: ForecastRecord | None,
    levels: Levels,
    forecast: Forecast | None,
    is_stale: bool,
    at: datetime,
) -> str:
    """Return why nothing is forecast, for behind "not known: ", or an empty text."""
    if is_stale:
        return _stale_because(levels, forecast, at)
    if record is None:
        return "no forecast has been issued"
    if record.paths is not None and np.isfinite(record.paths).any():
        return ""
    return _because(record.says[0]) if record.says else "the forecast says nothing"


def _is_detail(line: str, not_known: str) -> bool:
    """Say whether a line of the forecast is told nowhere else on the page."""
    return _because(line) != not_known and not line.startswith(POOR)


def _because(line: str) -> str:
    return line.removeprefix("Not known: ").rstrip(".")


def _level_age(levels: Levels, at: datetime, *, is_daily: bool) -> str:
    """Return how old the newest level is; a day's mean is as old as the end of its day."""
    if not levels:
        return ""
    known_at = levels[-1][0] + (timedelta(days=1) if is_daily else timedelta(0))
    return _age(min(known_at, at), at)


def _chart(
    gauge: Gauge,
    picture: dict[str, Any],
    sentence: str,
    marks: tuple[MarkLevel, ...],
    width: float,
    height: float,
    layout: str,
) -> str:
    named = ", ".join(f"{mark.level_m:.2f} m {mark.seen or mark.name}" for mark in marks)
    return river_chart(
        picture,
        width=width,
        height=height,
        layout=layout,
        title=f"{gauge.name}: rain, and level measured and forecast",
        description=f"{sentence} Marks: {named or 'none on file'}.",
    )


def _legend(picture: dict[str, Any], *, is_daily: bool) -> str:
    """Return what each kind of line and ground in the picture means."""
    nights = picture.get("nights")
    dark = " Grey, with a bar along the foot: dark." if nights else ""
    if nights == ():
        dark = " It does not get dark in these days."
    elif nights == ((picture["shown_from"], picture["shown_to"]),):
        dark = " It stays dark in all of these days."
    mean = " Each point is the mean of a day." if is_daily else ""
    return (
        f"Solid: {picture['level_words']}. Dashed: forecast, worked out. Hatched: four times in "
        f"five it lies in here. Dotted: your marks.{dark}{mean} On top, rain: filled bars "
        f"measured, outlined bars forecast, each as wide as the hours it was given for; the sum of "
        f"each day in mm. A question mark or a plus: all or part of it is not known."
    )
