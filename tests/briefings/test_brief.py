"""The brief command, as typed."""

import json

import pytest

from briefings.management.commands.brief import Command
from briefings.models import Briefing
from briefings.pack import printer
from guiding.bookings.offers import cancel
from tests.briefings.stored import AT, store_trip
from tests.factories import make_person

pytestmark = pytest.mark.django_db
NOW = ("--at", AT.isoformat())


@pytest.fixture
def typed(capsys):
    def run(*words):
        code = 0
        try:
            Command().run_from_argv(["manage.py", "brief", *words])
        except SystemExit as end:
            code = end.code
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


def test_a_pack_is_written_and_told_in_json(typed, tmp_path, settings):
    settings.DOCUMENTS_ROOT = tmp_path / "kept"
    store_trip()
    out = tmp_path / "pack.pdf"

    code, said, err = typed("t-brief", "--client", "ada1", "--out", str(out), "--json", *NOW)

    answer = json.loads(said)
    assert (code, err) == (0, "")
    assert list(answer) == [
        *("booking", "reader", "audience", "issue", "number", "issued_at", "valid_until"),
        *("sha256", "out"),
    ]
    assert (answer["reader"], answer["issue"], answer["number"]) == ("Ada Reed 1", "final", 1)
    assert out.read_bytes().startswith(b"%PDF-1.7")

    again = tmp_path / "again.pdf"
    typed("T-BRIEF", "--client", "Ada Reed 1", "--out", str(again), *NOW)
    assert again.read_bytes() == out.read_bytes()
    assert Briefing.objects.count() == 1


def test_the_list_names_bookings_that_can_be_briefed(typed, moment):
    trip = store_trip()

    code, said, _ = typed("--list", *NOW)
    assert code == 0
    assert said.split("\t")[:2] == ["T-BRIEF", "2026-05-28"]
    assert json.loads(typed("--list", "--json", *NOW)[1])["bookings"][0]["clients"] == [
        "Ada Reed 1"
    ]

    cancel(trip.booking, reason="client", at=moment)
    assert typed("--list", *NOW)[1] == ""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "Name a booking"),
        (("NONE", "--out", "{dir}/x.pdf"), "No booking is called 'NONE'"),
        (("T-BRIEF",), "--out is missing"),
        (("T-BRIEF", "--out", "{dir}"), "is a folder"),
        (("T-BRIEF", "--out", "{dir}/none/x.pdf"), "does not exist"),
        (("T-BRIEF", "--out", "{dir}/x.pdf", "--client", "Nobody"), "names nobody who comes on"),
        (("T-BRIEF", "--out", "{dir}/x.pdf", "--client", "Cleo"), "only pays for T-BRIEF"),
        (("T-BRIEF", "--out", "{dir}/x.pdf", "--issue", "second"), "issue"),
        (("T-BRIEF", "--out", "{dir}/x.pdf", "--at", "2027-01-01"), "no day left to brief"),
    ],
)
def test_bad_input_is_refused_in_one_line_and_nothing_is_issued(typed, tmp_path, words, said):
    store_trip(others=((make_person(name="Cleo Banks"), "payer"),))

    now = () if "--at" in words else NOW
    code, out, err = typed(*(word.format(dir=tmp_path) for word in words), *now)

    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert said in err
    assert not Briefing.objects.exists()
    assert list(tmp_path.iterdir()) == []


def test_two_who_go_by_one_name_have_to_be_told_apart(typed, tmp_path):
    trip = store_trip(rods=2)
    for person in trip.people:
        person.short_name = "Ada"
        person.save()

    code, _, err = typed("T-BRIEF", "--client", "ada", "--out", f"{tmp_path}/x.pdf", *NOW)

    assert code == 2
    assert "'ada' names 2 people: Ada Reed 1, Ada Reed 2. Give the full name." in err


def test_a_full_name_wins_over_somebody_elses_short_one(typed, tmp_path, monkeypatch):
    trip = store_trip(rods=2)
    trip.people[1].short_name = "Ada Reed 1"
    trip.people[1].save()

    found = Command()._person(trip.booking, "ada reed 1")

    assert found == trip.ada


def test_a_file_that_may_not_be_written_is_refused_before_anything_is_issued(
    typed, tmp_path, monkeypatch
):
    store_trip()
    # whoever is root may write anywhere, so the system's answer is put in its mouth
    monkeypatch.setattr("briefings.management.commands.brief.os.access", lambda *_: False)

    code, _, err = typed("T-BRIEF", "--out", f"{tmp_path}/x.pdf", *NOW)

    assert code == 2
    assert "may not be written" in err
    assert not Briefing.objects.exists()


def test_a_booking_called_off_is_refused(typed, tmp_path, moment):
    cancel(store_trip().booking, reason="client", at=moment)

    code, _, err = typed("T-BRIEF", "--out", f"{tmp_path}/x.pdf", *NOW)

    assert code == 2
    assert "T-BRIEF was called off" in err


def test_a_box_that_cannot_print_says_what_to_install(typed, tmp_path, monkeypatch):
    store_trip()

    def lacks(_name):
        raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(printer.importlib, "import_module", lacks)
    code, _, err = typed("T-BRIEF", "--out", f"{tmp_path}/x.pdf", *NOW)

    assert code == 2
    assert err.count("\n") == 1
    assert "sudo apt-get install -y libpangoft2-1.0-0" in err
    assert not Briefing.objects.exists()


def test_a_first_issue_after_the_final_one_is_refused_in_one_line(typed, tmp_path, settings):
    settings.DOCUMENTS_ROOT = tmp_path / "kept"
    store_trip()
    words = ("T-BRIEF", "--client", "Ada Reed 1", "--out", f"{tmp_path}/x.pdf", *NOW)
    typed(*words, "--issue", "final")
    written = (tmp_path / "x.pdf").read_bytes()

    code, out, err = typed(*words, "--issue", "first")

    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "has final issue 1 for Thursday 28 May already" in err
    assert "write the final issue again" in err
    assert (tmp_path / "x.pdf").read_bytes() == written
    assert Briefing.objects.count() == 1
