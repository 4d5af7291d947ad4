import gzip
import math
import tracemalloc
from datetime import UTC, datetime, timedelta
from time import perf_counter
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.intake.csvmap import FileRefused, plain_map, read_map
from guiding.gauges.intake.csvrows import GaugeFacts, read_rows, usual_step
from guiding.gauges.intake.csvtext import unpacked
from guiding.gauges.intake.csvtimes import Clock, moment_of, zone_named
from guiding.gauges.intake.csvunits import UNITS, measure_of, to_ours
from guiding.gauges.intake.limits import limits_of

LONDON = ZoneInfo("Europe/London")
AT = datetime(2026, 12, 1, tzinfo=UTC)
LEVEL = {"column": "h", "quantity": "level", "unit": "m"}


def make_facts(**changes):
    fields = {
        "zone": LONDON,
        "zone_words": "Europe/London",
        "catchment_km2": 100.0,
        "limits": {
            quantity: limits_of(
                quantity, name="Withy Bridge", lowest_m=0, highest_m=5, step_minutes=60
            )
            for quantity in UNITS
        },
        "at": AT,
    }
    return GaugeFacts(**{**fields, **changes})


def read(text, document=None, **changes):
    data = text if isinstance(text, bytes) else text.encode()
    mapping = None
    if document is not None:
        mapping = read_map(document, river_zone=LONDON, river_zone_words="Europe/London")
    return read_rows(data, mapping, make_facts(**changes))


def mapped(**changes):
    return {"time": {"column": "t", "zone": "UTC"}, "value": [LEVEL], **changes}


def values_of(table):
    return [row.values for row in table.rows]


def why(table, line):
    return next(bad.why for bad in table.bad if bad.line == line)


# --- without a map --------------------------------------------------------------------------------


def test_a_header_that_says_everything_needs_no_map():
    table = read("time,level_m,water_f,note\n2026-11-24T10:00:00Z,0.42,50,clear\n")

    assert table.quantities == ("level_m", "water_c")
    assert table.rows[0].observed_at == datetime(2026, 11, 24, 10, tzinfo=UTC)
    assert table.rows[0].values == (0.42, 10.0)
    assert "not used: note" in table.understood


def test_without_a_zone_the_rivers_own_is_taken_and_said():
    table = read("t,level_m\n2026-07-01 10:00,0.42\n")

    assert table.rows[0].observed_at == datetime(2026, 7, 1, 9, tzinfo=UTC)
    assert "time: column t, year first, Europe/London where none is written" in table.understood


@pytest.mark.parametrize(
    "header", ["when,level_m", "time,level", "time,t,level_m", "time", "level_m", "x" * 90_000]
)
def test_a_header_that_leaves_something_open_is_refused_with_the_columns_met(header):
    with pytest.raises(FileRefused) as refused:
        read(header + "\n2026-11-24T10:00:00Z,0.42\n")

    assert "names the columns '" + header[:4] in str(refused.value)
    assert "--map" in str(refused.value)
    assert len(str(refused.value)) < 600


def test_one_quantity_in_two_columns_is_refused():
    with pytest.raises(FileRefused, match="give one quantity twice"):
        plain_map(["t", "level_m", "level_cm"], river_zone=UTC, river_zone_words="UTC")


# --- the map --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("document", "problem"),
    [
        ({}, "column is None, allowed is a name or a position"),
        (mapped(value=[]), "no [[value]] with column, quantity and unit is there"),
        (mapped(values=[]), "'values' is not known, allowed are delimiter, decimal"),
        (mapped(value=[{**LEVEL, "unit": "yd"}]), "level may come in m, cm, mm, ft"),
        (mapped(value=[{**LEVEL, "quantity": "depth"}]), "allowed are level, flow, rain, water"),
        (mapped(value=[LEVEL, LEVEL]), "level is given by more than one column"),
        (mapped(value=[{**LEVEL, "low": 1}]), "'low' is not known"),
        (mapped(value=[{**LEVEL, "missing_below": "0"}]), "missing_below is '0', it is a number"),
        (mapped(time={"column": "t", "zone": "Mars"}), "zone is 'Mars'; allowed are UTC, a fixed"),
        (mapped(time={"column": "t", "fold": "third"}), "fold is 'third', allowed are first"),
        (mapped(time={"column": "t", "fold": ["first"]}), "allowed are first and second"),
        (mapped(time={"column": "t", "format": "%H:%M"}), "a pattern with year, month and day"),
        (mapped(time={"column": "t", "format": "%q"}), "a pattern with year, month and day"),
        (mapped(time={"column": 0}), "column is 0, allowed is a name or a position from 1"),
        (mapped(time={"column": ["a", "b", "c"]}), "allowed is a name or a position from 1"),
        (mapped(time="t"), "time is 't', it is a table [time]"),
        (mapped(encoding="klingon"), "encoding is 'klingon', allowed are utf-8"),
        (mapped(encoding="zip"), "encoding is 'zip', allowed are utf-8"),
        (mapped(encoding="unicode_escape"), "allowed are utf-8"),
        (mapped(delimiter="x"), "delimiter is 'x', allowed are"),
        (mapped(delimiter=",", decimal=","), "delimiter and decimal are both a comma"),
        (mapped(decimal=",", thousands=","), "decimal and thousands are both ','"),
        (mapped(header="yes"), "header is 'yes', allowed are true and false"),
        (mapped(skip=-1), "skip is -1, allowed is 0 to 1000"),
        (mapped(missing={"a": 1}), "it is a list of codes"),
    ],
)
def test_what_a_map_may_not_say_is_named(document, problem):
    with pytest.raises(FileRefused) as refused:
        read_map(document, river_zone=UTC, river_zone_words="UTC")

    assert problem in str(refused.value)


def test_every_fault_of_a_map_is_named_at_once():
    with pytest.raises(FileRefused) as refused:
        read_map(mapped(skip=-1, decimal="x"), river_zone=UTC, river_zone_words="UTC")

    assert "skip is -1" in str(refused.value)
    assert "decimal is 'x'" in str(refused.value)


def test_a_foreign_spreadsheet_is_read_as_its_map_says():
    text = (
        "station;tidspunkt;vannstand_cm;vannføring\n"
        "Home;24.11.2026 10:00;71,2;1.014,5\n"
        "Other;24.11.2026 10:00;99,9;1\n"
        "Home;24.11.2026 10:15;-9999;---\n"
        "Home;24.11.2026 10:30;-9999,0;2,5\n"
    ).encode("latin-1")
    document = {
        "decimal": ",",
        "thousands": ".",
        "missing": [-9999, "---"],
        "encoding": "latin-1",
        "time": {"column": "tidspunkt", "day_first": True, "zone": "+01:00"},
        "value": [
            {"column": "vannstand_cm", "quantity": "level", "unit": "cm"},
            {"column": 4, "quantity": "flow", "unit": "l/s"},
        ],
        "only": {"station": "Home"},
    }

    table = read(text, document)

    assert [row.observed_at.strftime("%H:%M") for row in table.rows] == ["09:00", "09:30"]
    assert values_of(table) == [(pytest.approx(0.712), pytest.approx(1.0145)), (None, 0.0025)]
    assert (table.empty, table.passed_over, table.bad) == (1, 1, ())


def test_columns_by_position_need_no_header():
    table = read(
        "20.05.2026,06:30,0.41\n20.05.2026,07:30,0.40\n",
        {
            "header": False,
            "time": {"column": [1, 2], "day_first": True, "zone": "UTC"},
            "value": [{"column": 3, "quantity": "level", "unit": "m"}],
        },
    )

    assert values_of(table) == [(0.41,), (0.40,)]
    assert usual_step(row.observed_at for row in table.rows) == timedelta(hours=1)


def test_a_pattern_and_lines_above_the_header():
    table = read(
        "Logger 7\nfrom the bridge\n# remark\nt,h\n2026140 0630,0.41\n",
        mapped(skip=2, time={"column": "t", "zone": "UTC", "format": "%Y%j %H%M"}),
    )

    assert table.rows[0].observed_at == datetime(2026, 5, 20, 6, 30, tzinfo=UTC)
    assert table.rows[0].line == 5


def test_values_below_what_the_instrument_can_read_are_missing_where_the_map_says_so():
    flow = {"column": "q", "quantity": "flow", "unit": "m3/s"}
    text = "t,q\n2026-05-20 06:00,-0.002\n2026-05-20 07:00,0.0\n"

    plain = read(text, mapped(value=[flow]))
    told = read(text, mapped(value=[{**flow, "missing_below": 0.0}]))

    assert why(plain, 2) == "flow is -0.002 m3/s; a river reads 0 or more m3/s"
    assert (told.bad, told.empty, values_of(told)) == ((), 1, [(0.0,)])
    assert "1 values lie below and are taken as missing" in told.understood


# --- units ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quantity", "unit", "given", "ours"),
    [
        ("level", "cm", 71.2, 0.712),
        ("level", "mm", 712, 0.712),
        ("level", "ft", 10, 3.048),  # the foot is 0.3048 m by definition
        ("flow", "l/s", 1500, 1.5),
        ("flow", "m\N{SUPERSCRIPT THREE}/s", 1.5, 1.5),
        # 8.64 mm a day over 100 km2 is 864,000 m3 in 86,400 s
        ("flow", "mm/d", 8.64, 10.0),
        ("flow", "mm/h", 0.36, 10.0),
        ("rain", "in", 1, 25.4),  # the inch is 25.4 mm by definition
        ("water", "F", 50, 10.0),
        ("air", "\N{DEGREE SIGN}C", -3, -3.0),
        ("visibility", "m", 1.2, 120.0),
    ],
)
def test_units_become_ours(quantity, unit, given, ours):
    assert to_ours(measure_of(quantity, unit), 100.0)(given) == pytest.approx(ours)


def test_a_depth_of_runoff_needs_the_catchment():
    flow = {"column": "q", "quantity": "flow", "unit": "mm/d"}

    with pytest.raises(FileRefused, match="the gauge has no catchment_km2; add it"):
        read("t,q\n2026-05-20,1\n", mapped(value=[flow]), catchment_km2=None)


# --- moments --------------------------------------------------------------------------------------

# Published source: IANA time zone database: London's clocks go back on 25 October 2026 at 01:00 UTC
# and forward on 29 March 2026 at 01:00 UTC.


def test_a_time_in_the_repeated_hour_is_bad_with_its_line():
    table = read("t,level_m\n2026-10-25 00:30,0.4\n2026-10-25 01:30,0.5\n2026-10-25 02:30,0.6\n")

    assert values_of(table) == [(0.4,), (0.6,)]
    assert why(table, 3) == (
        "2026-10-25 01:30 in Europe/London came twice when the clocks were put back; "
        'say fold = "first" or "second" in the map'
    )


@pytest.mark.parametrize(("fold", "hour"), [("first", 0), ("second", 1)])
def test_the_map_may_say_which_of_the_two_it_was(fold, hour):
    document = mapped(time={"column": "t", "zone": "Europe/London", "fold": fold})

    table = read("t,h\n2026-10-25 01:30,0.5\n", document)

    assert table.rows[0].observed_at == datetime(2026, 10, 25, hour, 30, tzinfo=UTC)


@pytest.mark.parametrize("fold", [None, 0, 1])
def test_a_time_that_the_clocks_skipped_is_refused_whatever_the_fold(fold):
    clock = Clock(zone=LONDON, zone_words="Europe/London", fold=fold)

    with pytest.raises(ValueError, match="2026-03-29 01:30 in Europe/London never was"):
        moment_of("2026-03-29 01:30", clock)


def test_an_offset_in_the_cell_wins_over_the_zone():
    clock = Clock(zone=LONDON, zone_words="Europe/London")

    assert moment_of("2026-10-25T01:30:00+02:00", clock).hour == 23
    assert moment_of("2026-10-25T01:30Z", clock).hour == 1


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "the time is empty"),
        ("24.11.2026 10:00", "say day_first = true in the map"),
        ("11/24/2026", "is no moment written as"),
        ("2026-02-30", "is no moment written as"),
        ("2026-05-20 25:00", "is no moment written as"),
        ("0001-01-01 00:00+14:00", "is no moment"),
        ("1799-12-31", "lies before 1800"),
        ("9999-12-31 23:59-12:00", "is no moment"),
        ("soon " * 1000, "'soon soon"),
    ],
)
def test_a_text_that_is_no_moment_is_named(text, problem):
    with pytest.raises(ValueError, match=r"\w") as refused:
        moment_of(text, Clock(zone=UTC, zone_words="UTC"))

    assert problem in str(refused.value)
    assert len(str(refused.value)) < 200


def test_day_first_refuses_a_month_of_thirteen():
    clock = Clock(zone=UTC, zone_words="UTC", written="day first")

    assert moment_of("3/4/2026", clock) == datetime(2026, 4, 3, tzinfo=UTC)
    with pytest.raises(ValueError, match="month must be in"):
        moment_of("04/13/2026", clock)


@given(st.integers(0, 60 * 24 * 3650), st.sampled_from([0, 1]))
def test_a_clock_time_read_back_in_its_zone_is_the_time_that_was_written(minutes, fold):
    moment = datetime(2020, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    written = moment.astimezone(LONDON).replace(tzinfo=None)

    found = moment_of(written.isoformat(), Clock(zone=LONDON, zone_words="London", fold=fold))

    assert found.astimezone(LONDON).replace(tzinfo=None) == written
    assert abs(found - moment) in (timedelta(0), timedelta(hours=1))


@pytest.mark.parametrize(
    ("name", "hours"), [("UTC", 0), ("z", 0), ("+01:00", 1), ("-0330", -3.5), ("Europe/Oslo", 1)]
)
def test_zones_by_name_and_by_offset(name, hours):
    zone = zone_named(name)

    assert datetime(2026, 1, 1, tzinfo=zone).utcoffset() == timedelta(hours=hours)


@pytest.mark.parametrize("name", ["", "+25:00", "+01:75", "../zone", "Europe", "\x00"])
def test_a_name_that_is_no_zone_is_refused(name):
    with pytest.raises(ValueError, match="allowed are UTC, a fixed offset"):
        zone_named(name)


# --- values ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "cell", "problem"),
    [
        ("level_m", "-99", "level is -99 m; gauge Withy Bridge reads 0 to 5 m"),
        ("level_m", "5.01", "gauge Withy Bridge reads 0 to 5 m"),
        ("level_m", "nan", "level is 'nan', which is not a number"),
        ("level_m", "inf", "'inf', which is not a number"),
        ("level_m", "1e400", "1e400: level is inf m"),
        ("level_m", "1_0", "'1_0', which is not a number"),
        ("level_m", "\N{ARABIC-INDIC DIGIT ONE}", "which is not a number"),
        ("level_m", '"0,45"', 'with a decimal comma, say decimal = "," in the map'),
        ("level_m", "0,45", "3 fields where the first line has 2; is a decimal comma among them?"),
        ("level_m", '"0.4', "the line cannot be cut into columns"),
        ("level_m", "0.\x004", "the line holds a NUL byte"),
        ("level_m", "9" * 5000, "99...: level is inf m"),
        ("level_m", "9" * 200_000, "a line is 200,017 characters long"),
        ("water_c", "40", "water temperature is 40 degrees C; a river reads -0.5 to 35"),
        ("water_c", "-0.6", "a river reads -0.5 to 35 degrees C"),
        ("air_c", "46", "air temperature is 46 degrees C"),
        ("air_c", "-40.1", "-40 to 45 degrees C"),
        ("visibility_cm", "1001", "visibility is 1001 cm; a river reads 0 to 1000 cm"),
        ("rain_mm", "-0.1", "rain is -0.1 mm"),
        ("rain_mm", "311", "rain is 311 mm; allowed is 0 to 310 mm"),
        ("flow_m3s", "-1", "flow is -1 m3/s; a river reads 0 or more m3/s"),
    ],
)
def test_a_value_that_cannot_be_makes_its_row_bad(column, cell, problem):
    table = read(f"time,{column}\n2026-05-20T06:00,{cell}\n2026-05-20T07:00,1\n")

    assert problem in why(table, 2)
    assert values_of(table) == [(1.0,)]


@pytest.mark.parametrize(("column", "low", "high"), [("level_m", 0, 5), ("water_c", -0.5, 35)])
def test_the_ends_of_a_range_are_allowed(column, low, high):
    table = read(f"time,{column}\n2026-05-20T06:00,{low}\n2026-05-20T07:00,{high}\n")

    assert values_of(table) == [(low,), (high,)]


def test_a_row_is_bad_as_a_whole():
    table = read("time,level_m,water_c\n2026-05-20T06:00,0.4,40\n")

    assert table.rows == ()
    assert len(table.bad) == 1


def test_a_row_without_any_value_is_missing_and_not_bad():
    table = read("time,level_m,water_c\n2026-05-20T06:00,,\n2026-05-20T07:00,0.4,\n")

    assert (table.empty, table.bad, values_of(table)) == (1, (), [(0.4, None)])


def test_a_reading_from_the_future_is_bad_beyond_ten_minutes():
    text = "time,level_m\n2026-12-01T00:10Z,0.4\n2026-12-01T00:11Z,0.4\n"

    table = read(text)

    assert len(table.rows) == 1
    assert "a reading may be 10 minutes ahead at most" in why(table, 3)


def test_one_moment_with_two_values_keeps_the_first_and_names_its_line():
    text = "t,level_m,rain_mm\n2026-05-20,0.4,\n2026-05-20,,1\n2026-05-20,0.5,1\n2026-05-20,0.4,1\n"

    table = read(text)

    assert [row.line for row in table.rows] == [2, 3, 5]
    assert why(table, 4) == "the moment of line 2 again, with another value (0.5, there 0.4)"


def test_thousands_in_the_wrong_place_are_no_number():
    flow = {"column": "h", "quantity": "flow", "unit": "m3/s"}
    document = mapped(decimal=",", thousands=".", delimiter=";", value=[flow])

    table = read("t;h\n2026-05-20;12.34,5\n2026-05-21;1.234.567,5\n2026-05-22;12345\n", document)

    assert "'12.34,5', which is not a number" in why(table, 2)
    assert values_of(table) == [(1_234_567.5,), (12_345.0,)]


def test_a_thin_space_may_part_thousands():
    flow = {"column": "h", "quantity": "flow", "unit": "m3/s"}
    document = mapped(thousands=" ", value=[flow])

    table = read("t,h\n2026-05-20,1\N{NARROW NO-BREAK SPACE}234\n", document)

    assert values_of(table) == [(1234.0,)]


# --- files that are no files of readings ----------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"", "the file holds no line"),
        (b"\n\n  \n", "the file holds no line"),
        (bytes(range(256)) * 4, "the file is binary"),
        (b"\x7fELF\x01\x02\x00\x00", "the file is binary"),
        (b"time,level_m\n2026-05-20,\xff\n", "not text in UTF-8"),
        (b"\xff\xfet\x00", "names the columns"),
        (b"\xff\xfe\x00\xd8", "not text in UTF-16"),
    ],
)
def test_bytes_that_are_no_table_are_refused(data, problem):
    with pytest.raises(FileRefused, match=problem):
        read(data)


def test_a_spreadsheets_unicode_text_is_read_by_its_mark():
    table = read("time\tlevel_m\n2026-05-20\t0.4\n".encode("utf-16"))

    assert values_of(table) == [(0.4,)]


def test_an_encoding_in_the_map_is_tried_once():
    assert values_of(read("t,h,ø\n2026-05-20,0.4,å\n".encode("cp1252"), mapped(encoding="cp1252")))
    with pytest.raises(FileRefused, match="not text in ASCII"):
        read("t,h,ø\n2026-05-20,0.4,å\n", mapped(encoding="ascii"))


def test_a_column_that_is_missing_or_stands_twice_is_named():
    with pytest.raises(FileRefused, match="column 'h' is missing; the file has 't', 'level'"):
        read("t,level\n2026-05-20,1\n", mapped())
    with pytest.raises(FileRefused, match="'h' stands more than once, at positions 2, 3"):
        read("t,h,h\n2026-05-20,1,2\n", mapped())
    with pytest.raises(FileRefused, match="column 3 is wanted; the file has 2"):
        read("t,x\n2026-05-20,1\n", mapped(value=[{**LEVEL, "column": 3}]))
    with pytest.raises(FileRefused, match="has a name, but the map says header = false"):
        read("2026-05-20,1\n", mapped(header=False))


def test_a_gzip_file_is_unpacked_in_all_its_members():
    assert unpacked(gzip.compress(b"t,h\n") + gzip.compress(b"1,2\n")) == b"t,h\n1,2\n"


@pytest.mark.parametrize(
    "data",
    # a fixed moment inside, so that every worker collects the same test
    [gzip.compress(b"time,level_m\n" * 99, mtime=0)[:-9], b"\x1f\x8b junk", b"\x1f\x8b"],
    ids=["cut short", "junk", "only its sign"],
)
def test_a_broken_gzip_file_is_refused(data):
    with pytest.raises(FileRefused, match="gzip file"):
        unpacked(data)


def test_a_gzip_bomb_stops_at_the_limit():
    bomb = gzip.compress(b"\x00" * 50_000_000, compresslevel=1)
    tracemalloc.start()

    with pytest.raises(FileRefused, match="unpacks to more than 1,000,000 bytes"):
        unpacked(bomb, most=1_000_000)

    assert tracemalloc.get_traced_memory()[1] < 5_000_000
    tracemalloc.stop()


@pytest.mark.parametrize(
    "junk",
    [
        b"x" * 10_000_000,
        b"x,\n" * 3_000_000,
        b"time,level_m\n" + b"junk,junk\n" * 1_000_000,
        b"time,level_m\n2026-05-20,0.4\n" + b"junk,junk\n" * 1_000_000,
        b'"' * 10_000_000,
        b"," * 10_000_000,
    ],
    ids=["a line", "lines", "under a header", "after a good row", "quotes", "commas"],
)
def test_ten_megabytes_of_junk_are_refused_in_seconds(junk):
    started = perf_counter()

    with pytest.raises(FileRefused) as refused:
        read(junk)

    assert perf_counter() - started < 8
    assert len(str(refused.value)) < 800


@given(st.binary(max_size=400))
def test_any_bytes_at_all_are_read_or_refused_in_words(data):
    table, refused = read_or_why(b"time,level_m\n" + data)

    assert (table is None) == bool(refused)
    assert all(0 <= row.values[0] <= 5 for row in (table.rows if table else ()))


def read_or_why(data):
    try:
        return read(data), ""
    except FileRefused as refused:
        return None, str(refused)


@given(st.text(max_size=30))
def test_any_cell_at_all_is_a_value_missing_or_bad(cell):
    table = read(
        f"time;level_m\n2026-05-20T06:00;{cell}\n2026-05-20T07:00;1\n".encode("utf-8", "replace")
    )

    assert all(math.isfinite(value) for row in table.rows for value in row.values)
    assert table.rows
