"""Ireland's Office of Public Works, waterlevel.ie: levels and water temperatures.

Published source: waterlevel.ie, API terms of use: one bulk read in 15 minutes at most, only
stations 1 to 41000 may be republished, and the office asks for a letter before automated use. The
CSV's header is from memory, so several spellings are known. Times are UTC.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from guiding.gauges.providers.agency import Agency, Ask, Kind
from guiding.gauges.providers.readings import (
    Missing,
    SeriesTold,
    Told,
    Wanted,
    gathered,
    in_our_unit,
)
from guiding.gauges.providers.shapes import (
    ShapeChanged,
    json_of,
    list_in,
    moment_in,
    moment_of,
    object_in,
    object_of,
    shown,
    text_in,
)

# 0001 is level above the gauge's own zero. OD, level above the national datum, is another quantity
# and never mixed in; 0003 is the battery.
SENSORS = {"0001": ("level_m", "m"), "0002": ("water_c", "°C")}
UNITS = {"level_m": {"m": "1"}, "water_c": {"°C": "1"}}
FINE = 99  # their error code for a good reading
MOST_STATION = 41_000
TIMES = ("datetime", "date", "timestamp", "time", "date time", "date/time")
VALUES = ("value", "level", "water level", "temperature", "water temperature")
AS_SENT = Decimal(1)


def _ask(kind: Kind, wanted: Sequence[Wanted], since: datetime, until: datetime) -> Ask:
    if kind is Kind.LATEST:
        return Ask(path="/geojson/latest/")
    (one,) = wanted
    return Ask(path=f"/data/month/{one.station}_{one.series}.csv")


def _rows(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesTold, ...]:
    if data.lstrip()[:1] in (b"{", b"[", b"<") or len(wanted) != 1:
        return _latest(data, wanted)
    (one,) = wanted
    return (_month(data, one),)


def _latest(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesTold, ...]:
    document = object_of(json_of(data), "the document")
    features = list_in(document, "features", "the document")
    found: dict[tuple[int, str], list[tuple[str, Any]]] = {}
    for number, feature in enumerate(features, start=1):
        where = f"features {number}"
        row = object_in(object_of(feature, where), "properties", where)
        station = text_in(row, "station_ref", f"{where}.properties")
        sensor = text_in(row, "sensor_ref", f"{where}.properties")
        if not (station.isascii() and station.isdigit()):
            raise ShapeChanged(f"{where}.properties.station_ref is {shown(station)}, not digits")
        found.setdefault((int(station), sensor), []).append((where, row))
    out = []
    for one in wanted:
        rows = found.get((int(one.station), one.series), [])
        if rows:
            out.append(gathered(one, rows, _told))
    return tuple(out)


def _told(row: dict[str, Any], one: Wanted) -> Told:
    code = row.get("err_code")
    if isinstance(code, bool) or not isinstance(code, int):
        raise ValueError(f"err_code is {shown(code)}; a whole number is what is known")
    if code != FINE:
        raise Missing  # the sensor was not well, and the office says so
    text = text_in(row, "value", "row")
    moment = moment_in(row, "datetime", "row")
    return Told(observed_at=moment, value=in_our_unit(text, AS_SENT, is_text=True))


def _month(data: bytes, one: Wanted) -> SeriesTold:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ShapeChanged(f"the file is not UTF-8 text: {error}") from error
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        raise ShapeChanged("the file is empty")
    mark = ";" if ";" in lines[0] else ","
    header = [cell.strip().lower() for cell in lines[0].split(mark)]
    unit = SENSORS[one.series][1].lower()
    values = {*VALUES, *(f"{name} ({unit})" for name in VALUES)}
    time_at = [place for place, name in enumerate(header) if name in TIMES]
    value_at = [place for place, name in enumerate(header) if name in values]
    if len(time_at) != 1 or len(value_at) != 1:
        raise ShapeChanged(f"the header is {shown(lines[0])}; datetime,value is what is known")
    reader = csv.reader(io.StringIO("\n".join(lines[1:])), delimiter=mark)
    try:
        rows = [(f"line {number}", row) for number, row in enumerate(reader, start=2)]
    except csv.Error as error:
        raise ShapeChanged(f"the file is not rows of cells: {error}") from error

    def told(row: list[str], one: Wanted) -> Told:
        if len(row) != len(header):
            raise ValueError(f"{len(row)} cells; the header has {len(header)}")
        if not row[value_at[0]].strip():
            raise Missing
        moment = moment_of(row[time_at[0]].strip(), zone=UTC)
        value = in_our_unit(row[value_at[0]].strip(), AS_SENT, is_text=True)
        return Told(observed_at=moment, value=value)

    return gathered(one, rows, told)


def _fits(wanted: Wanted) -> str:
    if not 1 <= int(wanted.station) <= MOST_STATION:
        return (
            f"station is {wanted.station}; only stations 00001 to {MOST_STATION} may be republished"
        )
    told = SENSORS[wanted.series][0]
    if told != wanted.quantity:
        return f"sensor {wanted.series} tells {told}, not {wanted.quantity}"
    return ""


AGENCY = Agency(
    code="opw",
    name="Office of Public Works, waterlevel.ie",
    licence="Creative Commons Attribution 4.0",
    licence_url="https://creativecommons.org/licenses/by/4.0/",
    credit=(
        "Contains Irish Public Sector Information, licensed CC BY 4.0, source waterlevel.ie, "
        "Office of Public Works"
    ),
    wishes=(
        "before automated use the office asks for a letter to waterlevel@opw.ie that says from "
        "which address it will be asked"
    ),
    base="https://waterlevel.ie",
    least_minutes=15,
    requests_a_day=1_000,
    kinds=(Kind.LATEST, Kind.WEEK),  # the month's file is both the last days and all the history
    in_one=(Kind.LATEST,),
    units=UNITS,
    station_form=r"[0-9]{5}",
    series_form="|".join(SENSORS),
    form_words="a station is five digits such as 25999, its sensor 0001 (level) or 0002 (water)",
    make_ask=_ask,
    read_rows=_rows,
    fits=_fits,
    fixed_unit=lambda series: SENSORS[series][1],
)
