import gzip
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.intake.riverfile import read_river
from guiding.gauges.intake.riversteps import laid_on_steps


def day(number):
    return f"2001-03-{number:02}"


def text(header, *rows):
    return "\n".join([header, *rows, ""]).encode()


def steps(data, minutes=1440):
    return laid_on_steps(read_river(data), minutes)


def refused(data, minutes=1440):
    with pytest.raises(FileRefused) as refusal:
        steps(data, minutes)
    message = str(refusal.value)
    assert "\n" not in message
    return message


def test_columns_stand_in_any_order_and_others_are_passed_over():
    got = steps(text("Q,note,t,P", f"2.5,ice?,{day(1)},0.4", f"2.0,,{day(2)},0"))

    assert {name: column.tolist() for name, column in got.values.items()} == {
        "Q": [2.5, 2.0],
        "P": [0.4, 0.0],
    }
    assert (got.words(0), got.words(1), got.says) == ("2001-03-01", "2001-03-02", ())


@pytest.mark.parametrize("gap", ["", "NaN", "nan", "NA", "N/A", "null", "None", "-", "--", " "])
def test_a_gap_is_written_in_many_ways(gap):
    got = steps(text("t,Q,P", f"{day(1)},1.0,0", f"{day(2)},{gap},0", f"{day(3)},1.0,0"))

    assert np.isnan(got.values["Q"]).tolist() == [False, True, False]


def test_a_missing_row_is_a_gap_in_every_column():
    got = steps(text("t,Q,P", f"{day(1)},1,2", f"{day(2)},1,2", f"{day(4)},3,4", f"{day(5)},3,4"))

    assert np.isnan(got.values["Q"]).tolist() == [False, False, True, False, False]
    assert np.isnan(got.values["P"]).tolist() == [False, False, True, False, False]


def test_gzip_and_a_byte_order_mark_and_semicolons_are_read():
    plain = "\ufefft;Q\n2001-03-01;1.5\n2001-03-02;1.25\n".encode()

    for data in (plain, gzip.compress(plain)):
        assert steps(data).values["Q"].tolist() == [1.5, 1.25]


def test_rows_in_another_order_are_sorted_and_that_is_said():
    got = steps(text("t,Q", f"{day(3)},3", f"{day(2)},2", f"{day(1)},1"))

    assert got.values["Q"].tolist() == [1, 2, 3]
    assert got.says == ("The rows are not in order of time; they were sorted.",)


def test_a_flow_below_nought_is_unknown_and_said():
    got = steps(text("t,Q,E", f"{day(1)},-0.002,1", f"{day(2)},-9999,-0.1"))

    assert np.isnan(got.values["Q"]).all()
    assert got.values["E"].tolist() == [1, 0]
    assert got.says == (
        "Q is below 0 in 2 rows; they are taken as unknown.",
        "E is below 0 in 1 rows; they are taken as 0.",
    )


def test_quarter_hours_are_brought_to_hours():
    rows = [f"2001-03-01 0{k // 4}:{k % 4 * 15:02},{k},0.5" for k in range(12)]
    rows[5] = rows[5][:17] + "NaN,NaN"
    rows[9] = rows[9][:17] + "NaN,NaN"
    rows[10] = rows[10][:17] + ",0.5"
    rows[11] = rows[11][:17] + ",0.5"

    got = steps(text("t,H,P", *rows), 60)

    # means of what is known from half of the quarters on, sums of all four only
    np.testing.assert_array_equal(got.values["H"], [1.5, (4 + 6 + 7) / 3, np.nan])
    np.testing.assert_array_equal(got.values["P"], [2.0, np.nan, np.nan])
    assert got.says[0].startswith("Rows 15 min apart were brought to hours")


def test_hours_are_brought_to_days():
    rows = [f"2001-03-0{1 + k // 24} {k % 24:02}:00,{k // 24},1" for k in range(48)]

    got = steps(text("t,Q,P", *rows))

    assert got.values["Q"].tolist() == [0, 1]
    assert got.values["P"].tolist() == [24, 24]


def test_days_named_by_nine_in_the_morning_stay_days():
    got = steps(text("t,Q", f"{day(1)} 09:00,1", f"{day(2)} 09:00,2"))

    assert got.words(1) == "2001-03-02"


def test_offsets_are_read_and_days_stay_those_of_the_file_over_a_change_of_clocks():
    # the clocks of central Europe went forward on 25 March 2001
    hours = text("t,Q", "2001-03-25T01:00+01:00,1", "2001-03-25T03:00+02:00,2")
    days = text(
        "t,Q", "2001-03-24T00:00+01:00,1", "2001-03-25T00:00+01:00,2", "2001-03-26T00:00+02:00,3"
    )

    assert steps(hours, 60).moment(1) == datetime(2001, 3, 25, 1, tzinfo=UTC)
    assert steps(days).values["Q"].tolist() == [1, 2, 3]
    assert steps(days).words(2) == "2001-03-26"


def test_a_repeated_hour_of_autumn_is_not_guessed():
    rows = [f"2001-10-28 {hour}:00,1" for hour in ("01", "02", "02", "03")]

    message = refused(text("t,Q", *rows), 60)

    assert message == (
        "line 4: 2001-10-28 02:00 stands in line 3 already; where the clocks go back an hour comes "
        "twice: write times in UTC or with their offset."
    )


def test_with_offsets_the_repeated_hour_is_two():
    rows = ["2001-10-28T02:00+02:00,1", "2001-10-28T02:00+01:00,2"]

    assert steps(text("t,Q", *rows), 60).values["Q"].tolist() == [1, 2]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "the file is empty; it begins with a header such as t,P,Q."),
        (text("t,Q"), "the file has a header and no rows."),
        (text("date,Q", "x,1"), "the header names date, Q; it must name t, the time of each row."),
        (text("t,Q,Q", f"{day(1)},1,2"), "the header names Q 2 times; once is right."),
        (text("t,Q", f"{day(1)},1"), "the file has one row; a record takes many."),
        (
            text("t,Q", f"{day(1)},1", "03/02/2001,1"),
            "line 3: '03/02/2001' is no time; write it as 2026-05-20 18:00.",
        ),
        (
            text("t,Q", f"{day(1)},1", "0001-01-01,1"),
            "line 3: '0001-01-01' is out of range; a record here lies in 1800 to 2200.",
        ),
        (
            text("t,Q", f"{day(1)},1", f"{day(2)}"),
            "line 3 has 1 cells; the header has 2 columns.",
        ),
        (
            text("t,P", f"{day(1)},1", f"{day(2)},-0.2"),
            "line 3: rain P is -0.2 mm; allowed is 0 to 1830 mm; a gap is an empty cell.",
        ),
        (
            text("t,Q", f"{day(1)},1", f"{day(2)},inf"),
            "line 3: flow Q is inf; allowed is -1e+07 to 1e+07; a gap is an empty cell.",
        ),
        (
            text("t,Q", f"{day(1)},1", f"{day(2)},1e99"),
            "line 3: flow Q is 1e+99; allowed is -1e+07 to 1e+07; a gap is an empty cell.",
        ),
        (
            text("t,T", f"{day(1)},280", f"{day(2)},281"),
            (
                "line 2: air temperature T is 280 degrees C; allowed is -60 to 60 degrees C; a gap "
                "is an empty cell."
            ),
        ),
        (
            text("t,Q", f"{day(1)},1", f"{day(2)},1_000"),
            "line 3: flow Q is '1_000'; write a number, or nothing for a gap.",
        ),
        (
            text("t,Q", f"{day(1)},1", f"{day(2)},low"),
            "line 3: flow Q is 'low'; write a number, or nothing for a gap.",
        ),
        (
            text("t,Q", f"{day(1)},1", f"{day(2)}T00:00Z,1"),
            (
                "line 3: '2001-03-02T00:00Z' is written with an offset, the rows above are not; "
                "all rows have one or none has."
            ),
        ),
        (
            text("t,Q", f"{day(1)},1", f"{day(2)},1", f"{day(3)} 06:00,1", f"{day(4)} 06:00,1"),
            (
                "line 4: 2001-03-03 06:00 does not lie a whole number of days after the first row, "
                "2001-03-01 00:00."
            ),
        ),
        (
            text("t,Q", "1801-01-01,1", "1801-01-02,1", "2199-01-01,1"),
            None,
        ),
        (b"t,Q\x00\n", "the file is binary (it holds NUL bytes), not text with columns."),
        (b"t,Q\n\xff\xfe,1\n", "the file is not text in UTF-8"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_line(data, message):
    if message is None:
        assert steps(data).count > 100_000
        return
    assert refused(data).startswith(message)


def test_days_are_no_hours_and_odd_rows_fill_no_step():
    days = text("t,Q", f"{day(1)},1", f"{day(2)},1", f"{day(3)},1")
    sevens = text("t,Q", *(f"2001-03-01 00:{7 * k:02},1" for k in range(8)))

    assert refused(days, 60) == (
        "rows lie 1 d apart; --step hour takes rows 1 h apart, or a whole number of rows to the "
        "hour."
    )
    assert refused(sevens, 60).startswith("rows lie 7 min apart; --step hour takes")


def test_a_span_of_centuries_of_hours_is_refused():
    rows = ["1850-01-01 00:00,1", "1850-01-01 01:00,1", "2199-01-01 00:00,1"]

    assert "are the most that are read" in refused(text("t,Q", *rows), 60)


def test_a_file_that_unpacks_without_end_is_refused():
    bomb = gzip.compress(b"t,Q\n" + b"0" * 70_000_000)

    assert refused(bomb) == "the file unpacks to more than 64,000,000 bytes; split it."


def test_a_gzip_that_breaks_off_is_refused():
    data = gzip.compress(text("t,Q", *(f"{day(k)},{k}" for k in range(1, 29))))

    assert refused(data[:-20]) == "the gzip file breaks off before its end."


@given(
    st.lists(st.tuples(st.integers(0, 200), st.binary(max_size=4)), max_size=6),
    st.booleans(),
    st.sampled_from([60, 1440]),
)
def test_a_mangled_file_is_read_or_refused_and_nothing_else(mangles, is_packed, minutes):
    data = text("t,P,Q", *(f"{day(k)},{k},{k / 2}" for k in range(1, 13)))
    data = gzip.compress(data, mtime=0) if is_packed else data
    for place, piece in mangles:
        place = min(place, len(data))
        data = data[:place] + piece + data[place + len(piece) // 2 :]

    try:
        got = steps(data, minutes)
    except FileRefused:
        return
    assert all(len(column) == got.count for column in got.values.values())
