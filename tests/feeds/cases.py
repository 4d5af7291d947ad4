"""Every agency as tests need it: how a source is added, and invented answers in its shape."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.feeds.actions import add_feed
from tests.factories import make_gauge

GUID = "00000000-1111-2222-3333-444444444444"
META = {"publisher": "Environment Agency", "hasFormat": []}


@dataclass(frozen=True, kw_only=True)
class Case:
    """One agency, one series of it, and its answers by kind of request."""

    code: str
    quantity: str
    station: str = ""
    series: str = ""
    main: str  # the kind that brings the newest values
    kind_of: Callable  # from a request
    facts: Callable = lambda **changes: b""
    rows: Callable = lambda kind, rows: b""  # [(moment, value)]
    renamed: str  # a key of the main answer
    wrong_unit: Callable | None = None  # the main answer in another unit; None: it carries none

    def add(self, at, **changes):
        gauge = changes.pop("gauge", None) or make_gauge(altitude_m=38)
        return add_feed(
            gauge,
            self.code,
            self.quantity,
            station=self.station,
            series=self.series,
            at=at,
            **changes,
        )


def stamp(moment):
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}"


# --- MET Norway -----------------------------------------------------------------------------------


def metno(kind, rows, units=None):
    """One run issued at the last moment, rising by the values."""
    known = {
        "air_temperature": "celsius",
        "precipitation_amount": "mm",
        "wind_speed": "m/s",
        "wind_from_direction": "degrees",
        "cloud_area_fraction": "%",
    }
    issued = rows[-1][0]
    first = issued.replace(minute=0, second=0, microsecond=0)
    details = {
        "air_temperature": rows[-1][1],
        "wind_speed": 4.6,
        "wind_from_direction": 221.4,
        "cloud_area_fraction": 88.3,
    }
    hours = [
        {
            "time": stamp(first + timedelta(hours=k)),
            "data": {
                "instant": {"details": details},
                "next_1_hours": {"details": {"precipitation_amount": 0.2}},
            },
        }
        for k in range(4)
    ]
    return json.dumps(
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [-4.5, 57.5, 38]},
            "properties": {
                "meta": {"updated_at": stamp(issued), "units": known | (units or {})},
                "timeseries": hours,
            },
        }
    ).encode()


# --- KiWIS ----------------------------------------------------------------------------------------


def kiwis_facts(unit="m", begins="2026-01-01T00:00:00.000Z", series="90001010"):
    header = ["ts_id", "ts_shortname", "station_no", "station_name", "ts_unitsymbol", "from", "to"]
    row = [series, "15m.Cmd", "900001", "Invented Brig", unit, begins, begins]
    return json.dumps([header, row]).encode()


def kiwis_rows(kind, rows, unit="m", series="90001010"):
    data = [[f"{moment:%Y-%m-%dT%H:%M:%S}.000Z", value, 254] for moment, value in rows]
    block = {
        "ts_id": series,
        "ts_unitsymbol": unit,
        "rows": str(len(data)),
        "columns": "Timestamp,Value,Quality Code",
        "data": data,
    }
    return json.dumps([block]).encode()


def kiwis_kind(request):
    if request.args["request"] == "getTimeseriesList":
        return "facts"
    return {"PT6H": "latest", "P7D": "week"}.get(request.args.get("period"), "history")


# --- Environment Agency ---------------------------------------------------------------------------

MEASURE = "X0001-level-stage-i-15_min-mASD"
ROOT = "http://environment.data.gov.uk/flood-monitoring"


def floods_facts(unit="mASD", datum=12.34, notation=MEASURE):
    measure = {
        "notation": notation,
        "parameter": "level",
        "period": 900,
        "qualifier": "Stage",
        "unitName": unit,
        "datumType": f"{ROOT}/def/core/datumASD",
    }
    station = {"label": ["Invented Weir", "Weir"], "datumOffset": datum, "measures": measure}
    return json.dumps({"meta": META, "items": station}).encode()


def floods_rows(kind, rows):
    items = [
        {
            "dateTime": stamp(moment),
            "measure": f"{ROOT}/id/measures/{MEASURE}",
            "value": value,
        }
        for moment, value in reversed(rows)
    ]
    other = {"dateTime": stamp(rows[0][0]), "measure": f"{ROOT}/id/measures/Y-rain", "value": 0.0}
    return json.dumps({"meta": META, "items": [*items, other]}).encode()


def floods_kind(request):
    if request.path.endswith("/data/readings"):
        return "latest"
    if "/id/stations/" in request.path:
        return "facts"
    return "week"  # and history, in the same words


CHECKED = f"{GUID}-level-i-900-m-qualified"
HYDROLOGY = "http://environment.data.gov.uk/hydrology"


def hydrology_facts(unit="m"):
    measure = {
        "notation": CHECKED,
        "parameter": "level",
        "period": 900,
        "station": {"label": "Invented Weir"},
        "unitName": unit,
    }
    return json.dumps({"meta": META, "items": [measure]}).encode()


def hydrology_rows(kind, rows):
    items = [
        {
            "measure": {"@id": f"{HYDROLOGY}/id/measures/{CHECKED}"},
            "date": f"{moment:%Y-%m-%d}",
            "dateTime": f"{moment:%Y-%m-%dT%H:%M:%S}",
            "value": value,
            "quality": "Good",
        }
        for moment, value in rows
    ]
    return json.dumps({"meta": META, "items": items}).encode()


def hydrology_kind(request):
    if not request.path.endswith("/readings"):
        return "facts"
    first, last = (
        datetime.fromisoformat(request.args[name]) for name in ("mineq-date", "maxeq-date")
    )
    return "week" if last - first <= timedelta(days=8) else "history"


# --- Office of Public Works -----------------------------------------------------------------------


def opw_rows(kind, rows, header="datetime,value"):
    if kind != "latest":
        lines = [f"{moment:%Y-%m-%d %H:%M},{value:.3f}" for moment, value in rows]
        return "\n".join([header, *lines, ""]).encode()
    moment, value = rows[-1]
    features = [
        {
            "type": "Feature",
            "properties": {
                "station_ref": "0000025999",
                "sensor_ref": sensor,
                "datetime": stamp(moment),
                "value": text,
                "err_code": 99,
            },
        }
        for sensor, text in (("0001", f"{value:.3f}"), ("0003", "12.800"), ("OD", "31.205"))
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


CASES = (
    Case(
        code="metno",
        quantity="weather_run",
        main="latest",
        kind_of=lambda request: "latest",
        rows=metno,
        renamed="timeseries",
        wrong_unit=lambda rows: metno("latest", rows, {"air_temperature": "fahrenheit"}),
    ),
    Case(
        code="sepa",
        quantity="level_m",
        series="90001010",
        main="latest",
        kind_of=kiwis_kind,
        facts=kiwis_facts,
        rows=kiwis_rows,
        renamed="columns",
        wrong_unit=lambda rows: kiwis_rows("latest", rows, "ft"),
    ),
    Case(
        code="ea_floods",
        quantity="level_m",
        station="X0001",
        series=MEASURE,
        main="latest",
        kind_of=floods_kind,
        facts=floods_facts,
        rows=floods_rows,
        renamed="measure",
    ),
    Case(
        code="ea_hydrology",
        quantity="level_m",
        station=GUID,
        series=CHECKED,
        main="week",
        kind_of=hydrology_kind,
        facts=hydrology_facts,
        rows=hydrology_rows,
        renamed="quality",
    ),
    Case(
        code="opw",
        quantity="level_m",
        station="25999",
        series="0001",
        main="latest",
        kind_of=lambda request: "latest" if "geojson" in request.path else "week",
        rows=opw_rows,
        renamed="sensor_ref",
    ),
    Case(
        code="kiwis",
        quantity="level_m",
        series="90001010",
        main="latest",
        kind_of=kiwis_kind,
        facts=kiwis_facts,
        rows=kiwis_rows,
        renamed="data",
        wrong_unit=lambda rows: kiwis_rows("latest", rows, "cm"),
    ),
)
BY_CODE = {case.code: case for case in CASES}
