import copy
import json
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from guiding.gauges.models import WeatherRun
from guiding.gauges.providers.metno import parse_document, read_run
from guiding.gauges.providers.shapes import ShapeChanged
from tests.factories import make_gauge

# Invented values in the documented shape. Published source: MET Norway, Locationforecast 2.0
# documentation.
RUN = Path(__file__).parents[1] / "data" / "metno_run.json"
AT = "2026-05-20T08:00Z"


@pytest.fixture
def document():
    return json.loads(RUN.read_text())


def moment(hour):
    return datetime(2026, 5, 20, hour, tzinfo=UTC)


def series(document):
    return document["properties"]["timeseries"]


def test_a_run_becomes_steps_in_our_names(document):
    run = read_run(document)

    assert run.issued_at == datetime(2026, 5, 20, 7, 40, 11, tzinfo=UTC)
    assert (run.latitude, run.longitude) == (57.4799, -4.415)
    assert run.raw is document
    assert run.steps[0].as_json() == {
        "starts_at": "2026-05-20T08:00:00+00:00",
        "ends_at": "2026-05-20T09:00:00+00:00",
        "rain_mm": 0.3,
        "air_c": 9.4,
        "wind_ms": 5.2,
        "wind_from_deg": 231.5,
        "cloud_percent": 96.0,
    }


def test_rain_is_never_counted_twice(document):
    steps = read_run(document).steps

    assert [step.rain_mm for step in steps] == [0.3, 1.1, 3.6, 0.0, None]
    assert [(step.starts_at.hour, step.ends_at.hour) for step in steps] == [
        *((8, 9), (9, 10), (10, 16), (16, 22), (22, 4)),
    ]
    assert all(a.ends_at <= b.starts_at for a, b in pairwise(steps))


def test_where_both_are_given_the_length_of_the_step_chooses(document):
    series(document)[2]["data"]["next_1_hours"] = {"details": {"precipitation_amount": 0.9}}

    step = read_run(document).steps[2]

    assert (step.ends_at.hour, step.rain_mm) == (16, 3.6)


def test_a_hole_in_the_run_stays_a_hole(document):
    del series(document)[1]

    steps = read_run(document).steps

    assert steps[0].ends_at == moment(9)
    assert steps[1].starts_at == moment(10)


def test_three_hours_are_not_filled_from_six(document):
    series(document)[3]["time"] = "2026-05-20T13:00:00Z"

    step = read_run(document).steps[2]

    assert (step.ends_at, step.rain_mm) == (moment(13), None)


def test_the_last_step_may_carry_rain(document):
    del series(document)[2:]

    assert read_run(document).steps[1].ends_at - moment(9) == timedelta(hours=1)


@pytest.mark.parametrize("key", ["air_temperature", "wind_speed", "cloud_area_fraction"])
def test_an_absent_value_is_not_known_and_not_nought(document, key):
    ours = {"air_temperature": "air_c", "wind_speed": "wind_ms"}.get(key, "cloud_percent")
    del series(document)[1]["data"]["instant"]["details"][key]

    assert getattr(read_run(document).steps[1], ours) is None


def test_a_value_that_no_step_carries_is_missed_by_name(document):
    for entry in series(document):
        details = entry["data"]["instant"]["details"]
        details["air_temp"] = details.pop("air_temperature")

    with pytest.raises(ShapeChanged, match="air_temperature has a unit, but no step carries it"):
        read_run(document)


def drop(document, path):
    *way, last = path
    for step in way:
        document = document[step]
    del document[last]


P = "properties"
FIRST = (P, "timeseries", 0)


@pytest.mark.parametrize(
    ("path", "missed"),
    [
        ((P,), "the document.properties is missing"),
        ((P, "meta"), "properties.meta is missing"),
        ((P, "meta", "updated_at"), "properties.meta.updated_at is missing"),
        ((P, "meta", "units"), "properties.meta.units is missing"),
        ((P, "meta", "units", "wind_speed"), "properties.meta.units.wind_speed is None"),
        ((P, "timeseries"), "properties.timeseries is missing or empty"),
        ((*FIRST, "time"), "timeseries 1.time is missing"),
        ((*FIRST, "data"), "timeseries 1.data is missing"),
        ((*FIRST, "data", "instant"), "timeseries 1.data.instant is missing"),
        ((*FIRST, "data", "instant", "details"), "timeseries 1.data.instant.details is missing"),
        ((*FIRST, "data", "next_1_hours", "details"), "data.next_1_hours.details is missing"),
        (("geometry",), "the document.geometry is missing"),
        (("geometry", "coordinates"), "geometry.coordinates is not [longitude, latitude"),
    ],
)
def test_a_key_that_is_gone_is_named(document, path, missed):
    drop(document, path)

    with pytest.raises(ShapeChanged) as changed:
        read_run(document)

    assert missed in str(changed.value)


def put(document, path, value):
    *way, last = path
    for step in way:
        document = document[step]
    document[last] = value


DETAILS = (*FIRST, "data", "instant", "details")


@pytest.mark.parametrize(
    ("path", "value", "problem"),
    [
        ((P, "meta", "units", "air_temperature"), "fahrenheit", "'celsius' is what is known"),
        ((P, "meta", "units", "precipitation_amount"), "m", "is 'm'; 'mm' is what is known"),
        ((P, "meta", "updated_at"), "2026-05-20T07:40:11", "a moment in UTC is what is known"),
        ((P, "timeseries"), {}, "missing or empty"),
        ((P, "timeseries", 0), "x", "timeseries 1 is not an object"),
        ((P, "timeseries", 1, "time"), "2026-05-20T08:00:00Z", "timeseries 2 is not later"),
        ((*FIRST, "data"), [], "timeseries 1.data is not an object but list"),
        ((*DETAILS, "air_temperature"), "9.4", "air_temperature is '9.4', not a number"),
        ((*DETAILS, "air_temperature"), True, "air_temperature is 'True', not a number"),
        ((*DETAILS, "air_temperature"), 99, "air_temperature is 99; -40 to 45 celsius"),
        ((*DETAILS, "wind_speed"), 10**400, "0 to 60 m/s"),
        ((*DETAILS, "wind_speed"), float("nan"), "not a number"),
        ((*DETAILS, "wind_speed"), -1, "wind_speed is -1; 0 to 60 m/s"),
        ((*DETAILS, "wind_speed"), float("inf"), "wind_speed is inf; 0 to 60 m/s"),
        ((*FIRST, "data", "next_1_hours", "details", "precipitation_amount"), -1, "0 to 1830 mm"),
        (("geometry", "coordinates"), [57.5], "is not [longitude, latitude"),
        (("geometry", "coordinates"), [-4.4, 91], "is not [longitude, latitude"),
    ],
)
def test_a_shape_that_drifted_is_refused_with_what_was_met(document, path, value, problem):
    put(document, path, value)

    with pytest.raises(ShapeChanged) as changed:
        read_run(document)

    assert problem in str(changed.value)


def every_path(value, path=()):
    parts = value.items() if isinstance(value, dict) else enumerate(value)
    for key, part in parts:
        yield (*path, key)
        if isinstance(part, dict | list):
            yield from every_path(part, (*path, key))


def test_no_key_may_go_or_change_its_kind_without_an_error_or_a_not_known(document):
    right = read_run(document)
    for path in every_path(document):
        for change in (drop, lambda document, path: put(document, path, "other")):
            changed = copy.deepcopy(document)
            change(changed, path)

            steps = steps_or_none(changed)

            for step in steps or ():
                twin = next(one for one in right.steps if one.starts_at == step.starts_at)
                assert_only_less(step, twin)


def steps_or_none(document):
    try:
        return read_run(document).steps
    except ShapeChanged:
        return None


def assert_only_less(step, twin):
    for name in ("air_c", "wind_ms", "wind_from_deg", "cloud_percent"):
        assert getattr(step, name) in (None, getattr(twin, name))
    if step.ends_at == twin.ends_at:
        assert step.rain_mm in (None, twin.rain_mm)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{",
        b"[]",
        b"\xff",
        b"3",
        b'{"a": NaN}',
        b'{"a": 1e999}',
        b'{"a": "\\u0000"}',
        b'{"a": "\\ud800"}',
        b"[" * 100_000,
        b"<html>",
    ],
)
def test_what_is_no_json_object_is_refused(data):
    with pytest.raises(ShapeChanged, match="the file is"):
        parse_document(data)


@pytest.mark.django_db
def test_the_command_keeps_a_run_as_issued_and_once(capsys):
    gauge = make_gauge(name="Withy Bridge", latitude=57.48, longitude=-4.42)

    call_command("load_weather", "withy bridge", str(RUN), "--json", "--at", AT)
    call_command("load_weather", "withy bridge", str(RUN), "--json", "--at", "2026-05-21T08:00Z")

    first, second = (json.loads(line) for line in capsys.readouterr().out.splitlines())
    run = WeatherRun.objects.get(gauge=gauge)
    assert (first["stored"], second["stored"], second["repeated"]) == (1, 0, 1)
    assert run.issued_at == datetime(2026, 5, 20, 7, 40, 11, tzinfo=UTC)
    assert run.fetched_at == moment(8)
    assert run.raw == json.loads(RUN.read_text())
    assert run.steps[4]["rain_mm"] is None


@pytest.mark.django_db
def test_another_run_under_the_same_moment_is_refused(tmp_path, document):
    make_gauge(name="Withy Bridge")
    call_command("load_weather", "Withy Bridge", str(RUN), "--at", AT, "--json")
    put(document, (*DETAILS, "air_temperature"), 3.0)
    other = tmp_path / "run.json"
    other.write_text(json.dumps(document))

    with pytest.raises(CommandError, match="a run is kept as it was issued"):
        call_command("load_weather", "Withy Bridge", str(other), "--at", AT)

    assert WeatherRun.objects.get().steps[0]["air_c"] == 9.4


@pytest.mark.django_db
def test_a_run_from_the_future_and_a_gauge_nobody_knows_are_refused():
    make_gauge(name="Withy Bridge")

    with pytest.raises(CommandError, match="lies ahead of 2026-05-19"):
        call_command("load_weather", "Withy Bridge", str(RUN), "--at", "2026-05-19T08:00Z")
    with pytest.raises(CommandError, match="no gauge is called 'Elsewhere'; on file: Withy Bridge"):
        call_command("load_weather", "Elsewhere", str(RUN), "--at", AT)
    assert not WeatherRun.objects.exists()


@pytest.mark.django_db
def test_a_run_for_a_place_far_off_is_said(capsys):
    make_gauge(name="Withy Bridge", latitude=45.0, longitude=-71.0)

    call_command("load_weather", "Withy Bridge", str(RUN), "--at", AT)

    told = capsys.readouterr().out
    assert "km from Withy Bridge" in told
    assert "1 of 5 steps do not say how much rain: not known, not nought" in told
