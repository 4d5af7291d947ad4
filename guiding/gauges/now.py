"""What a river is doing now, in a sentence and a picture, for every page that shows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.charts.river import RiverRow, river_chart, river_table
from guiding.gauges.forecast_remarks import SILENT, other_water
from guiding.gauges.forecasting import newest_forecast
from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.levels import level_source_words, levels_of
from guiding.gauges.models import Forecast, Gauge, Mark
from guiding.gauges.outlook_words import age_words, chance_words, river_sentence
from guiding.gauges.picture import river_picture

SHOWN_AHEAD = timedelta(hours=24)
READ_BEHIND = timedelta(days=16)

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
    is_stale: bool
    age: str  # how old the newest level is, in words
    forecast_age: str
    wide_chart: str
    phone_chart: str
    table: tuple[RiverRow, ...]
    marks: tuple[MarkRow, ...]
    forecast: Forecast | None
    record: ForecastRecord | None
    inputs: tuple[InputRow, ...]
    last: tuple[datetime, float] | None
    level_source: str


def river_now(gauge: Gauge, at: datetime) -> RiverNow:
    """Read a gauge's last days and its newest forecast; what is not known is said, never filled."""
    zone = gauge.river.zoneinfo
    levels = tuple(levels_of(gauge, since=at - READ_BEHIND, until=at))
    forecast = newest_forecast(gauge, at)
    is_stale = _is_stale(gauge, levels, forecast, at)
    record = forecast.as_record() if forecast and not is_stale else None
    rows = tuple(mark for mark in gauge.marks.all() if mark.beat_id is None)
    marks = tuple(row.as_level() for row in rows)
    sentence, detail = river_sentence(record, levels, marks, at, at + SHOWN_AHEAD, zone)
    if is_stale:
        sentence = f"What the river is doing is not known: {_stale_because(levels, forecast, at)}."
    picture = river_picture(
        levels=levels,
        record=record,
        marks=marks,
        zone=zone,
        at=at,
        step_minutes=gauge.step_minutes,
    )
    title = f"{gauge.name}: level measured and forecast"
    return RiverNow(
        gauge=gauge,
        sentence=sentence,
        detail=" ".join((detail, *other_water(gauge))),
        is_stale=is_stale,
        age=_age(levels[-1][0], at) if levels else "",
        forecast_age=_age(forecast.issued_at, at) if forecast else "",
        wide_chart=river_chart(
            picture, width=736, height=340, layout="page", title=title, description=sentence
        ),
        phone_chart=river_chart(
            picture, width=358, height=360, layout="phone", title=title, description=sentence
        ),
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
        last=levels[-1] if levels else None,
        level_source=level_source_words(gauge),
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
