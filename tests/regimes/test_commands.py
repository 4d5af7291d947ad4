"""Files of days on the command line: told by day, refused in one line."""

import json

import pytest
from django.core.management import CommandError, call_command

from guiding.regimes.models import Schedule, TideTable
from tests import factories
from tests.regimes.schedules import make_dam, make_tide, regulated_beat

pytestmark = pytest.mark.django_db
AT = "2026-05-20T09:00Z"


@pytest.fixture
def file(tmp_path):
    def write(text):
        path = tmp_path / "days.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(path)

    return write


def test_schedules_are_loaded_once_and_changes_are_told(file, capsys):
    make_dam(regulated_beat())
    words = ("--said-by", "the board", "--at", AT, "--json")
    call_command("load_releases", "alder dam", file("date,from\n2026-05-21,none\n"), *words)
    call_command("load_releases", "alder dam", file("date,from\n2026-05-21,none\n"), *words)
    call_command("load_releases", "Alder Dam", file("date,from\n2026-05-21,10:00\n"), *words)

    first, again, changed = map(json.loads, capsys.readouterr().out.splitlines())
    assert first == {"dam": "Alder Dam", "new": ["2026-05-21"], "changed": [], "same": []}
    assert again["same"] == ["2026-05-21"]
    assert changed["changed"][0]["before"] == "no release planned"
    assert Schedule.objects.count() == 2


def test_tides_are_loaded_too(file, capsys):
    make_tide(factories.make_beat(regime="tidal"))
    text = "date,time,turn\n2026-05-20,00:40,low\n2026-05-20,06:50,high\n2026-05-20,13:10,low\n"

    call_command("load_tides", "Firth Mouth", file(text), "--said-by", "table", "--at", AT)

    assert capsys.readouterr().out == "1 day: 1 new, 0 changed, 0 as on file.\n"
    assert TideTable.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "text", "why"),
    [
        ("No Dam", "date,from\n", "no dam is called 'No Dam'; on file: Alder Dam."),
        ("\udcff", "date,from\n", "no dam is called"),
        ("Alder Dam", "", "nothing stands there"),
        ("Alder Dam", "date,from\n2026-05-21,ten\n", "line 2: from is 'ten'"),
        ("Alder Dam", b"\xff", "is not text in UTF-8"),
        ("Alder Dam", None, "is not there, or is no file"),
    ],
)
def test_what_is_not_taken_is_refused_in_one_line(file, tmp_path, name, text, why):
    make_dam(regulated_beat())
    path = str(tmp_path) if text is None else file(text)

    with pytest.raises(CommandError) as refused:
        call_command("load_releases", name, path, "--said-by", "x", "--at", AT)

    assert why in str(refused.value)
    assert "\n" not in str(refused.value)
    assert refused.value.returncode == 2
    assert not Schedule.objects.exists()
