"""Every agency, well and badly: old data stay, the source is marked, nothing is doubled or lost."""

import gzip
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from werkzeug import Response

from guiding.feeds import fetching
from guiding.feeds.models import Address, BadBody, Feed
from guiding.gauges.models import Gauge, ReadingRevision, Series
from tests.feeds.cases import CASES, opw_rows
from tests.feeds.conftest import STEP, on_file, passes, rows_until
from tests.feeds.rawserver import drip

pytestmark = pytest.mark.django_db
EVERY = pytest.mark.parametrize("case", CASES, ids=lambda case: case.code)
LATER = timedelta(hours=30)  # everything is due again


@EVERY
def test_a_good_source_is_read_once_and_a_second_time_changes_nothing(case, agencies, now):
    told = agencies.play(case)
    agencies.tell(rows_until(now))
    feed = case.add(now, **told)

    first, *_ = passes(now)
    before = on_file()
    again = passes(now + LATER)

    assert first.failed == ()
    assert sum(map(len, before)) == (1 if feed.is_weather else 8)
    assert [done.failed for done in again] == [()] * len(again)
    assert on_file() == before
    feed.refresh_from_db()
    assert (feed.trouble, feed.trouble_since) == ("", None)
    assert feed.last_value_at == rows_until(now)[-1][0]


def html(request):
    return Response("<!DOCTYPE html><h1>Sorry</h1>", content_type="text/html")


def moved(request):
    return Response("", status=301, headers={"Location": "https://elsewhere.example/data"})


def too_often(request):
    return Response("slow down", status=429, headers={"Retry-After": "7200"})


def not_well(request):
    return Response("resting", status=503)


def not_there(request):
    return Response("nothing here", status=404)


def cut(agencies, kind):
    return lambda request: Response(agencies.answers[kind][:-40])


def cut_gzip(agencies, kind):
    packed = gzip.compress(agencies.answers[kind])
    return lambda request: Response(packed[:-12], headers={"Content-Encoding": "gzip"})


def renamed(agencies, case):
    changed = agencies.answers[case.main].replace(
        f'"{case.renamed}"'.encode(), f'"{case.renamed}_new"'.encode()
    )
    assert changed != agencies.answers[case.main]
    return lambda request: Response(changed)


def doubled(agencies, case):
    """Return an answer in which a key that we read stands twice, with another value."""
    name = f'"{case.renamed}"'.encode()
    changed = agencies.answers[case.main].replace(name, name + b': "0.1", ' + name, 1)
    assert changed != agencies.answers[case.main]
    return lambda request: Response(changed)


def emptied(request):
    return Response(b"")


def explode(agencies, case):
    headers = {"Content-Encoding": "gzip"}
    return lambda request: Response(agencies.bomb, headers=headers)


EVILS = {
    "a web page": (lambda agencies, case: html, "not JSON but a web page"),
    "moved": (lambda agencies, case: moved, "it has moved to elsewhere.example, not 127.0.0.1"),
    "429": (lambda agencies, case: too_often, "we ask too often"),
    "503": (lambda agencies, case: not_well, "it is not well (503)"),
    "404": (lambda agencies, case: not_there, "404"),
    "1 GB": (explode, ",000,000 bytes"),
    "truncated": (lambda agencies, case: cut(agencies, case.main), "the file is not JSON"),
    "truncated gzip": (
        lambda agencies, case: cut_gzip(agencies, case.main),
        "it broke off before its end",
    ),
    "nothing": (lambda agencies, case: emptied, "the file is "),
    "a renamed key": (renamed, ""),
    "a key twice": (doubled, "is there twice in one object"),
}


@EVERY
@pytest.mark.parametrize("evil", EVILS)
def test_old_data_survive_and_the_source_is_marked_until_it_is_well_again(
    case, evil, agencies, now, bomb
):
    agencies.bomb = bomb
    told = agencies.play(case)
    agencies.tell(rows_until(now - LATER - LATER))
    feed = case.add(now - LATER - LATER, **told)
    passes(now - LATER - LATER)
    before = on_file()
    make_evil, why = EVILS[evil]
    agencies.tell(rows_until(now - LATER))
    agencies.evil[case.main] = make_evil(agencies, case)

    first, *others = passes(now - LATER)

    feed.refresh_from_db()
    address = Address.objects.get(kind=case.main)
    assert why in feed.trouble
    assert feed.trouble.startswith(feed.agency.name)
    assert feed.trouble_since == address.broken_since
    assert now - LATER <= address.broken_since < now - LATER + timedelta(minutes=1)
    assert len(first.failed) == 1
    assert not any(done.failed for done in others)
    assert address.failures == 1
    assert address.next_at >= now - LATER + timedelta(minutes=feed.agency.least_minutes)
    assert told_on_the_page(feed) == (feed.trouble, feed.trouble_since)
    assert address.good_at < now - LATER
    assert is_within(before, on_file())

    agencies.evil.clear()
    agencies.tell(rows_until(now))
    passes(now)

    feed.refresh_from_db()
    assert (feed.trouble, feed.trouble_since) == ("", None)
    assert told_on_the_page(feed) == ("", None)
    assert feed.last_value_at == rows_until(now)[-1][0]
    moments = [row[1] for row in on_file()[0]]
    assert len(moments) == len(set(moments))
    assert is_within(before, on_file())
    assert not BadBody.objects.filter(address=address).exists()


def is_within(before, after):
    """Say whether everything that was on file still is, unchanged."""
    return all(
        {str(row) for row in old} <= {str(row) for row in new}
        for old, new in zip(before, after, strict=True)
    )


def told_on_the_page(feed):
    """Return what the river's page has to say, and since when."""
    if feed.is_weather:
        gauge = Gauge.objects.get(pk=feed.gauge_id)
        return gauge.weather_trouble, gauge.weather_trouble_since
    series = Series.objects.get(gauge=feed.gauge, quantity=feed.quantity)
    return series.trouble, series.trouble_since


def start(case, agencies, at, rows=None):
    """Play an agency that has told eight values by a moment; return its source."""
    told = agencies.play(case)
    agencies.tell(rows or rows_until(at))
    feed = case.add(at, **told)
    passes(at)
    return feed


@EVERY
def test_a_drip_is_left_at_the_deadline_and_old_data_stay(
    case, agencies, now, monkeypatch, settings
):
    feed = start(case, agencies, now - LATER)
    before = on_file()
    monkeypatch.setattr(fetching, "DEADLINE_S", 0.4)
    Address.objects.exclude(kind=case.main).update(next_at=now + LATER)
    body = agencies.answers[case.main]
    head = f"HTTP/1.1 200 OK\r\nContent-Length: {len(body)}\r\n\r\n".encode()
    with drip(head + body, seconds=0.01) as slow:
        address = f"http://127.0.0.1:{slow.port}/service"
        settings.FEEDS_OWN_SERVERS = [*settings.FEEDS_OWN_SERVERS, f"127.0.0.1:{slow.port}"]
        if case.code == "kiwis":
            Address.objects.update(base_url=address)
            Feed.objects.update(base_url=address)
        settings.FEEDS_BASES = {case.code: address}
        done = fetching.fetch_due(at=now)

    feed.refresh_from_db()
    assert "it was not all there after 0.4 seconds" in feed.trouble
    assert len(done.failed) == 1
    assert on_file() == before


@EVERY
def test_wrong_units_are_a_changed_shape_and_nothing_is_stored(case, agencies, now):
    feed = start(case, agencies, now - LATER)
    before = on_file()
    rows = rows_until(now)
    agencies.tell(rows)
    if case.wrong_unit is not None:
        agencies.answers[case.main] = case.wrong_unit(rows)
        Address.objects.exclude(kind=case.main).update(next_at=now + LATER)
    elif case.code == "opw":  # only its monthly file can name one
        agencies.answers["week"] = opw_rows("week", rows, header="datetime,value (ft)")
        Address.objects.filter(kind="latest").update(next_at=now + LATER)
    else:
        agencies.answers["facts"] = case.facts(unit="ft")

    passes(now)

    assert on_file() == before
    feed.refresh_from_db()
    assert "is what is known" in feed.trouble or "was confirmed" in feed.trouble
    assert now <= feed.trouble_since <= now + timedelta(minutes=1)


@EVERY
def test_times_in_the_future_are_never_stored(case, agencies, now):
    feed = start(case, agencies, now - LATER)
    before = on_file()
    agencies.tell([(now + timedelta(minutes=20) + k * STEP, 3.0) for k in range(8)])

    passes(now)

    assert on_file() == before
    feed.refresh_from_db()
    assert "lies ahead of" in feed.trouble
    assert feed.last_value_at < now


@EVERY
def test_what_comes_twice_is_stored_once_and_what_is_revised_keeps_what_it_was(case, agencies, now):
    rows = rows_until(now - LATER)
    feed = start(case, agencies, now - LATER, [*rows, rows[-1]])
    before = on_file()
    agencies.tell([(moment, value + 1.0) for moment, value in rows])

    passes(now)
    passes(now + LATER)

    feed.refresh_from_db()
    assert feed.trouble == ""
    if feed.is_weather:  # what was known then is never rewritten
        assert on_file() == before
        return
    after, _ = on_file()
    assert [row[1] for row in after] == [row[1] for row in before[0]] == [m for m, _ in rows]
    assert [row[2] for row in after] == [pytest.approx(value + 1.0) for _, value in rows]
    assert sorted(ReadingRevision.objects.values_list("value", flat=True)) == [v for _, v in rows]


@EVERY
def test_a_repeated_autumn_hour_is_neither_doubled_nor_lost(case, agencies, now, settings):
    # British Summer Time ended on Sunday 25 October 2026 at 01:00 UTC: from 00:00 to 02:00 UTC the
    # clock at the river shows every time from one to two o'clock twice
    first = datetime(2026, 10, 25, 0, 0, tzinfo=UTC)
    rows = [(first + k * STEP, round(0.5 + 0.01 * k, 3)) for k in range(8)]
    feed = start(case, agencies, first + timedelta(hours=2), rows)

    readings, runs = on_file()

    feed.refresh_from_db()
    assert feed.trouble == ""
    if feed.is_weather:
        assert [moment for moment, _ in runs] == [rows[-1][0]]
        return
    assert [(moment, value) for _, moment, value in readings] == rows
    clocks = [moment.astimezone(ZoneInfo("Europe/London")).time() for moment, _ in rows]
    assert len(set(clocks)) == 4


@EVERY
def test_a_packed_answer_is_read_like_any_other(case, agencies, now):
    told = agencies.play(case)
    agencies.tell(rows_until(now))
    agencies.answers = {kind: gzip.compress(body) for kind, body in agencies.answers.items()}
    agencies.headers = {"Content-Encoding": "gzip"}
    feed = case.add(now, **told)

    passes(now)

    assert sum(map(len, on_file())) == (1 if feed.is_weather else 8)
