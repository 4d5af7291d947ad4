"""Each agency's documents read: names and units become ours, and what drifts is never silent.

Invented values in documented shapes: see tests/data/feeds/SOURCES.txt.
"""

import copy
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from guiding.gauges.providers import kiwis, metno
from guiding.gauges.providers.agencies import AGENCIES, BY_CODE
from guiding.gauges.providers.agency import Kind
from guiding.gauges.providers.readings import Wanted
from guiding.gauges.providers.shapes import ShapeChanged, json_of
from tests.feeds.cases import GUID

DATA = Path(__file__).parents[1] / "data" / "feeds"
SINCE, UNTIL = datetime(2026, 11, 17, 9, 30, tzinfo=UTC), datetime(2026, 11, 24, 9, 30, tzinfo=UTC)

FLOODS = Wanted(
    station="X0001",
    series="X0001-level-stage-i-15_min-mASD",
    quantity="level_m",
    unit="mASD",
)
FLOODS_FLOW = Wanted(
    station="X0001", series="X0001-flow--i-15_min-m3_s", quantity="flow_m3s", unit="m3/s"
)
CHECKED = Wanted(
    station=GUID, series=f"{GUID}-level-i-900-m-qualified", quantity="level_m", unit="m"
)
SEPA = Wanted(series="90001010", quantity="level_m", unit="m")
SEPA_FLOW = Wanted(series="90002010", quantity="flow_m3s", unit="m³/s")
OPW = Wanted(station="25999", series="0001", quantity="level_m", unit="m")
OPW_WATER = Wanted(station="25999", series="0002", quantity="water_c", unit="°C")


def data(name):
    return (DATA / name).read_bytes()


def at(hour, minute, day=24):
    return datetime(2026, 11, day, hour, minute, tzinfo=UTC)


def plain(series):
    return [(row.observed_at, row.value) for row in series.told]


# --- what each says, in our words -----------------------------------------------------------------


def test_floods_tell_the_newest_of_everything_and_odd_values_are_put_aside():
    level, flow = BY_CODE["ea_floods"].read_rows(data("ea_readings.json"), (FLOODS, FLOODS_FLOW))

    assert plain(level) == [(at(9, 15), 0.612)]
    assert (level.missing, level.rows) == (1, 3)
    assert [row.place for row in level.refused] == ["items 2"]
    assert "[0.608, 0.611] is not a number" in level.refused[0].why
    assert plain(flow) == [(at(9, 15), 14.2)]


def test_floods_say_what_a_measure_is_and_where_its_nought_lies():
    (facts,) = BY_CODE["ea_floods"].read_facts(data("ea_station_detail.json"), (FLOODS,))

    assert (facts.unit, facts.datum, facts.step_minutes) == ("mASD", "datumASD 12.34", 15)
    assert facts.name == "Invented Weir"
    (flow,) = BY_CODE["ea_floods"].read_facts(data("ea_station_detail.json"), (FLOODS_FLOW,))
    assert (flow.unit, flow.datum) == ("m3/s", "")


def test_floods_are_read_though_names_are_lists_the_scale_an_address_and_a_lone_thing_no_list():
    document = json.loads(data("ea_station_detail.json"))
    station = document["items"]
    station["label"] = ["Two Names Bridge", "Two Names Br"]
    station["stageScale"] = station["stageScale"]["@id"]
    station["measures"] = station["measures"][0]
    document["items"] = [station]

    (facts,) = BY_CODE["ea_floods"].read_facts(json.dumps(document).encode(), (FLOODS,))

    assert (facts.name, facts.datum) == ("Two Names Bridge", "datumASD 12.34")


def test_the_scale_says_the_datum_where_the_station_does_not():
    document = json.loads(data("ea_station_detail.json"))
    del document["items"]["datumOffset"]

    (facts,) = BY_CODE["ea_floods"].read_facts(json.dumps(document).encode(), (FLOODS,))

    assert facts.datum == "datumASD 12.34"


def test_a_measure_that_is_gone_is_no_fact_and_no_error():
    gone = Wanted(station="X0001", series="X0001-level-stage-i-15_min-m", quantity="level_m")

    assert BY_CODE["ea_floods"].read_facts(data("ea_station_detail.json"), (gone,)) == ()
    assert BY_CODE["ea_floods"].read_rows(data("ea_readings.json"), (gone,)) == ()


def test_a_groundwater_level_is_no_river_level():
    changed = data("ea_station_detail.json").replace(b'"Stage"', b'"Groundwater"')

    with pytest.raises(ShapeChanged, match="is level 'Groundwater'; level_m is read from level"):
        BY_CODE["ea_floods"].read_facts(changed, (FLOODS,))


def test_hydrology_is_in_gmt_with_its_own_words_on_quality():
    (series,) = BY_CODE["ea_hydrology"].read_rows(data("ea_hydrology_readings.json"), (CHECKED,))

    assert plain(series) == [
        (datetime(2026, 10, 1, 0, 0, tzinfo=UTC), 0.512),
        (datetime(2026, 10, 1, 0, 15, tzinfo=UTC), 0.498),
    ]
    assert [row.code for row in series.told] == ["Good", "Unchecked"]
    assert (series.missing, series.refused) == (1, ())
    (facts,) = BY_CODE["ea_hydrology"].read_facts(data("ea_hydrology_measures.json"), (CHECKED,))
    assert (facts.unit, facts.step_minutes, facts.name) == ("m", 15, "Invented Weir")


def test_hydrologys_daily_rows_carry_their_counts_as_text_and_a_part_of_a_days_rain_is_no_total():
    document = json.loads(data("ea_hydrology_readings.json"))
    rain = Wanted(station=GUID, series=CHECKED.series, quantity="rain_mm", unit="mm")
    first, second, _ = document["items"]
    document["items"] = [
        first | {"value": 3.2, "valid": "96", "invalid": "0", "missing": "0"},
        second | {"value": 1.0, "completeness": "Incomplete", "valid": "50", "missing": "46"},
        first | {"dateTime": "2026-10-02T09:00:00", "quality": "Suspect", "value": 99.0},
    ]

    (series,) = BY_CODE["ea_hydrology"].read_rows(json.dumps(document).encode(), (rain,))

    assert [row.value for row in series.told] == [3.2, 99.0]
    assert [row.is_suspect for row in series.told] == [False, True]
    assert "so it is no total" in series.refused[0].why


def test_kiwis_tells_several_series_in_one_answer_and_nothing_measured_is_not_nought():
    level, flow = BY_CODE["sepa"].read_rows(data("sepa_kiwis_values.json"), (SEPA, SEPA_FLOW))

    assert plain(level) == [(at(8, 30), 0.701), (at(8, 45), 0.706), (at(9, 15), 0.715)]
    assert {row.code for row in level.told} == {"254"}
    assert (level.missing, level.rows, flow.rows) == (1, 4, 0)


def test_kiwis_says_what_its_series_are():
    document = json.loads(data("sepa_kiwis_timeseries.json"))
    place = document[0].index("station_id")
    document[0][place] = "station_no"

    level, flow = BY_CODE["sepa"].read_facts(json.dumps(document).encode(), (SEPA, SEPA_FLOW))

    assert (level.unit, level.name) == ("m", "Invented Brig (15m.Cmd)")
    assert level.begins_at == datetime(1990, 9, 1, 9, 15, tzinfo=UTC)
    assert flow.unit == "m³/s"


def test_kiwis_errors_are_said_and_no_matches_is_nothing():
    with pytest.raises(ShapeChanged, match="InvalidParameterValue: Invented message text"):
        BY_CODE["sepa"].read_rows(data("sepa_kiwis_error.json"), (SEPA,))
    assert BY_CODE["sepa"].read_rows(data("sepa_kiwis_no_matches.json"), (SEPA,)) == ()
    assert BY_CODE["sepa"].read_facts(data("sepa_kiwis_no_matches.json"), (SEPA,)) == ()


def test_the_office_tells_every_station_at_once_and_the_battery_and_other_datums_are_left():
    level, water = BY_CODE["opw"].read_rows(data("opw_latest.json"), (OPW, OPW_WATER))

    assert plain(level) == [(at(9, 15), 0.842)]
    assert level.missing == 1  # the row with an error code: the sensor was not well
    assert plain(water) == [(at(9, 15), 7.9)]


@pytest.mark.parametrize(
    "header",
    ["datetime,value", "Date,Value", "﻿datetime,value", "timestamp;level", "Date/Time,Value (m)"],
)
def test_the_offices_month_is_read_in_several_spellings(header):
    text = data("opw_month_0001.csv").decode().replace("datetime,value", header)
    if ";" in header:
        text = text.replace(",", ";")

    (series,) = BY_CODE["opw"].read_rows(text.encode(), (OPW,))

    assert plain(series) == [(at(8, 45), 0.839), (at(9, 0), 0.841), (at(9, 15), 0.842)]


@pytest.mark.parametrize("header", ["a,b", "datetime,value (ft)", "value", "datetime,value,level"])
def test_another_header_or_unit_in_it_is_a_changed_shape(header):
    text = data("opw_month_0001.csv").decode().replace("datetime,value", header)

    with pytest.raises(ShapeChanged, match="the header is"):
        BY_CODE["opw"].read_rows(text.encode(), (OPW,))


def test_stations_that_may_not_be_republished_and_sensors_that_tell_something_else_are_refused():
    agency = BY_CODE["opw"]

    def refusal(**changes):
        fields = {"station": "25999", "series": "0001", "quantity": "level_m", **changes}
        return agency.refusal(Wanted(**fields))

    assert refusal() == ""
    assert "only stations 00001 to 41000 may be republished" in refusal(station="41001")
    assert "only stations" in refusal(station="00000")
    assert refusal(station="41000") == ""
    assert "sensor 0001 tells level_m, not water_c" in refusal(quantity="water_c")
    assert "a station is five digits" in refusal(series="0003")
    assert "a station is five digits" in refusal(series="OD")
    assert "flow_m3s is not told by" in refusal(quantity="flow_m3s")


@pytest.mark.parametrize(
    "evil", ["../../etc", "X0001/../..", "X0001?x=1", "X0001#", "X 1", "X0001\n", "ä", "%2e%2e"]
)
@pytest.mark.parametrize("agency", AGENCIES, ids=lambda agency: agency.code)
def test_what_is_typed_never_leaves_its_place_in_an_address(agency, evil):
    quantity = agency.quantities[0]

    assert agency.refusal(Wanted(station=evil, series=evil, quantity=quantity))


# --- times ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reader", "name", "wanted", "stamped"),
    [
        ("ea_floods", "ea_readings.json", FLOODS_FLOW, "2026-11-24T09:15:00Z"),
        ("sepa", "sepa_kiwis_values.json", SEPA, "2026-11-24T09:15:00.000Z"),
        ("opw", "opw_latest.json", OPW_WATER, "2026-11-24T09:15:00Z"),
    ],
)
def test_a_moment_without_a_zone_is_refused_where_none_is_declared(reader, name, wanted, stamped):
    changed = data(name).replace(stamped.encode(), stamped[:19].encode())

    try:
        (series,) = BY_CODE[reader].read_rows(changed, (wanted,))
        words = " ".join(row.why for row in series.refused)
    except ShapeChanged as changed_shape:  # it was the only row
        words = str(changed_shape)
    assert "without a zone" in words


def test_both_hours_of_an_autumn_night_are_kept_apart_by_their_offset():
    rows = [
        ["2026-10-25T01:30:00.000+01:00", 0.5, 254],
        ["2026-10-25T01:30:00.000+00:00", 0.6, 254],
    ]
    block = json.loads(data("sepa_kiwis_values.json"))[0] | {"rows": "2", "data": rows}

    (series,) = BY_CODE["sepa"].read_rows(json.dumps([block]).encode(), (SEPA,))

    assert plain(series) == [
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), 0.5),
        (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), 0.6),
    ]


# --- what is asked --------------------------------------------------------------------------------


def ask(code, kind, *wanted):
    return BY_CODE[code].make_ask(kind, wanted, SINCE, UNTIL)


def test_one_request_asks_for_all_where_that_can_be():
    assert ask("ea_floods", Kind.LATEST, FLOODS, FLOODS_FLOW).path == "/data/readings"
    assert ask("opw", Kind.LATEST, OPW, OPW_WATER).path == "/geojson/latest/"
    query = dict(ask("sepa", Kind.WEEK, SEPA, SEPA_FLOW).query)
    assert (query["ts_id"], query["period"]) == ("90001010,90002010", "P7D")


def test_history_is_asked_for_by_its_span():
    query = dict(ask("sepa", Kind.HISTORY, SEPA).query)
    assert (query["from"], query["to"]) == ("2026-11-17T09:30:00", "2026-11-24T09:30:00")
    query = dict(ask("ea_hydrology", Kind.HISTORY, CHECKED).query)
    assert (query["mineq-date"], query["maxeq-date"]) == ("2026-11-17", "2026-11-24")
    assert dict(ask("ea_floods", Kind.WEEK, FLOODS).query)["since"] == "2026-11-17T09:30:00Z"


def test_a_place_is_asked_for_with_four_decimals_and_its_altitude():
    place = Wanted(
        series="", quantity="weather_run", latitude=57.123456789, longitude=-3.5, altitude_m=38.4
    )

    assert ask("metno", Kind.LATEST, place).query == (
        ("lat", "57.1235"),
        ("lon", "-3.5000"),
        ("altitude", "38"),
    )


# --- drift: every key dropped, renamed and retyped once -------------------------------------------


def places(value, way=()):
    """Return the way to every key and item of a document."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*way, key)
            yield from places(inner, (*way, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield (*way, number)
            yield from places(inner, (*way, number))


def drifted(document):
    """Return every document that differs in one key: gone, under another name, of another type."""
    for way in places(document):
        for change in ("drop", "rename", "retype", "null"):
            changed = copy.deepcopy(document)
            parent = changed
            for step in way[:-1]:
                parent = parent[step]
            last = way[-1]
            if change == "drop":
                del parent[last]
            elif change == "rename":
                if not isinstance(parent, dict):
                    continue
                parent[f"{last}_new"] = parent.pop(last)
            elif change == "null":
                parent[last] = None
            else:
                old = parent[last]
                parent[last] = {"was": 1} if isinstance(old, str | int | float) else "text"
            yield way, change, changed


def said(series):
    """Return all that readings tell, also how many were put aside."""
    return [
        (one.wanted.series, plain(one), [r.code for r in one.told], one.missing, len(one.refused))
        for one in series
    ]


READ = {
    "ea_floods": ("ea_readings.json", (FLOODS, FLOODS_FLOW)),
    "ea_hydrology": ("ea_hydrology_readings.json", (CHECKED,)),
    "sepa": ("sepa_kiwis_values.json", (SEPA, SEPA_FLOW)),
    "opw": ("opw_latest.json", (OPW, OPW_WATER)),
}
# what we do not read at all, or what an agency is free to leave out
UNREAD = {
    "ea_floods": {"@context", "@id", "publisher", "licence", "documentation", "version"}
    | {"comment", "hasFormat", "limit"},
    "ea_hydrology": {"publisher", "license", "licenseName", "comment", "version", "hasFormat"}
    | {"limit", "date", "completeness"},
    "sepa": set(),
    "opw": {"crs", "id", "station_name", "region_id", "url", "csv_file", "geometry"},
}


@pytest.mark.parametrize("code", READ)
def test_no_drift_of_a_documents_keys_passes_in_silence(code):
    name, wanted = READ[code]
    document = json.loads(data(name))
    read = BY_CODE[code].read_rows
    good = said(read(data(name), wanted))
    counts = {"raised": 0, "put aside": 0, "missing": 0, "unread": 0}
    for way, change, changed in drifted(document):
        try:
            now = said(read(json.dumps(changed).encode(), wanted))
        except ShapeChanged:
            counts["raised"] += 1
            continue
        if now == good:
            # then nothing that we read was touched, or a row of somebody else's was
            counts["unread"] += 1
            assert is_not_ours(code, document, way), (way, change)
            continue
        refused = sum(row[4] for row in now) > sum(row[4] for row in good)
        missing = sum(row[3] for row in now) > sum(row[3] for row in good)
        fewer = len(now) < len(good) or sum(len(r[1]) for r in now) < sum(len(r[1]) for r in good)
        # a row that is dropped whole, or whose series is another now, is simply not there
        assert refused or missing or (fewer and change in ("drop", "null")) or is_row(way), (
            way,
            change,
        )
        counts["put aside" if refused else "missing"] += 1

    assert counts["raised"] > 5
    assert counts["put aside"] + counts["missing"] > 3


def is_row(way):
    return isinstance(way[-1], int)


def is_not_ours(code, document, way):
    """Say whether a key is one we do not read, or stands in a row we did not ask for."""
    if any(step in UNREAD[code] for step in way):
        return True
    if code == "opw":
        if way in {("type",)} or way[-1] in ("type", "datetime", "value", "err_code", 4, 2, 3, 5):
            return "features" not in way or is_foreign(document, way)
        return False
    if code == "ea_hydrology":
        return way[0] == "meta"
    if code == "sepa":  # its code says already that nothing was measured
        return way[:3] == (0, "data", 2) and len(way) == 4 and way[3] > 0
    # the second row was put aside already, the third said already that nothing was measured
    return way[:2] in (("items", 1), ("items", 2))


def is_foreign(document, way):
    if way[-1] == "type":
        return True
    row = document["features"][way[1]]["properties"]
    is_ours = row["station_ref"] == "0000025999" and row["sensor_ref"] in ("0001", "0002")
    return not is_ours or row["err_code"] != 99


FACTS = {
    "ea_floods": ("ea_station_detail.json", FLOODS),
    "ea_hydrology": ("ea_hydrology_measures.json", CHECKED),
}


@pytest.mark.parametrize("code", FACTS)
@pytest.mark.parametrize("key", ["items", "notation", "parameter", "unitName"])
@pytest.mark.parametrize("change", ["drop", "rename", "retype", "null"])
def test_no_drift_of_what_a_series_is_passes_in_silence(code, key, change):
    name, wanted = FACTS[code]
    document = json.loads(data(name))
    seen = 0
    for way, how, changed in drifted(document):
        if way[-1] != key or how != change:
            continue
        if way[:3] == ("items", "measures", 1) or way == ("items", "notation"):
            continue  # another measure of the station, after ours was found; the station's own
        with pytest.raises(ShapeChanged):
            BY_CODE[code].read_facts(json.dumps(changed).encode(), (wanted,))
        seen += 1

    assert seen


@pytest.mark.parametrize("place", range(11))
@pytest.mark.parametrize("change", ["drop", "rename", "null"])
def test_no_drift_of_the_header_of_a_kiwis_list_passes_in_silence(place, change):
    document = json.loads(data("sepa_kiwis_timeseries.json"))
    document[0][document[0].index("station_id")] = "station_no"
    good = BY_CODE["sepa"].read_facts(json.dumps(document).encode(), (SEPA,))
    name = document[0][place]
    if change == "drop":
        del document[0][place]
    else:
        document[0][place] = None if change == "null" else f"{name}_new"
    changed = json.dumps(document).encode()
    if name in kiwis.FACTS.split(",") or name in ("from", "to") or change == "drop":
        with pytest.raises(ShapeChanged):
            BY_CODE["sepa"].read_facts(changed, (SEPA,))
    else:
        assert BY_CODE["sepa"].read_facts(changed, (SEPA,)) == good


def test_no_drift_of_a_weather_runs_keys_passes_in_silence():
    document = json.loads(data("metno_compact.json"))
    good = metno.read_run(document).steps
    unread = {"type", "summary", "next_12_hours", "air_pressure_at_sea_level", "geometry"}
    unread |= {"relative_humidity", "symbol_code", "next_6_hours"}
    counts = {"raised": 0, "not known": 0}
    for way, change, changed in drifted(document):
        if unread & {step for step in way if isinstance(step, str)} or is_row(way):
            continue
        try:
            steps = metno.read_run(metno.parse_document(json.dumps(changed).encode())).steps
        except ShapeChanged:
            counts["raised"] += 1
            continue
        if steps == good:
            assert way[-1] == "updated_at", (way, change)
            continue
        # an absent value is not known, which is never nought
        assert any(a != b for a, b in zip(steps, good, strict=False)), (way, change)
        counts["not known"] += 1

    assert counts["raised"] > 50


@pytest.mark.parametrize("code", READ)
@pytest.mark.parametrize(
    "body",
    [b"", b"null", b"[]", b"{}", b"<html>", b"[" * 100_000, b'{"items": NaN}', b"\xff\xfe", b"7"],
)
def test_no_body_whatever_breaks_a_reader_in_another_way(code, body):
    _, wanted = READ[code]

    try:
        assert said(BY_CODE[code].read_rows(body, wanted)) in ([],)
    except ShapeChanged:
        return


@pytest.mark.parametrize(
    "body",
    [b'{"value": 0.6, "value": 6.0}', b'[{"a": {"value": 0.6, "at": 1, "value": 0.6}}]'],
)
def test_of_a_key_that_is_there_twice_nobody_guesses_which_value_is_meant(body):
    with pytest.raises(ShapeChanged, match="the key 'value' is there twice in one object"):
        json_of(body)


def test_one_key_in_two_objects_is_no_key_twice():
    assert json_of(b'[{"value": 0.6}, {"value": 6.0}]') == [{"value": 0.6}, {"value": 6.0}]
