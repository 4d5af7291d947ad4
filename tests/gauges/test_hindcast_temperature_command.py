"""`hindcast_temperature`: files in, scores out, and every broken file in one line."""

import gzip
import json
from io import StringIO

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from tests.gauges.inventedwater import invented_water

FIRST = np.datetime64("2001-01-01")
SPLIT = "2004-01-01"
YEARS = 4


def table(river, columns=("Ta", "Tw", "Q"), *, start=0, end=None, blank="", first=FIRST):
    """Return days of a river as the text of a file; what is not known as `blank`."""
    series = {"Ta": river.air_c, "Tw": river.water_c, "Q": river.flow}
    lines = [",".join(["t", *columns])]
    for day in range(start, river.water_c.size if end is None else end):
        values = (series[name][day] for name in columns)
        cells = (blank if np.isnan(value) else f"{value:.6g}" for value in values)
        lines.append(",".join([str(first + day), *cells]))
    return "\n".join([*lines, ""])


@pytest.fixture(scope="module")
def river():
    return invented_water(YEARS)


@pytest.fixture
def write(tmp_path):
    """Return what writes a file and gives its path."""

    def written(text, name="river.csv"):
        path = tmp_path / name
        data = text.encode() if isinstance(text, str) else text
        path.write_bytes(gzip.compress(data) if name.endswith(".gz") else data)
        return path

    return written


def run(*paths, until=SPLIT, arguments=()):
    out = StringIO()
    files = [word for path in paths for word in ("--csv", str(path))]
    call_command("hindcast_temperature", *files, "--train-until", until, *arguments, stdout=out)
    return out.getvalue()


def told(*paths, arguments=(), **options):
    return json.loads(
        run(*paths, arguments=("--json", *arguments), **options),
        parse_constant=lambda word: pytest.fail(f"{word} is no JSON"),
    )


def refused(*paths, **options):
    with pytest.raises(CommandError) as refusal:
        run(*paths, **options)
    assert refusal.value.returncode == 2
    message = str(refusal.value)
    assert "\n" not in message
    return message


def test_each_lead_has_its_scores(river, write):
    answer = told(write(table(river)))

    assert answer["train"] == {"from": "2001-01-01", "to": "2003-12-31", "n": 1095}
    assert [row["lead"] for row in answer["leads"]] == [1, 3, 5]
    for row in answer["leads"]:
        assert set(row) == {"lead", "n", "unknown", "rmse", "pi", "cover80"}
        assert row["n"] > 350
        assert 0.7 < row["cover80"] < 0.9
        assert row["pi"] > 0.5
    assert answer["says"] == []


def test_for_reading_it_is_a_table(river, write):
    lines = run(write(table(river))).splitlines()

    assert lines[0].startswith("river.csv: ")
    assert "1,095 days of water" in lines[1]
    assert lines[-3].split()[:2] == ["1", "d"]


def test_two_files_of_one_river_are_joined_whatever_their_order(river, write):
    whole = told(write(table(river)))
    early = write(table(river, end=1100), "early.csv.gz")
    late = write(table(river, start=1100), "late.csv")

    joined = told(late, early)

    assert joined["leads"] == whole["leads"]
    assert joined["river"] == "late.csv + early.csv.gz"


def test_gaps_may_be_blank_a_word_a_missing_row_or_999(river, write):
    torn = invented_water(YEARS)
    torn.water_c[500:520] = np.nan
    torn.air_c[700:703] = np.nan
    rows = table(torn).splitlines()

    blank = told(write(table(torn)))
    number = told(write(table(torn, blank="-999")))
    gone = told(write("\n".join(row for row in rows if ",,," not in row), "gone.csv"))
    word = told(write(table(torn, blank="NaN")))

    assert blank["leads"] == number["leads"] == gone["leads"] == word["leads"]
    assert number["says"] == [
        f"{write(table(torn, blank='-999'))}: {name} is -999 or -9999 in {count} rows; "
        "taken as a gap."
        for name, count in (("Ta", 3), ("Tw", 20))
    ]


def test_without_air_or_flow_it_goes_on_and_says_so(river, write):
    bare = told(write(table(river, ("Tw",))))

    assert bare["says"] == [
        "There is no column Ta: made without the air temperature.",
        "There is no column Q: made without the flow.",
    ]
    assert bare["leads"][0]["n"] > 350
    assert bare["leads"][2]["rmse"] > told(write(table(river)))["leads"][2]["rmse"]


def test_air_that_is_missing_where_it_is_needed_is_said(write):
    torn = invented_water(YEARS)
    torn.air_c[1200:1210] = np.nan

    answer = told(write(table(torn)))

    assert answer["says"][0].startswith("The air is not on file on 10 of the ")
    assert answer["leads"][0]["unknown"] == 0


def test_what_comes_after_the_split_changes_nothing_before_a_forecast(river, write):
    other = invented_water(YEARS)
    other.water_c[-1] += 9

    mine = told(write(table(river)), arguments=("--leads", "1"))["leads"][0]
    theirs = told(write(table(other)), arguments=("--leads", "1"))["leads"][0]

    # one target of n moved by 9: only its own error has changed
    moved = theirs["n"] * (theirs["rmse"] ** 2 - mine["rmse"] ** 2)
    assert 9 * (9 - 8) < moved < 9 * (9 + 8)
    assert mine["n"] == theirs["n"]


def test_quarter_hours_are_brought_to_days_and_that_is_said(write):
    river = invented_water(1.2)
    lines = ["t,Ta,Tw,Q"]
    for day in range(river.water_c.size):
        for hour in range(0, 24, 6):
            moment = f"{FIRST + day} {hour:02}:00"
            lines.append(f"{moment},{river.air_c[day]},{river.water_c[day]},{river.flow[day]:.4g}")

    answer = told(write("\n".join(lines)), until="2001-12-15")

    assert answer["train"]["n"] == 348
    assert "brought to days" in answer["says"][0]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the file is empty"),
        ("t,Ta,Tw,Q\n", "a header and no rows"),
        ("when,Ta,Tw,Q\n2001-01-01,1,2,3\n", "must name t"),
        ("t,Ta,Q\n2001-01-01,1,2\n2001-01-02,1,2\n", "no water temperature; a column Tw"),
        ("t,Tw\n2001-01-01,\n2001-01-02,-999\n", "no water temperature; a column Tw"),
        ("t,Tw\n2001-01-01,warm\n", "line 2: water temperature Tw is 'warm'"),
        ("t,Tw\n2001-01-01,5\n2001-01-02,-400\n", "line 3: water temperature Tw is -400"),
        ("t,Tw\n2001-01-01,5\n2001-01-02,inf\n", "line 3: water temperature Tw is inf"),
        ("t,Ta,Tw\n2001-01-01,99,5\n2001-01-02,5,5\n", "line 2: air temperature Ta is 99"),
        ("t,Tw\nyesterday,5\n", "'yesterday' is no time"),
        ("t,Tw\n2001-01-01,5,6\n", "line 2 has 3 cells"),
        ("t,Tw\n2001-01-01,5\n2001-01-01,6\n", "stands in line 2 already"),
        ("t,Tw,Tw\n2001-01-01,5,5\n", "names Tw 2 times"),
        (b"\x1f\x8b\x08broken", "gzip"),
        (b"\x00\x01\x02", "binary"),
    ],
)
def test_a_file_that_is_none_is_refused_in_one_line_that_names_it(write, text, message):
    path = write(text)

    said = refused(path)

    assert message in said
    assert str(path) in said


def test_the_same_day_in_two_files_is_refused(river, write):
    one, other = write(table(river, end=900), "a.csv"), write(table(river, start=899), "b.csv")

    assert "stands in both" in refused(one, other)


@pytest.mark.parametrize(
    ("until", "message"),
    [
        ("2001-05-01", "120 days of water temperature are on file; it takes 300"),
        ("1999-01-01", "the record runs from 2001-01-01 to"),
        ("2031-01-01", "the record runs from 2001-01-01 to"),
    ],
)
def test_a_split_that_leaves_too_little_is_refused(river, write, until, message):
    assert message in refused(write(table(river)), until=until)


@pytest.mark.parametrize("leads", ["0", "11", "1,,3", "one", "-1", "1.5", "", "²", "9" * 40])
def test_leads_are_whole_days_from_1_to_10(river, write, leads):
    assert "1 to 10" in refused(write(table(river)), arguments=("--leads", leads))


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert "does not exist" in refused(tmp_path / "none.csv")
