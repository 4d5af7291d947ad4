"""The Environment Agency's Hydrology API: checked records and some water temperatures of England.

Published source: Environment Agency, Hydrology API, reference (quality flags; the last days once a
day rather than the newest again and again). Times carry no zone; that they are GMT is from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from guiding.gauges.providers.agency import Agency, Ask, Kind
from guiding.gauges.providers.ea_floods import one_or_many, tail
from guiding.gauges.providers.readings import (
    Missing,
    SeriesFacts,
    SeriesTold,
    Told,
    Wanted,
    factor,
    gathered,
    in_our_unit,
)
from guiding.gauges.providers.shapes import (
    ShapeChanged,
    json_of,
    list_in,
    moment_in,
    object_in,
    object_of,
    shown,
    text_in,
)

UNITS = {
    "level_m": {"m": "1"},
    "flow_m3s": {"m3/s": "1"},
    "rain_mm": {"mm": "1"},
    "water_c": {"oC": "1", "°C": "1"},
}
PARAMETERS = {
    "level_m": "level",
    "flow_m3s": "flow",
    "rain_mm": "rainfall",
    "water_c": "temperature",
}
QUALITIES = ("Good", "Estimated", "Suspect", "Unchecked", "Missing")
DAY_MINUTES = 1440


def _ask(kind: Kind, wanted: Sequence[Wanted], since: datetime, until: datetime) -> Ask:
    (one,) = wanted
    if kind is Kind.FACTS:
        return Ask(path="/id/measures", query=(("station", one.station),))
    span = (("mineq-date", f"{since:%Y-%m-%d}"), ("maxeq-date", f"{until:%Y-%m-%d}"))
    return Ask(path=f"/id/measures/{one.series}/readings", query=(*span, ("_limit", "100000")))


def _rows(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesTold, ...]:
    (one,) = wanted
    document = object_of(json_of(data), "the document")
    object_in(document, "meta", "the document")
    items = list_in(document, "items", "the document")
    rows = [(f"items {number}", item) for number, item in enumerate(items, start=1)]
    return (gathered(one, rows, _told),)


def _told(row: dict[str, Any], one: Wanted) -> Told:
    whose = tail(text_in(object_in(row, "measure", "row"), "@id", "row.measure"))
    if whose != one.series:
        raise ValueError(f"row.measure is {shown(whose)}; {one.series} was asked for")
    moment = moment_in(row, "dateTime", "row", zone=UTC)
    quality = text_in(row, "quality", "row")
    if quality not in QUALITIES:
        raise ValueError(f"row.quality is {shown(quality)}; one of {', '.join(QUALITIES)} is known")
    if quality == "Missing":
        raise Missing
    if "value" not in row:
        raise ValueError(f"row.value is missing, but its quality is {quality}")
    if one.quantity == "rain_mm" and row.get("completeness", "Complete") != "Complete":
        raise ValueError(f"the total is {shown(row['completeness'])}, so it is no total")
    by = factor(UNITS, one.quantity, one.unit, "unit")
    value = in_our_unit(row["value"], by)
    return Told(observed_at=moment, value=value, code=quality, is_suspect=quality == "Suspect")


def _facts(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesFacts, ...]:
    (one,) = wanted
    document = object_of(json_of(data), "the document")
    if "items" not in document:
        raise ShapeChanged("the document.items is missing")
    for number, entry in enumerate(one_or_many(document["items"], "the document.items"), start=1):
        where = f"items {number}"
        measure = object_of(entry, where)
        if text_in(measure, "notation", where) != one.series:
            continue
        parameter = text_in(measure, "parameter", where)
        if parameter != PARAMETERS[one.quantity]:
            raise ShapeChanged(
                f"{where}.parameter is {parameter!r}; {one.quantity} is read from "
                f"{PARAMETERS[one.quantity]!r}"
            )
        unit = text_in(measure, "unitName", where)
        period = measure.get("period")
        name = object_in(measure, "station", where).get("label")
        return (
            SeriesFacts(
                wanted=one,
                unit=unit,
                name=name if isinstance(name, str) else "",
                step_minutes=period // 60 if isinstance(period, int) and period >= 60 else None,
            ),
        )
    return ()


AGENCY = Agency(
    code="ea_hydrology",
    name="Environment Agency, hydrology",
    licence="Open Government Licence v3.0",
    licence_url="https://www.nationalarchives.gov.uk/doc/open-government-licence/version/3/",
    credit="Uses Environment Agency hydrology data, Open Government Licence v3.0",
    base="https://environment.data.gov.uk/hydrology",
    least_minutes=60,
    requests_a_day=500,
    kinds=(Kind.FACTS, Kind.WEEK, Kind.HISTORY),
    units=UNITS,
    station_form=r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}",
    series_form=r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}-[A-Za-z0-9_.-]{3,80}",
    form_words=(
        "a station is written as 00000000-1111-2222-3333-444444444444, a measure as that and "
        "-level-i-900-m-qualified after it"
    ),
    make_ask=_ask,
    fits=lambda wanted: (
        ""
        if wanted.series.startswith(f"{wanted.station}-")
        else f"measure {wanted.series[:60]!r} is not one of station {wanted.station!r}"
    ),
    read_rows=_rows,
    read_facts=_facts,
    history=timedelta(days=366 * 40),
    history_a_time=timedelta(days=180),
)
