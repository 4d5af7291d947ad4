"""Files of days: what is taken, and every hostile thing that is refused whole, by its line."""

from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.regimes.linetable import MOST_BYTES, TableRefused, text_of
from guiding.regimes.releases import Release
from guiding.regimes.schedulefile import read_schedule
from guiding.regimes.tidefile import read_tide_table
from tests.regimes.schedules import release, turns

GOOD = """date,from,to,flow
# spoken of on the telephone
2026-11-26,10:00,14:00,10 m3/s
2026-11-26,20:00,02:00,
2026-11-27,none,,
2026-11-28,06:30,,two gates
2026-11-29,22:00,24:00,
"""


def test_each_days_releases_are_read():
    assert read_schedule(GOOD) == {
        date(2026, 11, 26): (release("10:00", "14:00", "10 m3/s"), release("20:00", "02:00")),
        date(2026, 11, 27): (),
        date(2026, 11, 28): (release("06:30", None, "two gates"),),
        date(2026, 11, 29): (release("22:00", "00:00"),),
    }


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_other_delimiters_and_orders_and_line_ends_read_the_same(delimiter):
    text = "\ufefffrom,date\r\n10:00,2026-11-26\r\n".replace(",", delimiter)

    assert read_schedule(text_of(text.encode())) == {date(2026, 11, 26): (release("10:00"),)}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "nothing stands there; the first line names date, from, to, flow"),
        ("date,from\n", "a header stands there and no line under it"),
        ("date,to\n2026-11-26,10:00", "line 1: column 'from' is missing"),
        ("date,from,spill\n", "line 1: column 'spill' is not known; allowed are date, from"),
        ("date,from,from\n", "line 1: a column stands there twice"),
        ("2026-11-26,10:00", "line 1: column '2026-11-26' is not known"),
        ("date,from\n26/11/2026,10:00", "line 2: date is '26/11/2026'; write it as 2026-11-26"),
        ("date,from\n2026-02-30,10:00", "line 2: date is '2026-02-30'"),
        ("date,from\n1926-02-20,10:00", "allowed are the years 2000 to 2100"),
        ("date,from\n2026-11-26,25:00", "line 2: from is '25:00'"),
        ("date,from\n2026-11-26,24:00", "line 2: from is '24:00'"),
        ("date,from\n2026-11-26,10am", "line 2: from is '10am'; write it as 07:30"),
        ("date,from\n2026-11-26,", "line 2: from is empty; write a clock time, or none"),
        ("date,from\n2026-11-26,\u0661\u0660:00", "from is"),
        ("date,from,to\n2026-11-26,10:00,10:00", "lasts no time"),
        ("date,from,to\n2026-11-26,none,12:00", "'12:00' stands beside it"),
        ("date,from\n2026-11-26,10:00\n2026-11-26,10:00", "line 3: says what line 2 said"),
        ("date,from\n2026-11-26,10:00\n2026-11-26,none", "line 3: 2026-11-26 has a release and"),
        ("date,from\n2026-11-26,none\n2026-11-26,10:00", "line 3: 2026-11-26 has a release and"),
        ("date,from\n2026-11-26,10:00,12:00", "line 2: has 3 cells; the header names 2"),
        ('date,from\n2026-11-26,"10:00', "line 2: cannot be cut into columns"),
        (f"date,from,flow\n2026-11-26,10:00,{'x' * 61}", "flow has 61 characters; at most 60"),
        (f"date,from\n{'x' * 501}", "line 2: has more than 500 characters"),
        ("date,from\n" + "2026-11-26,10:00\n" * 3001, "3,002 lines stand there; at most 3,000"),
        (
            "date,from\n"
            + "\n".join(f"2026-11-26,{h:02d}:{m:02d}" for h in range(13) for m in (0, 30)),
            "2026-11-26 has more than 24 releases",
        ),
    ],
)
def test_a_file_with_one_bad_line_is_refused_whole_in_one_line(text, why):
    with pytest.raises(TableRefused) as refused:
        read_schedule(text)

    assert why in str(refused.value)
    assert "\n" not in str(refused.value)


def test_every_bad_line_is_named():
    with pytest.raises(TableRefused) as refused:
        read_schedule("date,from\n2026-11-26,ten\n2026-11-27,10:00\nnever,10:00\n")

    assert [problem.split(":")[0] for problem in refused.value.problems] == ["line 2", "line 4"]
    assert str(refused.value).endswith("(and 1 more problem)")


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"\xff\xfe\x00d", "is not text in UTF-8"),
        (b"date,from\n2026-11-26,10:00\x00", "holds control characters"),
        (b"x" * (MOST_BYTES + 1), "has more than 200,000 bytes"),
        (b"\x1f\x8b\x08\x00", "is not text in UTF-8"),
    ],
)
def test_bytes_that_are_no_table_are_refused(data, why):
    with pytest.raises(TableRefused, match=why):
        text_of(data)


@given(st.text(max_size=300))
def test_any_text_is_read_or_refused_in_one_line(text):
    for lines in (text, f"date,from,to,flow\n{text}", f"date,time,turn\n{text}"):
        for read in (read_schedule, lambda t: read_tide_table(t, twice_a_day=True)):
            assert len(refusal_of(read, lines).splitlines()) <= 1


def refusal_of(read, text):
    """Return why a text is refused, or nothing."""
    try:
        read(text)
    except TableRefused as refusal:
        return str(refusal)
    return ""


@given(
    st.dictionaries(
        st.dates(min_value=date(2026, 1, 1), max_value=date(2027, 1, 1)),
        st.lists(
            st.builds(
                Release,
                starts=st.times().map(lambda t: time(t.hour, t.minute)),
                ends=st.none(),
            ),
            max_size=4,
            unique=True,
        ),
        min_size=1,
        max_size=5,
    )
)
def test_what_is_written_out_comes_back(days):
    lines = ["date,from"]
    for day, found in days.items():
        lines += [f"{day},{one.starts:%H:%M}" for one in found] or [f"{day},none"]

    back = read_schedule("\n".join(lines))

    assert {day: set(found) for day, found in back.items()} == {
        day: set(found) for day, found in days.items()
    }


TIDES = """date,time,height,turn
2026-11-26,01:40,4.6,HW
2026-11-26,07:50,0.9,LW
2026-11-26,14:10,4.8,high
2026-11-26,20:20,,low
"""


def test_a_tide_table_is_read_by_day():
    assert read_tide_table(TIDES, twice_a_day=True) == {
        date(2026, 11, 26): turns("high 01:40 4.6", "low 07:50 0.9", "high 14:10 4.8", "low 20:20")
    }


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        ("2026-11-26,14:10,4.8,high\n", "", "line 4: 2026-11-26 is not whole"),
        (",HW", ",flood", "line 2: turn is 'flood'; it is high or low"),
        ("4.6", "four", "line 2: height is 'four'; write metres with a point"),
        ("4.6", "46", "a tide's height is -5 to 20 m"),
        ("4.6", "nan", "a tide's height is -5 to 20 m"),
        ("01:40", "1.40", "line 2: time is '1.40'"),
        ("LW", "HW", "are both high"),
    ],
)
def test_a_tide_table_that_cannot_be_is_refused_by_its_line(before, after, why):
    with pytest.raises(TableRefused) as refused:
        read_tide_table(TIDES.replace(before, after), twice_a_day=True)

    assert why in str(refused.value)
