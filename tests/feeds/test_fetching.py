"""What is due is asked: politely, once, and what comes is kept whole."""

import json
import logging
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from werkzeug import Response

from guiding.feeds import fetching
from guiding.feeds.actions import add_feed, confirm_feed, switch_feed, try_again
from guiding.feeds.codes import codes_on
from guiding.feeds.fetching import LEASE, fetch_due
from guiding.feeds.models import Address, AgencyDay, BadBody, Feed
from guiding.gauges.actions import store_readings, type_in_reading
from guiding.gauges.models import Gauge, Reading, ReadingRevision, Series, WeatherRun
from guiding.gauges.providers.agencies import BY_CODE as AGENCY
from guiding.history.models import Event
from tests.factories import make_gauge
from tests.feeds.cases import (
    BY_CODE,
    GUID,
    floods_facts,
    hydrology_rows,
    kiwis_facts,
    kiwis_rows,
    opw_rows,
)
from tests.feeds.conftest import STEP, on_file, passes, rows_until
from tests.feeds.rawserver import RawServer, drip

pytestmark = pytest.mark.django_db
LATER = timedelta(hours=30)


@pytest.fixture
def sepa(agencies, now):
    """Return a source of SEPA's that has told eight values."""
    agencies.play(BY_CODE["sepa"])
    agencies.tell(rows_until(now - LATER))
    feed = BY_CODE["sepa"].add(now - LATER)
    passes(now - LATER)
    agencies.asked.clear()
    feed.refresh_from_db()
    return feed


def values(feed, quality=None):
    rows = Reading.objects.filter(series__gauge=feed.gauge, series__quantity=feed.quantity)
    if quality:
        rows = rows.filter(quality=quality)
    return list(rows.order_by("observed_at").values_list("observed_at", "value"))


def latest(feed):
    return Address.objects.get(agency_code=feed.agency_code, kind="latest")


# --- asking politely ------------------------------------------------------------------------------


def test_a_pass_with_nothing_due_looks_once_and_asks_nobody(sepa, agencies, now):
    Address.objects.update(next_at=now + LATER)

    with CaptureQueriesContext(
        connection,
    ) as queries:
        done = fetch_due(at=now)

    assert len(queries) == 1
    assert done.counts == {"readings_fetched": 0, "runs_fetched": 0}
    assert agencies.asked == []


def test_every_request_says_who_asks_and_keeps_nothing_secret_in_its_address(sepa, agencies, now):
    passes(now)

    assert agencies.asked
    for _, request in agencies.asked:
        assert request.headers["User-Agent"] == "Spatebook/0.1 (guide@upper-haugh.scot)"
        assert request.headers["Accept-Encoding"] == "gzip"


def test_what_has_not_changed_is_not_sent_again(sepa, agencies, now):
    agencies.headers = {"ETag": '"v1"', "Last-Modified": "Tue, 24 Nov 2026 09:00:00 GMT"}
    passes(now - LATER / 2)
    before = on_file()
    agencies.evil["latest"] = lambda request: Response("", status=304)
    Address.objects.filter(kind="latest").update(failures=3, broken_since=now - LATER, why="x")

    done = passes(now)

    asked = [request for kind, request in agencies.asked if kind == "latest"]
    assert "If-None-Match" not in asked[0].headers
    assert asked[-1].headers["If-None-Match"] == '"v1"'
    assert asked[-1].headers["If-Modified-Since"] == "Tue, 24 Nov 2026 09:00:00 GMT"
    assert on_file() == before
    address = latest(sepa)
    assert (address.status, address.failures, address.broken_since) == (304, 0, None)
    assert not any(d.failed for d in done)


def test_nothing_has_changed_is_no_answer_to_who_did_not_ask_so(sepa, agencies, now):
    agencies.evil["latest"] = lambda request: Response("", status=304)

    done = passes(now)

    assert "status 304" in done[0].failed[0]
    assert latest(sepa).broken_since is not None


def test_marks_of_one_address_are_never_sent_to_another(sepa, agencies, now):
    agencies.headers = {"ETag": '"of one series"'}
    passes(now - LATER / 2)
    other = BY_CODE["sepa"]
    feed = Feed.objects.get()
    Feed.objects.create(
        gauge=make_gauge(),
        agency_code="sepa",
        quantity="level_m",
        series="90001999",
        unit="m",
        confirmed_at=now,
    )
    agencies.asked.clear()
    Address.objects.filter(kind="facts").update(next_at=now + LATER)

    passes(now)

    asked = [request for kind, request in agencies.asked if kind == "latest"]
    assert asked[0].args["ts_id"] == "90001010,90001999"
    assert "If-None-Match" not in asked[0].headers
    assert other.code == feed.agency_code


def test_an_answer_is_left_alone_for_as_long_as_its_agency_says_by_its_own_clock(
    agencies, now, monkeypatch
):
    agencies.play(BY_CODE["metno"])
    agencies.tell(rows_until(now))
    agencies.headers = {"Expires": f"{now + timedelta(hours=3):%a, %d %b %Y %H:%M:%S GMT}"}
    BY_CODE["metno"].add(now)

    passes(now)

    address = Address.objects.get()
    assert now + timedelta(hours=2.9) <= address.next_at <= now + timedelta(hours=3.4)
    assert address.expires == agencies.headers["Expires"]


@pytest.mark.parametrize("as_moment", [False, True])
def test_too_many_requests_quiet_the_whole_agency_for_as_long_as_it_asks(
    sepa, agencies, now, as_moment
):
    wait = timedelta(hours=9)
    said = f"{now + wait:%a, %d %b %Y %H:%M:%S GMT}" if as_moment else str(9 * 3600)
    agencies.evil["facts"] = lambda request: Response("", status=429, headers={"Retry-After": said})

    done = passes(now)

    assert agencies.kinds() == ["facts"]
    assert sum(len(d.failed) for d in done) == 1
    for address in Address.objects.filter(next_at__isnull=False):
        assert address.next_at >= now + wait - timedelta(minutes=1)
    sepa.refresh_from_db()
    assert "it says we ask too often (429)" in sepa.trouble


@pytest.mark.parametrize("status", [401, 403])
def test_a_refusal_stops_everything_until_the_owner_says_so(sepa, agencies, now, status):
    agencies.evil["latest"] = lambda request: Response("who are you", status=status)

    first = fetch_due(at=now)
    agencies.asked.clear()
    later = [fetch_due(at=now + timedelta(days=day)) for day in (1, 5, 30)]

    assert f"it refuses us ({status})" in first.failed[0]
    assert agencies.asked == []
    assert not any(done.failed for done in later)
    sepa.refresh_from_db()
    assert f"it refuses us ({status})" in sepa.trouble
    assert now <= sepa.trouble_since <= now + timedelta(minutes=1)

    agencies.evil.clear()
    try_again(sepa, at=now + timedelta(days=31))
    passes(now + timedelta(days=31))

    sepa.refresh_from_db()
    assert sepa.trouble == ""
    assert "latest" in agencies.kinds()


def test_the_wait_grows_with_every_failure_and_an_unknown_series_is_asked_for_once_a_day(
    agencies, now
):
    agencies.play(BY_CODE["ea_floods"])
    agencies.tell(rows_until(now))
    BY_CODE["ea_floods"].add(now)
    agencies.evil["facts"] = lambda request: Response("", status=404)

    passes(now)

    address = Address.objects.get(kind="facts")
    assert address.next_at >= now + timedelta(days=1)
    assert "it knows no such station or series (404)" in Feed.objects.get().trouble
    assert agencies.kinds() == ["facts"]


def test_a_day_has_so_many_requests_and_no_more(sepa, agencies, now):
    day = AgencyDay.objects.get_or_create(agency_code="sepa", base_url="", day=now.date())[0]
    AgencyDay.objects.filter(pk=day.pk).update(asked=AGENCY["sepa"].requests_a_day - 1)

    done = passes(now)

    assert len(agencies.asked) == 1
    day.refresh_from_db()
    assert day.asked == AGENCY["sepa"].requests_a_day
    assert "requests that we allow ourselves a day are used up" in " ".join(
        line for d in done for line in d.failed
    )
    tomorrow = datetime.combine(now.date() + timedelta(days=1), datetime.min.time(), tzinfo=UTC)
    late = Address.objects.filter(failures__gt=0)
    assert late
    assert all(row.next_at >= tomorrow for row in late)


@pytest.mark.parametrize(
    "contact", ["", "nobody", "guide@example.org", "guide@spatebook.invalid", "https://localhost/"]
)
def test_met_norway_is_never_asked_by_somebody_who_cannot_be_reached(
    agencies, now, settings, contact
):
    agencies.play(BY_CODE["metno"])
    agencies.tell(rows_until(now))
    settings.FEEDS_CONTACT = contact
    feed = BY_CODE["metno"].add(now)

    done = passes(now)

    assert agencies.asked == []
    assert "Set CONTACT to your mail address or web page" in done[0].failed[0]
    feed.refresh_from_db()
    assert "Set CONTACT" in feed.trouble

    settings.FEEDS_CONTACT = "https://upper-haugh.scot/"
    passes(now + timedelta(hours=2))

    feed.refresh_from_db()
    assert feed.trouble == ""
    assert WeatherRun.objects.count() == 1


def test_a_version_that_goes_out_of_use_and_a_wrong_clock_are_told_to_the_owner(
    sepa, agencies, now
):
    agencies.evil["latest"] = lambda request: Response(agencies.answers["latest"], status=203)

    passes(now + timedelta(minutes=30))

    address = latest(sepa)
    assert address.broken_since is None
    assert "going out of use" in address.warning
    assert "its clock is 30 minutes behind ours: one of the two is wrong" in address.warning


def test_no_key_is_ever_kept_or_logged(sepa, agencies, now, settings, caplog, monkeypatch):
    caplog.set_level(logging.DEBUG)
    key = "hidden-key-1234567"
    settings.FEEDS_KEYS = {"sepa": key}
    with_key = replace(AGENCY["sepa"], key_header="X-API-Key")
    monkeypatch.setitem(AGENCY, "sepa", with_key)
    agencies.evil["latest"] = lambda request: Response(
        f"<p>your key {request.headers['X-API-Key']} is odd</p>"
    )

    done = passes(now)

    assert {r.headers["X-API-Key"] for _, r in agencies.asked} == {key}
    assert not any(key in request.url for _, request in agencies.asked)
    assert "your key [hidden] is odd" in BadBody.objects.get().text
    kept = json.dumps(
        [list(model.objects.values()) for model in (Address, Feed, BadBody, Event)], default=str
    )
    assert key not in kept
    assert key not in " ".join(line for d in done for line in d.failed)
    assert key not in caplog.text

    settings.FEEDS_KEYS = {}
    agencies.asked.clear()
    done = passes(now + LATER)
    assert agencies.asked == []
    assert "wants a key. Set FEEDS_KEYS to sepa=your key." in done[0].failed[0]


# --- what comes -----------------------------------------------------------------------------------


def test_the_last_bad_body_is_kept_to_a_million_letters_and_clean(sepa, agencies, now):
    agencies.evil["latest"] = lambda request: Response(b"<\0\xff" + b"x" * 3_000_000)

    passes(now)

    kept = BadBody.objects.get()
    assert len(kept.text) <= 1_000_000
    assert kept.text.startswith("<�xxx")
    assert kept.address.kind == "latest"


def test_a_slow_source_is_left_at_the_deadline_and_the_others_are_asked(
    agencies, now, settings, monkeypatch
):
    monkeypatch.setattr(fetching, "DEADLINE_S", 0.5)
    agencies.play(BY_CODE["opw"])
    agencies.tell(rows_until(now))
    BY_CODE["opw"].add(now)
    head = b"HTTP/1.1 200 OK\r\nContent-Length: 5000\r\n\r\n"
    with drip(head + b"x" * 5000, seconds=0.02) as slow:
        settings.FEEDS_BASES |= {"sepa": f"http://127.0.0.1:{slow.port}/"}
        settings.FEEDS_OWN_SERVERS = [*settings.FEEDS_OWN_SERVERS, f"127.0.0.1:{slow.port}"]
        feed = BY_CODE["sepa"].add(now)
        done = fetch_due(at=now)

    assert done.counts["readings_fetched"] == 8
    assert len(done.failed) == 1
    feed.refresh_from_db()
    assert "it was not all there after 0.5 seconds" in feed.trouble


def test_an_agency_that_is_down_costs_one_wait_a_pass(agencies, now, settings):
    with RawServer([]) as gone:
        pass
    settings.FEEDS_BASES = {"ea_floods": f"http://127.0.0.1:{gone.port}"}
    settings.FEEDS_OWN_SERVERS = [f"127.0.0.1:{gone.port}"]
    case = BY_CODE["ea_floods"]
    for _ in range(4):
        case.add(now)

    done = fetch_due(at=now)

    assert len(done.failed) == 1
    assert "it cannot be reached" in done.failed[0]


def test_one_broken_source_never_stops_the_rest(sepa, agencies, now, monkeypatch):
    def stumble(data, wanted):
        raise ZeroDivisionError("a fault of ours")

    monkeypatch.setitem(AGENCY, "sepa", replace(AGENCY["sepa"], read_rows=stumble))

    done = passes(now)

    sepa.refresh_from_db()
    assert "what came could not be kept: ZeroDivisionError: a fault of ours" in sepa.trouble
    assert {address.claimed_until for address in Address.objects.all()} == {None}
    assert "facts" in agencies.kinds()
    assert sum(len(d.failed) for d in done) == 2  # newest values, and the week


def test_a_revised_value_replaces_the_old_one_and_both_are_on_file(sepa, agencies, now):
    rows = rows_until(now - LATER)
    agencies.tell([(moment, value + 0.2) for moment, value in rows])

    passes(now)

    assert values(sepa) == [(moment, pytest.approx(value + 0.2)) for moment, value in rows]
    assert sorted(ReadingRevision.objects.values_list("value", flat=True)) == [
        value for _, value in rows
    ]


def test_a_reading_told_twice_is_stored_once_and_two_values_for_one_moment_are_put_aside(
    sepa, agencies, now
):
    rows = rows_until(now)
    twice = [*rows, rows[3], (rows[4][0], 0.9)]
    agencies.tell(twice)

    passes(now)

    assert values(sepa)[-8:] == rows
    sepa.refresh_from_db()
    assert sepa.refused["count"] == 1
    assert "another value, 0.54, came before for the same moment" in sepa.refused["rows"][0]["why"]
    assert sepa.trouble == ""  # one of ten


def test_what_somebody_read_with_their_own_eyes_is_never_replaced(sepa, agencies, now):
    rows = rows_until(now)
    moment = rows[4][0]
    type_in_reading(sepa.gauge, "level_m", 0.77, moment, by="guide", at=now)
    agencies.tell(rows)

    passes(now)

    assert dict(values(sepa))[moment] == 0.77
    assert len(values(sepa)) == 16
    sepa.refresh_from_db()
    assert sepa.trouble == ""


def test_times_in_the_future_are_refused_and_too_many_refusals_are_told(sepa, agencies, now):
    rows = rows_until(now)
    ahead = [(now + timedelta(hours=2) + k * STEP, 3.0) for k in range(4)]
    agencies.tell([*rows, *ahead])

    passes(now)

    assert values(sepa)[-1] == rows[-1]
    sepa.refresh_from_db()
    assert sepa.last_value_at == rows[-1][0]
    assert sepa.trouble.endswith("a reading may be 10 minutes ahead at most")
    assert "4 of 12 rows are refused" in sepa.trouble
    assert Series.objects.get(gauge=sepa.gauge).trouble == sepa.trouble


def test_a_flood_above_what_the_gauge_is_said_to_reach_is_not_silence(sepa, agencies, now):
    Gauge.objects.filter(pk=sepa.gauge_id).update(highest_m=2.0)
    agencies.tell([*rows_until(now - 2 * STEP), (now - timedelta(minutes=5), 2.4)])

    passes(now)

    sepa.refresh_from_db()
    assert "level is 2.4 m" in sepa.trouble
    assert "treat the river as risen until somebody has looked" in sepa.trouble


def test_a_value_far_below_what_the_gauge_can_read_is_told_as_it_is_and_not_as_a_flood(
    sepa, agencies, now
):
    agencies.tell([*rows_until(now - 2 * STEP), (now - timedelta(minutes=5), -99.0)])

    passes(now)

    sepa.refresh_from_db()
    assert "level is -99 m" in sepa.trouble
    assert "the gauge may be at fault, and the level is not known until" in sepa.trouble
    assert "risen" not in sepa.trouble


def test_a_spike_is_flagged_when_the_next_values_show_it_and_never_deleted(sepa, agencies, now):
    rows = rows_until(now, count=12)
    spike = (rows[6][0], 4.2)
    agencies.tell([*rows[:6], spike])
    passes(now)
    assert spike in values(sepa, "good")

    agencies.tell([*rows[:6], spike, *rows[7:]])
    passes(now + LATER)

    assert values(sepa, "suspect") == [spike]
    assert len(values(sepa, "good")) == 8 + 11


def test_the_agencys_own_doubt_is_kept_and_lifted_when_it_lifts_it(agencies, now):
    case = BY_CODE["ea_hydrology"]
    agencies.play(case)
    agencies.tell(rows_until(now))
    doubted = json.loads(agencies.answers["week"])
    doubted["items"][2]["quality"] = "Suspect"
    agencies.answers["week"] = json.dumps(doubted).encode()
    agencies.answers["history"] = agencies.answers["week"]
    feed = case.add(now)
    passes(now)

    assert values(feed, "suspect") == [rows_until(now)[2]]
    moment = rows_until(now)[2][0]
    assert codes_on(feed, moment.date())[f"{moment:%H:%M}"] == "Suspect"

    agencies.tell(rows_until(now))
    passes(now + LATER)

    assert values(feed, "suspect") == []
    assert codes_on(feed, moment.date())[f"{moment:%H:%M}"] == "Good"


def test_quality_codes_are_kept_as_they_came(sepa, now):
    moment = rows_until(now - LATER)[0][0]

    assert codes_on(sepa, moment.date())[f"{moment:%H:%M}"] == "254"


def test_a_repeated_hour_in_an_agencys_zone_less_times_is_told_not_doubled(agencies, now):
    # the office's times are UTC; if they ever were of the local clock, this is what would come
    agencies.play(BY_CODE["opw"])
    agencies.tell(rows_until(now))
    first = datetime(2026, 10, 25, 0, 45, tzinfo=UTC)
    hour = [(first + k * STEP, 0.5 + 0.01 * k) for k in range(4)]
    again = [(first + k * STEP, 0.6 + 0.01 * k) for k in range(4)]
    agencies.answers["week"] = opw_rows("week", [*hour, *again])
    feed = BY_CODE["opw"].add(now)

    passes(now)

    feed.refresh_from_db()
    assert [row for row in values(feed) if row[0] < first + 5 * STEP] == [
        (moment, pytest.approx(value)) for moment, value in hour
    ]
    assert (feed.refused["count"], feed.refused["of"]) == (4, 8)


def test_a_hole_between_two_newest_values_is_filled_from_the_week_within_the_hour(agencies, now):
    case = BY_CODE["opw"]
    agencies.play(case)
    start = now - timedelta(hours=6)
    agencies.tell(rows_until(start))
    case.add(start)
    passes(start)
    later = start + timedelta(hours=3)
    agencies.tell(rows_until(later, count=20))
    agencies.asked.clear()

    passes(later)
    passes(later + timedelta(minutes=1))

    assert agencies.kinds() == ["latest", "week"]
    moments = [row[1] for row in on_file()[0]]
    assert {b - a for a, b in pairwise(moments)} == {STEP}


def test_rain_in_quarters_becomes_whole_hours(agencies, now):
    case = BY_CODE["sepa"]
    agencies.play(case)
    top = now.replace(minute=0, second=0)
    quarters = [(top - k * STEP, 0.2) for k in range(10)][::-1]
    agencies.answers = {
        kind: kiwis_rows(kind, quarters, unit="mm") for kind in ("latest", "week", "history")
    } | {"facts": kiwis_facts(unit="mm")}
    feed = case.add(now, gauge=make_gauge())
    Feed.objects.filter(pk=feed.pk).update(quantity="rain_mm")

    passes(now)

    feed.refresh_from_db()
    hours = [top - timedelta(hours=2), top - timedelta(hours=1)]
    assert values(feed) == [(hour, pytest.approx(0.8)) for hour in hours]


def test_a_daily_series_never_stands_in_an_hourly_record(agencies, now):
    agencies.play(BY_CODE["sepa"])
    days = [(now - timedelta(days=k), 0.5) for k in range(7)][::-1]
    agencies.tell(days)
    feed = BY_CODE["sepa"].add(now)

    passes(now)

    assert values(feed) == []
    feed.refresh_from_db()
    assert "it comes a day apart, and the record of" in feed.trouble


def test_how_late_values_come_is_learned(agencies, now):
    agencies.play(BY_CODE["opw"])
    first = now - timedelta(days=3)
    case = BY_CODE["opw"]
    agencies.tell(rows_until(first))
    feed = case.add(first)
    passes(first)
    for half_day in range(1, 5):
        moment = first + timedelta(hours=12 * half_day)
        agencies.tell(rows_until(moment, count=48))
        passes(moment)
        passes(moment + timedelta(hours=1))

    feed.refresh_from_db()
    # told twice a day, so the oldest of a bundle is half a day old
    assert 600 <= feed.lag_p95_minutes <= 800
    newest = feed.last_value_at
    assert feed.age_class(newest + timedelta(hours=10)) == "fresh"
    assert feed.age_class(newest + timedelta(hours=20)) == "late"
    assert feed.age_class(newest + timedelta(days=6)) == "stale"
    assert feed.age_class(newest + timedelta(days=8)) == "silent"


def test_history_is_read_first_piece_by_piece_until_it_begins(agencies, now):
    case = BY_CODE["sepa"]
    agencies.play(case)
    agencies.tell(rows_until(now))
    agencies.answers["facts"] = kiwis_facts(begins=f"{now - timedelta(days=900):%Y-%m-%d}T00:00Z")
    feed = case.add(now)

    for minute in range(0, 20, 2):
        fetch_due(at=now + timedelta(minutes=minute))

    asked = [request.args for kind, request in agencies.asked if kind == "history"]
    spans = [(row["from"][:10], row["to"][:10]) for row in asked]
    assert len(spans) == 3
    assert spans[0][1] == f"{now:%Y-%m-%d}"
    assert [early for early, _ in spans[:-1]] == [late for _, late in spans[1:]]
    assert spans[-1][0] == f"{now - timedelta(days=900):%Y-%m-%d}"
    feed.refresh_from_db()
    assert feed.history_is_whole
    assert Address.objects.get(kind="history").next_at is None


def test_history_without_a_stated_beginning_ends_where_nothing_has_come_four_times(agencies, now):
    case = BY_CODE["ea_hydrology"]
    agencies.play(case)
    agencies.tell(rows_until(now))
    agencies.evil["history"] = lambda request: Response(json.dumps({"meta": {}, "items": []}))
    feed = case.add(now)

    for minute in range(0, 40, 2):
        fetch_due(at=now + timedelta(minutes=minute))

    assert agencies.kinds().count("history") == 4
    feed.refresh_from_db()
    assert feed.history_is_whole


# --- what a series is -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"datum": 12.99}, "the datum of X0001-level-stage-i-15_min-mASD was datumASD 12.34"),
        ({"unit": "m"}, "the unit of X0001-level-stage-i-15_min-mASD was mASD and is m now"),
        ({"unit": "ft"}, "its unit is 'ft'; 'mASD' or 'm' is what is known"),
    ],
)
def test_another_datum_or_unit_closes_the_source_and_suspends_the_marks(
    agencies, now, changed, words
):
    case = BY_CODE["ea_floods"]
    agencies.play(case)
    agencies.tell(rows_until(now - LATER))
    feed = case.add(now - LATER)
    passes(now - LATER)
    before = on_file()
    agencies.tell(rows_until(now))
    agencies.answers["facts"] = floods_facts(**changed)

    passes(now)

    assert on_file() == before
    feed.refresh_from_db()
    assert words in feed.trouble
    assert feed.closed_at == feed.trouble_since
    gauge = Gauge.objects.get(pk=feed.gauge_id)
    assert gauge.marks_suspended_since == feed.closed_at
    assert words in gauge.marks_suspended_why
    assert Event.objects.filter(what="source closed").count() == 1

    # it stays closed when the agency takes it back, until somebody has looked
    agencies.answers["facts"] = floods_facts()
    passes(now + LATER)
    assert on_file() == before

    confirm_feed(feed, at=now + LATER)
    passes(now + LATER)

    feed.refresh_from_db()
    assert (feed.trouble, feed.closed_at) == ("", None)
    assert feed.last_value_at == rows_until(now)[-1][0]
    gauge.refresh_from_db()
    assert gauge.marks_suspended_since is not None  # marks are confirmed on their own


@pytest.mark.parametrize("unit", ["ft", "", "M", "mm "])
def test_nothing_is_stored_of_a_series_whose_unit_is_not_known(agencies, now, unit):
    case = BY_CODE["sepa"]
    agencies.play(case)
    agencies.tell(rows_until(now))
    agencies.answers["facts"] = kiwis_facts(unit=unit)
    feed = case.add(now)

    passes(now)

    assert on_file() == ([], [])
    assert agencies.kinds() == ["facts"]
    feed.refresh_from_db()
    assert f"its unit is {unit!r}" in feed.trouble


def test_centimetres_become_metres(agencies, now):
    agencies.play(BY_CODE["sepa"])
    rows = [(moment, value * 100) for moment, value in rows_until(now)]
    agencies.answers = {
        kind: kiwis_rows(kind, rows, unit="cm") for kind in ("latest", "week", "history")
    } | {"facts": kiwis_facts(unit="cm")}
    feed = BY_CODE["sepa"].add(now)

    passes(now)

    assert values(feed) == [(m, pytest.approx(v, abs=1e-12)) for m, v in rows_until(now)]


def test_a_unit_that_changes_between_two_looks_at_it_stores_nothing_and_asks_at_once(
    sepa, agencies, now
):
    rows = rows_until(now)
    before = on_file()
    for kind in ("latest", "week"):
        agencies.answers[kind] = kiwis_rows(kind, rows, unit="cm")
    agencies.answers["facts"] = kiwis_facts(unit="cm")
    Address.objects.filter(kind="facts").update(next_at=now + LATER)

    passes(now)
    passes(now + timedelta(minutes=1))

    assert on_file() == before
    sepa.refresh_from_db()
    assert "the unit of 90001010 was m and is cm now" in sepa.trouble
    assert agencies.kinds()[-1] == "facts"


def test_a_series_that_is_listed_no_more_is_a_fault_of_the_set_up_and_is_told(agencies, now):
    case = BY_CODE["ea_floods"]
    agencies.play(case)
    agencies.tell(rows_until(now - LATER))
    feed = case.add(now - LATER)
    passes(now - LATER)
    before = on_file()
    agencies.tell(rows_until(now))
    agencies.answers["facts"] = floods_facts(notation="X0001-level-stage-i-15_min-new")

    done = fetch_due(at=now)

    feed.refresh_from_db()
    assert f"it lists no series X0001 {feed.series}" in feed.trouble
    assert done.failed == ()
    assert on_file() == before


def test_a_series_that_is_not_in_the_answer_for_all_is_told(sepa, agencies, now):
    agencies.answers["latest"] = kiwis_rows("latest", rows_until(now), series="90001999")
    Address.objects.filter(kind="week").update(next_at=now + LATER)

    passes(now)

    sepa.refresh_from_db()
    assert sepa.trouble.endswith("its answer does not hold 90001010")


def test_a_week_without_a_value_is_told(agencies, now):
    case = BY_CODE["ea_hydrology"]
    agencies.play(case)
    agencies.tell(rows_until(now - LATER))
    feed = case.add(now - LATER)
    passes(now - LATER)
    before = on_file()
    agencies.answers["week"] = hydrology_rows("week", [])

    Address.objects.filter(kind="week").update(next_at=now)
    passes(now)

    feed.refresh_from_db()
    assert "its answer does not hold" in feed.trouble
    assert on_file() == before


def test_what_a_series_is_is_asked_anew_once_it_is_confirmed_though_nothing_has_changed(
    agencies, now
):
    case = BY_CODE["ea_floods"]
    agencies.play(case)
    agencies.tell(rows_until(now - LATER))
    feed = case.add(now - LATER)
    passes(now - LATER)
    agencies.tell(rows_until(now))
    agencies.answers["facts"] = floods_facts(datum=12.99)
    agencies.headers = {"ETag": '"new datum"'}
    passes(now)
    feed.refresh_from_db()
    assert feed.closed_at is not None

    def unchanged(request):
        if request.headers.get("If-None-Match") == '"new datum"':
            return Response("", status=304)
        return Response(agencies.answers["facts"])

    agencies.evil["facts"] = unchanged
    confirm_feed(feed, at=now + LATER)
    passes(now + LATER)

    feed.refresh_from_db()
    assert feed.datum == "datumASD 12.99"
    assert feed.last_value_at == rows_until(now)[-1][0]


def test_a_unit_that_nobody_could_ask_about_for_a_week_is_believed_no_more(sepa, agencies, now):
    agencies.evil["facts"] = lambda request: Response("<p>being mended</p>")
    for day in range(1, 10):
        moment = now - LATER + timedelta(days=day)
        agencies.tell(rows_until(moment))
        passes(moment)

    moments = [moment for moment, _ in values(sepa)]
    last = now - LATER + timedelta(days=7)
    assert moments[-1] == rows_until(last - timedelta(days=1))[-1][0]
    sepa.refresh_from_db()
    assert "not JSON but a web page" in sepa.trouble

    agencies.evil.clear()
    again = now - LATER + timedelta(days=20)
    passes(again)
    sepa.refresh_from_db()
    assert sepa.trouble == ""
    assert [m for m, _ in values(sepa)][-1] == rows_until(now - LATER + timedelta(days=9))[-1][0]


def test_facts_that_have_not_changed_are_confirmed_by_that(sepa, agencies, now):
    agencies.headers = {"ETag": '"same"'}
    passes(now)
    agencies.evil["facts"] = lambda request: Response("", status=304)

    passes(now + LATER)

    sepa.refresh_from_db()
    assert now + LATER <= sepa.confirmed_at <= now + LATER + timedelta(minutes=1)


def test_an_agency_whose_file_is_gone_is_left_alone(sepa, agencies, now, client):
    Feed.objects.update(agency_code="gone")
    Address.objects.update(agency_code="gone")

    assert fetch_due(at=now).failed == ()

    assert agencies.asked == []
    assert client.get("/sources/credits/").status_code == 200


# --- rows are the queue ---------------------------------------------------------------------------


def test_an_address_in_hand_is_left_to_who_has_it_until_its_lease_is_over(sepa, agencies, now):
    Address.objects.update(claimed_until=now + LEASE)

    fetch_due(at=now)
    assert agencies.asked == []

    Address.objects.update(next_at=now)
    fetch_due(at=now + LEASE)
    assert agencies.asked


def test_what_comes_after_the_lease_was_lost_is_left_to_the_other(sepa, agencies, now, monkeypatch):
    before = on_file()
    agencies.tell(rows_until(now))
    real = fetching.read_answer

    def read_while_another_takes_over(agency, kind, body, wanted):
        Address.objects.filter(kind=kind).update(claimed_until=now + 2 * LEASE)
        return real(agency, kind, body, wanted)

    Address.objects.exclude(kind="latest").update(next_at=now + LATER)
    monkeypatch.setattr(fetching, "read_answer", read_while_another_takes_over)

    done = fetch_due(at=now)

    assert on_file() == before
    assert done.failed == ()
    assert latest(sepa).claimed_until == now + 2 * LEASE


def test_a_source_switched_off_is_asked_no_more_and_its_trouble_is_taken_off_the_page(
    sepa, agencies, now
):
    agencies.evil["latest"] = lambda request: Response("", status=500)
    passes(now)
    assert Series.objects.get(gauge=sepa.gauge).trouble

    switch_feed(sepa, is_on=False, at=now)
    agencies.asked.clear()
    passes(now + LATER)

    assert agencies.asked == []
    series = Series.objects.get(gauge=sepa.gauge)
    assert (series.trouble, series.trouble_since) == ("", None)
    assert len(values(sepa)) == 8

    agencies.evil.clear()
    agencies.tell(rows_until(now))
    switch_feed(sepa, is_on=True, at=now + LATER)
    passes(now + LATER)
    assert len(values(sepa)) == 16


def test_a_source_added_later_joins_the_one_request_for_all(sepa, agencies, now):
    agencies.answers["facts"] = json.dumps(
        json.loads(kiwis_facts()) + json.loads(kiwis_facts(series="90001999"))[1:]
    ).encode()
    both = json.loads(kiwis_rows("latest", rows_until(now))) + json.loads(
        kiwis_rows("latest", rows_until(now), series="90001999")
    )
    for kind in ("latest", "week"):
        agencies.answers[kind] = json.dumps(both).encode()
    other = add_feed(make_gauge(), "sepa", "level_m", series="90001999", at=now)

    passes(now)

    assert [k for k in agencies.kinds() if k == "latest"] == ["latest"]
    assert len(values(other)) == 8
    assert len(values(sepa)) == 16


def test_who_tells_it_stands_in_the_record(sepa):
    series = Series.objects.get(gauge=sepa.gauge)

    assert series.source == "Scottish Environment Protection Agency, Invented Brig (15m.Cmd)"
    imports = sepa.gauge.imports.all()
    assert imports[0].name == ("fetched from Scottish Environment Protection Agency, 90001010")


def test_readings_from_a_file_and_from_a_source_stand_in_one_record(sepa, agencies, now):
    rows = rows_until(now)
    store_readings(sepa.gauge, "level_m", rows[:4], at=now, name="file.csv")
    agencies.tell(rows)

    passes(now)

    assert values(sepa)[-8:] == rows
    assert not ReadingRevision.objects.exists()


def test_a_second_run_under_one_moment_of_issue_changes_nothing_and_is_no_trouble(agencies, now):
    agencies.play(BY_CODE["metno"])
    agencies.tell(rows_until(now))
    feed = BY_CODE["metno"].add(now)
    passes(now)
    trimmed = json.loads(agencies.answers["latest"])
    del trimmed["properties"]["timeseries"][0]
    agencies.answers["latest"] = json.dumps(trimmed).encode()
    before = on_file()

    passes(now + timedelta(hours=2))

    assert on_file() == before
    feed.refresh_from_db()
    assert feed.trouble == ""


def test_a_run_for_another_place_is_not_kept(agencies, now):
    agencies.play(BY_CODE["metno"])
    agencies.tell(rows_until(now))
    agencies.answers["latest"] = agencies.answers["latest"].replace(b"57.5", b"47.5")
    feed = BY_CODE["metno"].add(now)

    passes(now)

    assert not WeatherRun.objects.exists()
    feed.refresh_from_db()
    assert "from what was asked for" in feed.trouble


def test_the_guid_of_a_station_is_asked_for_as_it_was_typed(agencies, now):
    agencies.play(BY_CODE["ea_hydrology"])
    agencies.tell(rows_until(now))
    BY_CODE["ea_hydrology"].add(now)

    passes(now)

    facts = next(request for kind, request in agencies.asked if kind == "facts")
    assert facts.args["station"] == GUID
