"""One pass in the background: forecast, documents, letters, and what happens when one fails."""

import json
import re
import signal
import subprocess
import sys
import time
from datetime import timedelta

import pytest
import time_machine
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.test.utils import CaptureQueriesContext

from guiding.desk import chores
from guiding.desk.chores import Done, do_chores, forecast_gauges
from guiding.gauges.forecast_due import is_forecast_due
from guiding.gauges.models import Forecast, Gauge, ReadingImport, WeatherRun
from guiding.mail.models import LINK_PLACEHOLDER, Letter
from tests.briefings.pack_examples import FINAL
from tests.factories import make_booking, make_briefing, make_letter, make_river
from tests.races import HOUSE, environment

LONG_TABLES = [
    f"gauges_{name}"
    for name in ("forecast", "forecastscore", "reading", "readingimport", "weatherrun")
]


def make_gauge(**changes):
    fields = {"river": make_river(), "name": "Alder Bridge", "latitude": 57.5, "longitude": -4.5}
    fields = {**fields, "lowest_m": -0.5, "highest_m": 6, "step_minutes": 60, **changes}
    return Gauge.objects.create(**fields)


def waiting_letter(briefing, at):
    return make_letter(
        about=f"briefing {briefing.key}",
        to_address=briefing.person.email,
        text=f"{FINAL.danger}\nYour page: {LINK_PLACEHOLDER}",
        link_for=f"{briefing.booking.key}:{briefing.person.key}",
        waits_for_document=True,
        at=at,
    )


@pytest.mark.django_db
def test_one_pass_forecasts_writes_the_pack_and_sends_it_with_a_link_that_opens(
    client, mailoutbox, moment
):
    make_gauge()
    briefing = make_briefing()
    waiting_letter(briefing, moment)

    first, again = do_chores(moment), do_chores(moment + timedelta(minutes=1))

    assert first.failed == again.failed == ()
    assert first.counts == {
        "readings_fetched": 0,
        "runs_fetched": 0,
        "fits": 0,
        "fits_taken": 0,
        "forecasts": 1,
        "scores": 0,
        "paths_dropped": 0,
        "clearings": 0,
        "documents": 1,
        "letters_sent": 1,
        "letters_failed": 0,
        "letters_given_up": 0,
    }
    assert set(again.counts.values()) == {0}
    (message,) = mailoutbox
    briefing.refresh_from_db()
    (name, data, media_type) = message.attachments[0]
    assert (data, media_type) == (briefing.document.read(), "application/pdf")
    assert name.endswith(".pdf")
    assert data.startswith(b"%PDF-")
    address = re.search(r"https?://\S+", message.body).group()
    with time_machine.travel(moment, tick=False):
        page = client.get(address.removeprefix("http://127.0.0.1:8000"), follow=True)
    assert FINAL.wading in page.content.decode()


@pytest.mark.django_db
def test_a_forecast_is_due_after_a_step_or_when_something_came_in(moment):
    gauge = make_gauge()
    assert is_forecast_due(gauge, moment)
    forecast_gauges(moment)

    def due(minutes):
        return is_forecast_due(gauge, moment + timedelta(minutes=minutes))

    assert (due(0), due(59), due(60)) == (False, False, True)
    ReadingImport.objects.create(
        gauge=gauge, imported_at=moment + timedelta(minutes=10), name="typed in"
    )
    assert (due(9), due(10)) == (False, True)
    ReadingImport.objects.all().delete()
    WeatherRun.objects.create(
        gauge=gauge,
        issued_at=moment - timedelta(hours=1),
        fetched_at=moment + timedelta(minutes=20),
        source="a run",
        raw={},
    )
    assert (due(19), due(20)) == (False, True)


@pytest.mark.django_db
def test_a_gauge_that_fails_stops_neither_the_others_nor_the_letters(
    monkeypatch, mailoutbox, moment
):
    for name in ("Broken", "Sound"):
        make_gauge(name=name)
    make_letter(at=moment)
    issue = chores.issue_forecast

    def stumble(gauge, *, at):
        if gauge.name == "Broken":
            raise ZeroDivisionError("no water")
        return issue(gauge, at=at)

    monkeypatch.setattr(chores, "issue_forecast", stumble)

    done = do_chores(moment)

    assert done.failed == ("forecast of Broken: no water",)
    assert [f.gauge.name for f in Forecast.objects.all()] == ["Sound"]
    assert len(mailoutbox) == 1


@pytest.mark.django_db
def test_a_verb_that_fails_as_a_whole_is_reported_and_the_rest_is_done(moment):
    def break_down(at):
        raise OSError("disk full")

    def count_one(at):
        return Done(counts={"things": 1})

    done = do_chores(moment, chores=(break_down, count_one))

    assert done == Done(counts={"things": 1}, failed=("break_down: OSError: disk full",))


def test_no_other_verb_is_begun_once_it_is_stopped(moment):
    begun = []

    def verb(at):
        begun.append(at)
        return Done()

    do_chores(moment, chores=(verb, verb, verb), is_stopped=lambda: len(begun) == 2)

    assert begun == [moment, moment]


@pytest.mark.django_db
def test_tend_prints_one_object_of_counts(capsys, mailoutbox, moment):
    make_letter(at=moment)
    before = signal.getsignal(signal.SIGTERM)

    call_command("tend", "--json", "--at", moment.isoformat())

    assert json.loads(capsys.readouterr().out) == {
        "readings_fetched": 0,
        "runs_fetched": 0,
        "fits": 0,
        "fits_taken": 0,
        "forecasts": 0,
        "scores": 0,
        "paths_dropped": 0,
        "clearings": 0,
        "documents": 0,
        "letters_sent": 1,
        "letters_failed": 0,
        "letters_given_up": 0,
        "failed": 0,
    }
    assert signal.getsignal(signal.SIGTERM) is before


@pytest.mark.django_db
def test_tend_says_what_failed_and_exits_with_one(capsys, mailoutbox, moment):
    booking = make_booking(at=moment)
    make_letter(text=f"See {LINK_PLACEHOLDER}", link_for="nobody", at=moment)
    make_letter(at=moment)
    make_letter(
        text=f"See {LINK_PLACEHOLDER}",
        link_for=f"{booking.key}:{make_booking().payer.key}",
        at=moment,
    )

    with pytest.raises(SystemExit) as ended:
        call_command("tend", "--json", "--at", moment.isoformat())

    assert ended.value.code == 1
    printed = capsys.readouterr()
    counts = json.loads(printed.out)
    assert (counts["letters_sent"], counts["letters_failed"]) == (1, 1)
    assert (counts["letters_given_up"], counts["failed"]) == (1, 2)
    assert "1 letters could not be sent" in printed.err
    assert Letter.objects.filter(sent_at__isnull=False).count() == 1


@pytest.mark.parametrize(
    "words", [["--every", "0"], ["--every", "x"], ["--every", "5", "--at", "2026-05-20T09:00"]]
)
def test_tend_refuses_what_makes_no_sense(words):
    with pytest.raises(CommandError):
        call_command("tend", *words)


@pytest.mark.parametrize("which", [signal.SIGTERM, signal.SIGINT])
def test_tend_goes_on_until_it_is_asked_to_stop_and_then_ends_cleanly(sqlite_url, which):
    process = subprocess.Popen(
        [sys.executable, "manage.py", "tend", "--every", "1", "--json"],
        cwd=HOUSE,
        env=environment(sqlite_url),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        passes = [json.loads(process.stdout.readline()) for _ in range(2)]
        asked = time.monotonic()
        process.send_signal(which)
        _, complaints = process.communicate(timeout=10)
    finally:
        process.kill()

    assert [p["failed"] for p in passes] == [0, 0]
    assert process.returncode == 0
    assert complaints == ""
    assert time.monotonic() - asked < 5


@pytest.mark.django_db
def test_a_pass_with_nothing_due_asks_the_same_and_walks_through_no_history(moment):
    gauge = make_gauge()

    def fill(hours):
        times = [moment - timedelta(hours=k) for k in range(hours)]
        kept = {"model": "m", "step_minutes": 60, "quantiles": {}}
        Forecast.objects.bulk_create(Forecast(gauge=gauge, issued_at=at, **kept) for at in times)
        ReadingImport.objects.bulk_create(
            ReadingImport(gauge=gauge, imported_at=at, name="an hour") for at in times
        )

    def asked():
        with CaptureQueriesContext(connection) as queries:
            assert set(do_chores(moment).counts.values()) == {0}
        return [q["sql"] for q in queries]

    fill(24)
    few = asked()
    fill(24 * 40)
    many = asked()

    assert len(few) == len(many)
    assert not [sql for sql in many if '"gauges_reading"' in sql]
    with connection.cursor() as cursor:
        for sql in many:
            if sql.startswith("SELECT"):
                cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
                for *_, step in cursor.fetchall():
                    is_short = "USING INDEX forecast_" in step  # of those that wait, and no others
                    walks = [name for name in LONG_TABLES if f"SCAN {name} " in f"{step} "]
                    assert is_short or not walks, sql
