import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from guiding.gauges.models import Mark
from guiding.gauges.now import river_now
from tests.factories import make_gauge, make_readings
from tests.gauges.inventedriver import invented_river

LAST = datetime(2026, 5, 20, 9, tzinfo=UTC)


def run(*arguments):
    out = StringIO()
    call_command("forecast", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def gauge(db):
    gauge = make_gauge(name="Alder Bridge")
    level, _ = invented_river(1.2)
    times = [LAST - timedelta(hours=k) for k in range(len(level))][::-1]
    make_readings(gauge, "level_m", zip(times, level.tolist(), strict=True))
    Mark.objects.create(gauge=gauge, kind="high", level_m=0.9)
    return gauge


def test_json_carries_the_promised_keys(gauge):
    told = json.loads(run("alder bridge", "--at", "2026-05-20T09:10Z", "--json"))

    assert {"issued_at", "model", "inputs", "steps", "marks"} <= told.keys()
    assert told["issued_at"] == "2026-05-20T09:10:00+00:00"
    assert set(told["inputs"][0]) == {"what", "observed_at", "age_hours", "source"}
    assert len(told["steps"]) == 120
    assert set(told["steps"][0]) == {"time", "q10", "q50", "q90"}
    assert set(told["marks"][0]) == {"name", "level_m", "direction", "p24", "p48", "p120"}


def test_the_sentence_comes_first_and_the_sources_last(gauge):
    lines = run("Alder Bridge", "--at", "2026-05-20T09:10Z").splitlines()

    assert lines[0].startswith("Alder Bridge: ")
    assert "four times in five between" in lines[0]
    assert any(line.startswith("rises above 0.90 m, high: ") for line in lines)
    assert lines[-2] == "weather run: no reading, none on file"
    assert lines[-1].startswith("river model: none is fitted here yet")


def test_a_gauge_without_a_reading_is_an_answer_and_not_an_error(db):
    make_gauge(name="New Post")

    told = json.loads(run("New Post", "--at", "2026-05-20T09:10Z", "--json"))
    lines = run("New Post", "--at", "2026-05-20T09:10Z")

    assert {step["q50"] for step in told["steps"]} == {None}
    assert told["says"][0] == "Not known: no level has been read at this gauge yet."
    assert "is not known" in lines.splitlines()[0]
    assert "not known from" in lines


def test_an_unknown_gauge_is_refused_with_the_names_on_file(gauge):
    with pytest.raises(CommandError, match=r"No gauge is named 'Elder'\. On file: Alder Bridge\."):
        run("Elder")


def test_a_moment_that_is_none_is_refused(gauge):
    with pytest.raises(CommandError, match="is not a moment"):
        run("Alder Bridge", "--at", "yesterday")


def test_no_scipy_is_loaded_by_what_the_pages_import():
    house = Path(__file__).resolve().parents[2]
    code = (
        "import sys; import guiding.gauges.hydrology.outlook; "
        "bad = {'scipy', 'django', 'weasyprint'} & set(sys.modules); "
        "sys.exit(str(bad) if bad else 0)"
    )

    done = subprocess.run([sys.executable, "-c", code], cwd=house, capture_output=True, text=True)

    assert done.returncode == 0, done.stderr


def test_the_command_and_the_rivers_page_begin_with_the_same_word(gauge):
    first = run("Alder Bridge", "--at", "2026-05-20T09:10Z").splitlines()[0]
    page = river_now(gauge, datetime(2026, 5, 20, 9, 10, tzinfo=UTC)).sentence

    word = page.split(".")[0]
    assert word in {"Rising", "Probably rising", "Falling", "Probably falling", "Steady"}
    assert first.startswith(f"Alder Bridge: {word}. Most likely")
