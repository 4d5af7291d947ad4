"""KiWIS, the time-series service that several agencies run: one client for all of them.

Published source: SEPA, time series data service (API), documentation: requests, returned fields,
moments in GMT. `sepa.py` is that agency; `AGENCY` here is any other server somebody adds.
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
    list_in,
    list_of,
    moment_of,
    object_of,
    shown,
    text_in,
)

UNITS = {
    "level_m": {"m": "1", "cm": "0.01", "mm": "0.001"},
    "flow_m3s": {"m³/s": "1", "m3/s": "1"},
    "water_c": {"°C": "1"},
    "air_c": {"°C": "1"},
    "rain_mm": {"mm": "1"},
    "turbidity_ntu": {"NTU": "1", "FNU": "1"},
}
ALWAYS = (
    ("service", "kisters"),
    ("type", "queryServices"),
    ("datasource", "0"),
    ("format", "json"),
)
FACTS = "ts_id,ts_shortname,station_no,station_name,ts_unitsymbol,coverage"
COLUMNS = "Timestamp,Value,Quality Code"
NOTHING = ["No matches."]
NOT_MEASURED = (-1,)  # the one quality code whose meaning is relied upon, from memory


def ask(kind: Kind, wanted: Sequence[Wanted], since: datetime, until: datetime) -> Ask:
    """Ask for a list of series, or for the values of as many as are wanted."""
    series = ("ts_id", ",".join(one.series for one in wanted))
    if kind is Kind.FACTS:
        which = (("request", "getTimeseriesList"), series, ("returnfields", FACTS))
        return Ask(query=(*ALWAYS, *which))
    span: tuple[tuple[str, str], ...] = (("period", "P7D" if kind is Kind.WEEK else "PT6H"),)
    if kind is Kind.HISTORY:
        span = (("from", _moment(since)), ("to", _moment(until)))
    which = (("request", "getTimeseriesValues"), series, ("returnfields", COLUMNS))
    with_unit = (("metadata", "true"), ("md_returnfields", "ts_unitsymbol"))
    return Ask(query=(*ALWAYS, *which, *span, *with_unit))


def _moment(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%S}"


def answer_of(data: bytes) -> list[Any]:
    """Return the list that an answer is; what the server says instead is said."""
    document = json_of(data)
    if isinstance(document, dict) and document.get("type") == "error":
        said = f"{document.get('code')}: {document.get('message')}"[:200]
        raise ShapeChanged(f"the service answers with an error: {said}")
    return [] if document == NOTHING else list_of(document, "the document")


def rows(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesTold, ...]:
    """Read the values of several series."""
    ours = {one.series: one for one in wanted}
    out = []
    for number, entry in enumerate(answer_of(data), start=1):
        where = f"series {number}"
        block = object_of(entry, where)
        series = text_in(block, "ts_id", where)
        columns = text_in(block, "columns", where)
        if columns != COLUMNS:
            raise ShapeChanged(f"{where}.columns is {shown(columns)}; {COLUMNS!r} is what is known")
        data_rows = list_in(block, "data", where)
        said = text_in(block, "rows", where)
        if said != str(len(data_rows)):
            raise ShapeChanged(f"{where}.rows is {said!r}, but {len(data_rows)} rows came")
        if series not in ours:
            continue
        one = ours[series]
        if block.get("ts_unitsymbol", one.unit) != one.unit:
            raise ShapeChanged(
                f"{where}.ts_unitsymbol is {shown(block['ts_unitsymbol'])}; {one.unit!r} was "
                "confirmed"
            )
        placed = [(f"{where} row {place}", row) for place, row in enumerate(data_rows, start=1)]
        out.append(gathered(one, placed, _told))
    return tuple(out)


def _told(row: Any, one: Wanted) -> Told:
    if not isinstance(row, list) or len(row) != 3:
        raise ValueError(f"{shown(row)} is not [timestamp, value, code]")
    moment, value, code = row
    observed_at = moment_of(moment)
    if code is not None and (isinstance(code, bool) or not isinstance(code, int)):
        raise ValueError(f"quality code {shown(code)} is not a whole number")
    if value is None or code in NOT_MEASURED:
        raise Missing
    by = factor(UNITS, one.quantity, one.unit, "unit")
    return Told(
        observed_at=observed_at,
        value=in_our_unit(value, by),
        code="" if code is None else str(code),
    )


def facts(data: bytes, wanted: Sequence[Wanted]) -> tuple[SeriesFacts, ...]:
    """Read what several series are: a header row, then one row a series, every cell a text."""
    table = answer_of(data)
    if not table:
        return ()
    header = list_of(table[0], "the header")
    missed = [
        name for name in FACTS.replace("coverage", "from,to").split(",") if name not in header
    ]
    if missed:
        raise ShapeChanged(f"the header has no {missed[0]}")
    ours = {one.series: one for one in wanted}
    out = []
    for number, entry in enumerate(table[1:], start=1):
        cells = list_of(entry, f"row {number}")
        if len(cells) != len(header):
            raise ShapeChanged(f"row {number} has {len(cells)} cells; the header has {len(header)}")
        row = dict(zip(header, cells, strict=True))
        if not all(isinstance(cell, str) for cell in cells):
            raise ShapeChanged(f"row {number} has a cell that is not a text")
        if row["ts_id"] not in ours:
            continue
        one = ours[row["ts_id"]]
        out.append(
            SeriesFacts(
                wanted=one,
                unit=row["ts_unitsymbol"],
                name=f"{row['station_name']} ({row['ts_shortname']})",
                begins_at=_begins(row["from"], f"row {number}.from"),
            )
        )
    return tuple(out)


def _begins(text: str, where: str) -> datetime | None:
    if not text:
        return None  # nothing has been recorded yet
    try:
        return moment_of(text)
    except ValueError as error:
        raise ShapeChanged(f"{where} is {error}; a moment in UTC is what is known") from error


def client(
    *,
    code: str,
    name: str,
    licence: str,
    licence_url: str,
    credit: str,
    base: str,
    requests_a_day: int,
    wishes: str = "",
) -> Agency:
    """Return an agency that runs this service."""
    return Agency(
        code=code,
        name=name,
        licence=licence,
        licence_url=licence_url,
        credit=credit,
        base=base,
        least_minutes=15,
        requests_a_day=requests_a_day,
        wishes=wishes,
        kinds=(Kind.FACTS, Kind.LATEST, Kind.WEEK, Kind.HISTORY),
        in_one=(Kind.FACTS, Kind.LATEST, Kind.WEEK),
        units=UNITS,
        series_form=r"[0-9]{1,20}",
        form_words="a series is its ts_id, digits only, such as 90001010",
        make_ask=ask,
        read_rows=rows,
        read_facts=facts,
        history=timedelta(days=366 * 40),
    )


AGENCY = client(
    code="kiwis",
    name="a KiWIS server",
    licence="as its owner says",
    licence_url="",
    credit="",
    base="",
    requests_a_day=300,
)
