"""The Environment Agency's real-time flood-monitoring API: levels, flow and rain of England.

Published source: Environment Agency, Real Time flood-monitoring API, reference (UTC; one request
for the newest of everything rather than one a station; readings of about 28 days).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from guiding.gauges.providers.agency import Agency, Ask, Kind
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
    list_of,
    moment_in,
    object_in,
    object_of,
    text_in,
)

# level above a national datum (mAOD) is another quantity and never mixed in
UNITS = {
    "level_m": {"mASD": "1", "m": "1"},
    "flow_m3s": {"m3/s": "1", "l/s": "0.001"},
    "rain_mm": {"mm": "1"},
}
PARAMETERS = {
    "level_m": ("level", ("Stage", "Downstream Stage")),
    "flow_m3s": ("flow", ()),
    "rain_mm": ("rainfall", ()),
}
MOST_ROWS = "10000"  # the agency's own ceiling


def one_or_many(value: Any, where: str) -> list[Any]:
    """Return a list; this agency sends a lone thing without one."""
    return [value] if isinstance(value, dict) else list_of(value, where)


def first_text(value: Any) -> str:
    """Return a name; this agency sends several names as a list."""
    if isinstance(value, list):
        value = value[0] if value else ""
    return value if isinstance(value, str) else ""


def tail(address: str) -> str:
    """Return the last part of an identifier that is written as an address."""
    return address.rstrip("/").rpartition("/")[2]


def _ask(kind: Kind, wanted: Sequence[Wanted], since: datetime, until: datetime) -> Ask:
    if kind is Kind.LATEST:
        return Ask(path="/data/readings", query=(("latest", None), ("_limit", MOST_ROWS)))
    (one,) = wanted
    if kind is Kind.FACTS:
        return Ask(path=f"/id/stations/{one.station}")
    told_since = f"{since.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    query = (("since", told_since), ("_sorted", None), ("_limit", MOST_ROWS))
    return Ask(path=f"/id/measures/{one.series}/readings", query=query)


def _rows(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesTold, ...]:
    document = object_of(json_of(data), "the document")
    object_in(document, "meta", "the document")
    if "items" not in document:
        raise ShapeChanged("the document.items is missing")
    items = one_or_many(document["items"], "the document.items")
    by_series: dict[str, list[tuple[str, Any]]] = {one.series: [] for one in wanted}
    for number, item in enumerate(items, start=1):
        place = f"items {number}"
        # without it nobody can tell whose row this is: it may be one of ours
        series = tail(text_in(object_of(item, place), "measure", place))
        if series in by_series:
            by_series[series].append((place, item))
    if items and not any("value" in item for item in items):
        raise ShapeChanged(f"none of {len(items)} items has a value")
    return tuple(
        gathered(one, by_series[one.series], _told) for one in wanted if by_series[one.series]
    )


def _told(row: dict[str, Any], one: Wanted) -> Told:
    moment = moment_in(row, "dateTime", "row")
    if "value" not in row:
        raise Missing
    by = factor(UNITS, one.quantity, one.unit, "unit")
    return Told(observed_at=moment, value=in_our_unit(row["value"], by))


def _facts(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesFacts, ...]:
    (one,) = wanted
    document = object_of(json_of(data), "the document")
    found = one_or_many(document.get("items"), "the document.items")
    if not found:
        return ()
    station = object_of(found[0], "the document.items")
    measures = one_or_many(station.get("measures"), "items.measures")
    for number, entry in enumerate(measures, start=1):
        where = f"items.measures {number}"
        measure = object_of(entry, where)
        if text_in(measure, "notation", where) != one.series:
            continue
        parameter, qualifiers = PARAMETERS[one.quantity]
        met = (text_in(measure, "parameter", where), measure.get("qualifier", ""))
        if met[0] != parameter or (qualifiers and met[1] not in qualifiers):
            raise ShapeChanged(
                f"{where} is {met[0]} {met[1]!r}; {one.quantity} is read from {parameter} "
                f"{' or '.join(qualifiers)}".rstrip()
            )
        unit = text_in(measure, "unitName", where)
        period = measure.get("period")
        return (
            SeriesFacts(
                wanted=one,
                unit=unit,
                name=first_text(station.get("label")),
                datum=_datum(station, measure) if one.quantity == "level_m" else "",
                step_minutes=period // 60 if isinstance(period, int) and period >= 60 else None,
            ),
        )
    return ()


def _datum(station: dict[str, Any], measure: dict[str, Any]) -> str:
    """Return nought of the scale: what it is, and how high above the national datum it lies."""
    scale = station.get("stageScale")  # an object here, but only its address in a list of stations
    height = station.get("datumOffset")
    if height is None and isinstance(scale, dict):
        height = scale.get("datum")
    parts = [tail(first_text(measure.get("datumType"))), "" if height is None else f"{height}"]
    return " ".join(part for part in parts if part)


def _fits(wanted: Wanted) -> str:
    if wanted.series.startswith(f"{wanted.station}-"):
        return ""
    return f"measure {wanted.series[:60]!r} is not one of station {wanted.station!r}"


AGENCY = Agency(
    code="ea_floods",
    name="Environment Agency, flood-monitoring",
    licence="Open Government Licence v3.0",
    licence_url="https://www.nationalarchives.gov.uk/doc/open-government-licence/version/3/",
    credit=(
        "Uses Environment Agency flood and river level data from the real-time data API (Beta), "
        "Open Government Licence v3.0"
    ),
    base="https://environment.data.gov.uk/flood-monitoring",
    least_minutes=15,
    requests_a_day=1_000,
    kinds=(Kind.FACTS, Kind.LATEST, Kind.WEEK, Kind.HISTORY),
    in_one=(Kind.LATEST,),
    units=UNITS,
    station_form=r"[A-Za-z0-9_]{2,40}",
    series_form=r"[A-Za-z0-9_.,%-]{5,120}",
    form_words=(
        "a station reference is like X0001, a measure like X0001-level-stage-i-15_min-mASD"
    ),
    make_ask=_ask,
    fits=_fits,
    read_rows=_rows,
    read_facts=_facts,
    history=timedelta(days=28),
    history_a_time=timedelta(days=28),
)
