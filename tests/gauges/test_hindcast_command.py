import gzip
import json
import subprocess
import sys
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from tests.gauges.inventedriver import invented_river

HOUSE = Path(__file__).resolve().parents[2]
SPLIT = "2002-07-01"
SCORES = {"lead", "n", "rmse", "pi", "crps", "crpss", "cover80"}


def flow_of(level):
    return np.maximum((level - 0.2) / 0.35, 0.01) ** 2


def written(path, columns, *, first="2000-01-01", step="D", order=None):
    count = len(next(iter(columns.values())))
    times = np.datetime64(first) + np.arange(count).astype(f"timedelta64[{step}]")
    names = list(columns)
    rows = [
        ",".join([str(moment).replace("T", " "), *(f"{columns[name][k]:.6g}" for name in names)])
        for k, moment in enumerate(times)
    ]
    lines = [",".join(["t", *names]), *(rows if order is None else rows[::order])]
    data = "\n".join([*lines, ""]).encode()
    path.write_bytes(gzip.compress(data) if path.suffix == ".gz" else data)
    return path


def run(path, *arguments, step="day", level_from="Q", until=SPLIT, **options):
    out = StringIO()
    call_command(
        "hindcast",
        *("--csv", str(path), "--step", step, "--level-from", level_from),
        *("--train-until", until, "--origins", "80", *arguments),
        stdout=out,
        **options,
    )
    return out.getvalue()


def told(path, *arguments, **options):
    return json.loads(
        run(path, "--json", *arguments, **options),
        parse_constant=lambda word: pytest.fail(f"{word} is no JSON"),
    )


def numbers(answer):
    return {key: answer[key] for key in ("leads", "peers", "train", "says")}


@pytest.fixture(scope="module")
def river():
    level, rain = invented_river(3.001, 1440, seed=5)
    return {"P": rain, "Q": flow_of(level), "H": level}


@pytest.fixture(scope="module")
def file(river, tmp_path_factory):
    columns = {"P": river["P"], "Q": river["Q"]}
    return written(tmp_path_factory.mktemp("river") / "alder_d.csv.gz", columns)


@pytest.fixture(scope="module")
def answer(file):
    return told(file, "--peers")


def test_the_object_has_the_promised_shape(answer):
    assert {"river", "step", "rain", "train", "fit_s", "forecast_s", "leads", "peers"} <= set(
        answer
    )
    assert (answer["river"], answer["step"], answer["rain"]) == ("alder_d", "day", "true")
    assert answer["train"] == {"from": "2000-01-01", "to": "2002-06-30", "n": 912}
    assert [row["lead"] for row in answer["leads"]] == [1, 2, 3, 4, 5]
    assert set(answer["peers"]) == {"persistence", "recession"}
    for rows in (answer["leads"], *answer["peers"].values()):
        assert all(set(row) == SCORES and row["n"] >= 75 for row in rows)
    assert answer["fit_s"] > 0
    assert answer["forecast_s"] > 0


def test_it_beats_its_peers_on_a_river_of_rain_and_stores(answer):
    for row, falls in zip(answer["leads"], answer["peers"]["recession"], strict=True):
        assert row["pi"] > max(0.5, falls["pi"])
        assert row["crpss"] > max(0.3, falls["crpss"])
        assert 0.6 <= row["cover80"] <= 0.95
    assert all(row["pi"] == row["crpss"] == 0 for row in answer["peers"]["persistence"])


def test_the_same_seed_gives_the_same_numbers(file, answer):
    assert numbers(told(file, "--peers")) == numbers(answer)


def test_the_unit_of_flow_and_the_order_of_rows_and_columns_change_nothing(river, answer, tmp_path):
    litres = written(
        tmp_path / "alder_d.csv",
        {"Q": river["Q"] * 1000, "note": river["H"], "P": river["P"]},
        order=-1,
    )

    got = told(litres, "--peers")

    assert got["says"][0] == "The rows are not in order of time; they were sorted."
    for row, other in zip(got["leads"], answer["leads"], strict=True):
        assert row == pytest.approx(other, abs=2e-3)


def test_what_comes_after_the_last_target_changes_nothing(river, tmp_path):
    """The fit looks at nothing after the split, and a forecast at nothing after its origin."""
    split, origins = 912, ("--origins", "1", "--leads", "1,2")
    later = {name: column.copy() for name, column in river.items()}
    later["Q"][split + 6 :] *= 7
    later["P"][split + 6 :] += 30
    del later["H"]
    plain = written(tmp_path / "a.csv", {"Q": river["Q"], "P": river["P"]})
    changed = written(tmp_path / "b.csv", {"Q": later["Q"], "P": later["P"]})

    assert told(plain, *origins)["leads"] == told(changed, *origins)["leads"]


def test_a_level_is_scored_as_it_was_measured(river, tmp_path):
    path = written(tmp_path / "alder.csv", {"P": river["P"], "H": river["H"]})

    got = told(path, "--leads", "2,1,2", level_from="H")

    assert [row["lead"] for row in got["leads"]] == [1, 2]
    assert got["peers"] == {"persistence": [], "recession": []}
    assert not any("sqrt" in said for said in got["says"])
    assert 0 < got["leads"][0]["crps"] < 0.1


def test_without_rain_in_the_file_it_says_so(river, tmp_path):
    path = written(tmp_path / "alder.csv", {"H": river["H"]})

    got = told(path, level_from="H")

    assert got["rain"] == "none"
    assert any("There is no rain in the file" in said for said in got["says"])
    assert got["leads"][0]["n"] > 0
    with pytest.raises(CommandError, match="has no rain P; --rain degraded takes it"):
        run(path, "--rain", "degraded", level_from="H")


def test_where_the_rain_behind_is_missing_it_says_nothing_and_how_often(river, tmp_path):
    rain = river["P"].copy()
    rain[1000:] = np.nan
    path = written(tmp_path / "alder.csv", {"P": rain, "Q": river["Q"]})

    got = told(path, "--leads", "1")

    assert 0 < got["leads"][0]["n"] < 60
    silent = 80 - got["leads"][0]["n"]
    assert f"Moments at which it says nothing, by lead: 1 days: {silent} of 80." in got["says"]


def test_air_in_the_file_is_given_as_the_rain_is_and_that_is_said(river, tmp_path):
    day = np.arange(len(river["P"]))
    air = 8 - 10 * np.cos(2 * np.pi * day / 365.25)
    path = written(tmp_path / "alder.csv", {"P": river["P"], "Q": river["Q"], "T": air})

    said = " ".join(told(path, "--leads", "1", "--rain", "degraded")["says"])

    assert "The air of the days ahead is given to the forecasts made as uncertain" in said
    assert "Evaporation is worked out from air temperature for every step" in said


def test_a_river_that_never_moves_has_no_skill_and_that_is_no_number(tmp_path):
    path = written(tmp_path / "pond.csv", {"P": np.ones(500), "Q": np.full(500, 3.0)})

    row = told(path, "--leads", "1", until="2001-01-01")["leads"][0]
    lines = run(path, "--leads", "1", until="2001-01-01").splitlines()

    assert (row["pi"], row["crpss"], row["rmse"]) == (None, None, 0.0)
    assert lines[-1].split()[-5:] == ["not", "known", "0.0000", "not", "known", "1.000"][-5:]


def test_worse_rain_is_a_worse_forecast(file, answer):
    degraded = told(file, "--rain", "degraded")["leads"][-1]
    none = told(file, "--rain", "none")["leads"][-1]

    assert answer["leads"][-1]["crps"] < degraded["crps"] < none["crps"]


def test_a_few_weeks_fall_back_and_say_so(file):
    got = told(file, "--peers", until="2000-03-01")

    assert "like windows" in got["model"]
    assert any("instead: recession and like windows" in said for said in got["says"])
    assert got["leads"][0]["n"] > 0
    assert got["train"]["n"] == 60


def test_hours_are_read_and_scored_by_the_hour(tmp_path):
    level, rain = invented_river(0.4, 60)
    path = written(tmp_path / "alder_h.csv", {"P": rain, "H": level}, step="h")

    got = told(path, "--leads", "6,24", step="hour", level_from="H", until="2000-04-20T12:00")

    assert [row["lead"] for row in got["leads"]] == [6, 24]
    assert got["train"]["to"] == "2000-04-20T11:00:00+00:00"
    assert got["leads"][0]["pi"] > 0


def test_for_reading_it_prints_a_table(file):
    lines = run(file, "--peers", "--leads", "1,5").splitlines()

    assert lines[0].startswith("alder_d: ")
    assert "rain: true" in lines[1]
    assert "trained on 912 levels, 2000-01-01 to 2002-06-30" in lines
    assert sum(line.startswith("  1 d") for line in lines) == 3
    assert any("(persistence)" in line for line in lines)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"until": "1999-01-01"}, r"--train-until is 1999-01-01T00:00:00\+00:00; .* runs from"),
        ({"until": "2010-01-01"}, "runs from 2000-01-01 to 2002-12-31"),
        ({"until": "soon"}, "'soon' is not a moment"),
        ({"leads": "0"}, "'0' is out of range; a whole number from 1 to 120"),
        ({"leads": "6"}, "a lead is 6; with --step day leads are 1 to 5 days"),
        ({"leads": "1,,2"}, "'' is out of range"),
        ({"leads": "1.5"}, "is out of range"),
        ({"step": "hour"}, "rows lie 1 d apart; --step hour takes rows 1 h apart"),
        ({"level_from": "H"}, "has no column H; beside t it has P, Q"),
        ({"seed": "-1"}, "is out of range; a whole number from 0"),
        ({"origins": "0"}, "is out of range; a whole number from 1"),
        ({"rain": "heavy"}, "invalid choice: 'heavy'"),
    ],
)
def test_what_cannot_be_asked_is_refused(file, arguments, message):
    flags = [
        part
        for name in ("leads", "seed", "origins", "rain")
        if name in arguments
        for part in (f"--{name}={arguments[name]}",)
    ]
    others = {
        key: value for key, value in arguments.items() if key in ("until", "step", "level_from")
    }

    with pytest.raises(CommandError, match=message):
        run(file, *flags, **others)


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ({"Q": np.zeros(900), "P": np.ones(900)}, "half of the flow before --train-until is 0"),
        ({"Q": np.full(900, np.nan), "P": np.ones(900)}, "has no value of Q before"),
    ],
)
def test_a_river_without_water_is_refused(columns, message, tmp_path):
    path = written(tmp_path / "dry.csv", columns)

    with pytest.raises(CommandError, match=message):
        run(path, until="2001-06-01")


def test_bad_input_ends_in_exit_2_and_one_plain_line(tmp_path):
    path = tmp_path / "bad.csv"
    path.write_bytes(b"t,Q\n2001-01-01,1\n2001-01-01,2\n")
    asked = [
        "--csv",
        str(path),
        "--step",
        "day",
        "--level-from",
        "Q",
        "--train-until",
        "2001-01-02",
    ]

    got = subprocess.run(
        [sys.executable, "manage.py", "hindcast", *asked], cwd=HOUSE, capture_output=True, text=True
    )

    assert got.returncode == 2
    assert got.stdout == ""
    assert got.stderr.count("\n") == 1
    assert "line 3: 2001-01-01 00:00 stands in line 2 already" in got.stderr
