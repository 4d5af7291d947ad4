import gzip
import json
import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from guiding.gauges.actions import (
    NothingUsable,
    ReadingRefused,
    import_file,
    store_readings,
    type_in_reading,
)
from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.levels import flow_to_level, level_source_words, levels_of
from guiding.gauges.models import Gauge, Reading, ReadingImport, ReadingRevision, Series
from guiding.gauges.waterfile.loading import load_water
from guiding.history.models import Event
from tests.factories import make_gauge, make_river

REAL = Path(__file__).parents[1] / "data" / "real"
AT = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)
pytestmark = pytest.mark.django_db


@pytest.fixture
def gauge():
    return make_gauge(name="Withy Bridge", lowest_m=0, highest_m=5, river=make_river())


def hours(*values, start=datetime(2026, 5, 19, tzinfo=UTC)):
    return [(start + timedelta(hours=n), value) for n, value in enumerate(values)]


def values(gauge, quantity="level_m"):
    rows = Reading.objects.filter(series__gauge=gauge, series__quantity=quantity)
    return list(rows.order_by("observed_at").values_list("value", flat=True))


def store(gauge, rows, **changes):
    return store_readings(gauge, "level_m", rows, **{"at": AT, "name": "logger", **changes})


def file_of(*lines):
    return "\n".join(["time,level_m,rain_mm", *lines]).encode()


def take(gauge, data, document=None):
    return import_file(gauge, data, document, at=AT, name="logger.csv")


# --- readings in bulk -----------------------------------------------------------------------------


def test_readings_are_stored_once_however_often_they_come(gauge):
    first = store(gauge, hours(0.40, 0.41, 0.42))
    second = store(gauge, hours(0.40, 0.41, 0.42))

    assert (first.stored, first.repeated) == (3, 0)
    assert (second.stored, second.repeated) == (0, 3)
    assert values(gauge) == [0.40, 0.41, 0.42]
    assert ReadingImport.objects.count() == 1
    assert Event.objects.filter(what="readings stored").count() == 1


def test_a_value_that_changed_is_replaced_and_the_old_one_kept(gauge):
    store(gauge, hours(0.40, 0.41))

    again = store(gauge, hours(0.40, 0.51), at=AT + timedelta(hours=1), name="corrected")

    revision = ReadingRevision.objects.get()
    assert (again.stored, again.repeated, again.revised) == (1, 1, 1)
    assert values(gauge) == [0.40, 0.51]
    assert (revision.value, revision.replaced_at) == (0.41, AT + timedelta(hours=1))
    assert revision.reading.came_with.name == "corrected"


def test_what_cannot_be_is_refused_by_its_place(gauge):
    rows = [*hours(0.40, -99, float("nan"), 5.1), (AT + timedelta(minutes=11), 0.4)]

    kept = store(gauge, rows)

    assert kept.stored == 1
    assert [row.line for row in kept.rejected] == [2, 3, 4, 5]
    assert kept.rejected[0].why == "level is -99 m; gauge Withy Bridge reads 0 to 5 m"
    assert ReadingImport.objects.get().rejected[0] == kept.rejected[0].as_json()


def test_a_moment_without_a_zone_stops_everything(gauge):
    with pytest.raises(ValueError, match="row 2: 2026-05-19 00:00:00 has no zone"):
        store(gauge, [*hours(0.4), (datetime(2026, 5, 19), 0.4)])  # noqa: DTZ001

    assert not Reading.objects.exists()


def test_two_values_for_one_moment_in_one_list_keep_the_first(gauge):
    moment = AT - timedelta(hours=1)

    kept = store(gauge, [(moment, 0.4), (moment, 0.4), (moment, 0.6)])

    assert (kept.stored, kept.repeated, len(kept.rejected)) == (1, 1, 1)
    assert values(gauge) == [0.4]


def test_the_same_moment_in_another_zone_is_the_same_moment(gauge):
    summer = AT.astimezone(gauge.river.zoneinfo)

    store(gauge, [(AT, 0.4)])

    assert store(gauge, [(summer, 0.4)]).repeated == 1


def test_many_readings_take_few_queries(gauge, django_assert_max_num_queries):
    rows = hours(*(0.3 + n % 50 / 100 for n in range(3000)), start=AT - timedelta(hours=3000))

    with django_assert_max_num_queries(40):
        kept = store(gauge, rows)

    assert kept.stored == 3000


# --- typed in -------------------------------------------------------------------------------------


def test_a_typed_in_reading_says_who_read_it(gauge):
    type_in_reading(gauge, "water_c", 9.5, AT, by="Ada", at=AT)

    reading = Reading.objects.get()
    assert (reading.value, reading.quality) == (9.5, "typed")
    assert reading.came_with.name == "typed in by Ada"


@pytest.mark.parametrize(
    ("quantity", "value", "moment", "problem"),
    [
        ("level_m", -99, AT, "level is -99 m; gauge Withy Bridge reads 0 to 5 m."),
        ("water_c", 40, AT, "water temperature is 40 degrees C; a river reads -0.5 to 35"),
        ("visibility_cm", float("nan"), AT, "visibility is nan cm"),
        ("level_m", 0.4, AT + timedelta(minutes=11), "10 minutes ahead at most"),
        ("level_m", 0.4, datetime(2026, 5, 20), "has no zone"),  # noqa: DTZ001
        ("depth_m", 0.4, AT, "'depth_m' is nothing a gauge records; allowed are level_m"),
    ],
)
def test_a_typed_in_reading_that_cannot_be_is_refused(gauge, quantity, value, moment, problem):
    with pytest.raises(ReadingRefused) as refused:
        type_in_reading(gauge, quantity, value, moment, by="Ada", at=AT)

    assert problem in str(refused.value)
    assert not Series.objects.exists()
    assert not Event.objects.exists()


def test_an_import_never_replaces_what_somebody_read(gauge):
    type_in_reading(gauge, "level_m", 0.80, AT, by="Ada", at=AT)

    imported = take(gauge, file_of("2026-05-20T08:00Z,0.41,0", "2026-05-20T09:00Z,0.20,0"))

    assert values(gauge) == [0.41, 0.80]
    assert imported.rejected[0].as_json() == {
        "line": 3,
        "why": "0.8 was typed in for 2026-05-20 09:00 UTC and stands; the file has 0.2",
    }
    assert values(gauge, "rain_mm") == [0]


def test_somebody_who_looks_settles_the_value_that_was_there(gauge):
    store(gauge, [(AT, 0.8)])

    type_in_reading(gauge, "level_m", 0.8, AT, by="Ada", at=AT)
    type_in_reading(gauge, "level_m", 0.7, AT, by="Bo", at=AT)

    reading = Reading.objects.get()
    assert (reading.value, reading.quality) == (0.7, "typed")
    assert reading.revisions.count() == 2


# --- files ----------------------------------------------------------------------------------------


def test_good_rows_are_stored_and_bad_ones_told_by_their_line(gauge):
    imported = take(
        gauge,
        file_of(
            "2026-05-19T06:00Z,0.40,0.2",
            "2026-05-19T07:00Z,-99,0.2",
            "",
            "2026-05-19T08:00Z,,0.4",
            "2026-05-19T09:00Z,,",
            "2026-05-19T10:00Z,0.42,",
        ),
    )

    assert (imported.stored, imported.repeated, imported.empty) == (3, 0, 1)
    assert [row.line for row in imported.rejected] == [3]
    assert values(gauge) == [0.40, 0.42]
    assert values(gauge, "rain_mm") == [0.2, 0.4]


def test_a_file_that_comes_again_changes_nothing(gauge):
    data = file_of("2026-05-19T06:00Z,0.40,0.2", "2026-05-19T07:00Z,-99,0.2")
    take(gauge, data)
    before = list(Reading.objects.values()), list(ReadingImport.objects.values())

    again = take(gauge, data)

    assert (again.stored, again.repeated, len(again.rejected)) == (0, 1, 1)
    assert (list(Reading.objects.values()), list(ReadingImport.objects.values())) == before


def test_a_longer_file_adds_what_is_new_and_keeps_what_it_replaces(gauge):
    take(gauge, file_of("2026-05-19T06:00Z,0.40,0.2"))

    again = take(gauge, file_of("2026-05-19T06:00Z,0.44,0.2", "2026-05-19T07:00Z,0.41,0"))

    assert (again.stored, again.repeated, again.revised) == (2, 0, 1)
    assert ReadingRevision.objects.get().value == 0.40


def test_a_row_that_stands_twice_is_stored_once(gauge):
    imported = take(gauge, file_of("2026-05-19T06:00Z,0.40,0", "2026-05-19T06:00Z,0.40,0"))

    assert (imported.stored, imported.repeated) == (1, 1)


@pytest.mark.parametrize(
    ("lines", "problem"),
    [
        (("2026-05-19T06:00Z,-99,0",), "the only row is bad; line 2: level is -99 m"),
        (("x,1,0", "y,1,0"), "all 2 rows are bad; line 2: 'x' is no moment"),
    ],
)
def test_a_file_of_bad_rows_alone_stores_nothing(gauge, lines, problem):
    with pytest.raises(NothingUsable, match=problem) as refused:
        take(gauge, file_of(*lines))

    assert len(refused.value.rejected) == len(lines)
    assert not Series.objects.exists()
    assert not ReadingImport.objects.exists()


def test_a_header_alone_and_a_choice_that_takes_nothing_are_refused(gauge):
    document = {
        "time": {"column": "time", "zone": "UTC"},
        "value": [{"column": "level_m", "quantity": "level", "unit": "m"}],
        "only": {"rain_mm": "7"},
    }

    with pytest.raises(FileRefused, match="a header and no row under it"):
        take(gauge, file_of())
    with pytest.raises(FileRefused, match="none of 1 rows is one that"):
        take(gauge, file_of("2026-05-19T06:00Z,0.40,0"), document)


def test_a_file_of_another_step_is_told_apart(gauge):
    data = file_of(*(f"2026-05-19T06:{n:02d}Z,0.4,0" for n in (0, 15, 30, 45)))

    assert take(gauge, data).understood[-1] == (
        "mind: rows come 15 minutes apart, and the gauge's record is said to come 60 minutes apart"
    )


def test_a_daily_gauge_takes_a_days_rain(gauge):
    Gauge.objects.update(step_minutes=1440)
    gauge.refresh_from_db()

    assert take(gauge, file_of("2026-05-18,0.4,400", "2026-05-19,0.4,1831")).stored == 1


# --- the command ----------------------------------------------------------------------------------


def run(*words, capsys):
    call_command("import_readings", *words, "--at", AT.isoformat())
    return capsys.readouterr().out


def test_the_command_prints_one_object_with_three_keys(gauge, tmp_path, capsys):
    path = tmp_path / "logger.csv.gz"
    path.write_bytes(gzip.compress(file_of("2026-05-19T06:00Z,0.4,0", "2026-05-19T07:00Z,40,0")))

    told = json.loads(run("withy bridge", str(path), "--json", capsys=capsys))

    assert told == {
        "stored": 1,
        "repeated": 0,
        "rejected": [{"line": 3, "why": "level is 40 m; gauge Withy Bridge reads 0 to 5 m"}],
    }
    assert ReadingImport.objects.get().name == "logger.csv.gz"


def test_the_command_says_what_it_understood(gauge, tmp_path, capsys):
    path = tmp_path / "logger.csv"
    path.write_bytes(file_of("2026-05-19T06:00,0.4,0", "2026-05-19T07:00,0.4,0", "x,1,1"))

    told = run("Withy Bridge", str(path), capsys=capsys)

    assert told.splitlines() == [
        "text in UTF-8, columns cut at ',', decimal '.'",
        "time: column time, year first, Europe/London (the river's own zone) where none is written",
        "level in m: column level_m",
        "rain in mm: column rain_mm",
        "from 2026-05-19 05:00 to 2026-05-19 06:00 UTC",
        "most often 60 minutes apart",
        "stored 2 rows, repeated 0, rejected 1",
        "line 4: 'x' is no moment written as 2026-05-20 18:30",
    ]


def test_bad_rows_alone_are_told_and_end_in_exit_2(gauge, tmp_path, capsys):
    path = tmp_path / "logger.csv"
    path.write_bytes(file_of("2026-05-19T06:00Z,-99,0"))

    with pytest.raises(CommandError) as refused:
        run("Withy Bridge", str(path), "--json", capsys=capsys)

    assert refused.value.returncode == 2
    assert json.loads(capsys.readouterr().out)["rejected"][0]["line"] == 2


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "cannot|binary|not text"),
        (b"when,what\n1,2\n", "names the columns 'when', 'what'; without a map"),
        (b"\x1f\x8bjunk", "the gzip file cannot be unpacked"),
        (b"", "the file holds no line"),
    ],
)
def test_a_file_that_cannot_be_understood_ends_in_exit_2(gauge, tmp_path, capsys, data, problem):
    path = tmp_path / "file"
    path.write_bytes(data)

    with pytest.raises(CommandError, match=problem) as refused:
        run("Withy Bridge", str(path), capsys=capsys)

    assert refused.value.returncode == 2
    assert "\n" not in str(refused.value)
    assert not Series.objects.exists()


def test_what_is_no_file_and_a_gauge_nobody_knows_are_refused(gauge, tmp_path, capsys):
    bad_map = tmp_path / "map.toml"
    bad_map.write_text("[time\n")
    good = tmp_path / "good.csv"
    good.write_bytes(file_of("2026-05-19T06:00Z,0.4,0"))

    for words, problem in (
        (("Withy Bridge", str(tmp_path)), "is not a file"),
        (("Withy Bridge", str(tmp_path / "none.csv")), "does not exist"),
        (("Withy Bridge", "/dev/zero"), "is not a file"),
        (("Elsewhere", str(good)), "no gauge is called 'Elsewhere'; on file: Withy Bridge"),
        (("Withy Bridge", str(good), "--map", str(bad_map)), "is not TOML"),
        (("Withy Bridge", str(good), "--map", str(good)), "is not TOML"),
    ):
        with pytest.raises(CommandError, match=problem):
            run(*words, capsys=capsys)
    assert not Series.objects.exists()


# --- real records, small extracts -----------------------------------------------------------------


def load(name):
    load_water(tomllib.loads((REAL / f"{name}.toml").read_text()), at=AT)
    document = tomllib.loads((REAL / f"{name}_map.toml").read_text())
    gauge = Gauge.objects.get()
    return gauge, take(gauge, (REAL / f"{name}_extract.csv").read_bytes(), document)


def test_the_hourly_maarkebeek_flows_stand_for_levels():
    gauge, imported = load("maarkebeek")

    levels = levels_of(gauge)
    assert (imported.stored, imported.rejected) == (320, ())
    assert len(levels) == 320
    # by hand: flow 25.85 m3/s = 2.5 (h - 0.10)^2, so h = 0.10 + sqrt(10.34) = 3.3156 m
    assert max(level for _, level in levels) == pytest.approx(3.3156, abs=1e-4)
    assert "turned into level by a stated rating (invented" in level_source_words(gauge)
    assert not Reading.objects.filter(series__quantity="level_m").exists()


def test_the_daily_au_saumon_runoff_becomes_flow_over_its_catchment():
    _, imported = load("saumon")

    first = (REAL / "saumon_extract.csv").read_text().splitlines()[1].split(",")
    flow = Reading.objects.filter(series__quantity="flow_m3s").earliest("observed_at")
    assert (imported.stored, imported.rejected) == (365, ())
    # a millimetre a day over 738 km2 is 738,000 m3 in 86,400 s
    assert flow.value == pytest.approx(float(first[3]) * 738_000 / 86_400)
    assert flow.observed_at == datetime(1998, 1, 1, 5, tzinfo=UTC)
    assert "not used: E" in imported.understood


def test_levels_that_were_measured_stand_alone(gauge):
    Gauge.objects.update(rating_a=2.0, rating_b=2.0, rating_h0_m=0.1, rating_source="a")
    gauge.refresh_from_db()
    store_readings(gauge, "flow_m3s", hours(2.0, 8.0), at=AT, name="flow")

    from_flow = [level for _, level in levels_of(gauge)]
    type_in_reading(gauge, "level_m", 1.5, AT, by="Ada", at=AT)
    with_typed = [level for _, level in levels_of(gauge)]
    store(gauge, hours(0.9))
    measured = [level for _, level in levels_of(gauge)]

    assert from_flow == pytest.approx([1.1, 2.1])
    assert with_typed == pytest.approx([1.1, 2.1, 1.5])
    assert measured == pytest.approx([0.9, 1.5])
    assert level_source_words(gauge) == "level read at gauge Withy Bridge"


def test_levels_may_be_asked_for_a_span_and_leave_suspects_out(gauge):
    store(gauge, hours(0.40, 0.41, 0.42, 0.43))
    Reading.objects.filter(value=0.42).update(quality="suspect")
    start = datetime(2026, 5, 19, 1, tzinfo=UTC)

    assert [v for _, v in levels_of(gauge, since=start)] == [0.41, 0.43]
    assert [v for _, v in levels_of(gauge, until=start)] == [0.40, 0.41]


def test_a_gauge_without_levels_or_rating_has_none(gauge):
    assert levels_of(gauge) == []
    assert level_source_words(gauge) == "no level on file for Withy Bridge"
    with pytest.raises(ValueError, match="has no rating on file"):
        flow_to_level(gauge, 1.0)


@pytest.mark.parametrize("flow_m3s", [0.0, 0.01, 1.0, 250.0])
def test_a_level_put_back_into_the_rating_gives_its_flow(flow_m3s):
    gauge = Gauge(name="A", rating_a=12.5, rating_b=1.7, rating_h0_m=-0.2)

    level_m = flow_to_level(gauge, flow_m3s)

    assert 12.5 * (level_m + 0.2) ** 1.7 == pytest.approx(flow_m3s)
