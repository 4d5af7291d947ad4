"""A real local HTTP server that plays any agency, well or badly."""

from __future__ import annotations

import re
import zlib
from datetime import UTC, datetime, timedelta

import pytest
from werkzeug import Response

from guiding.feeds.fetching import fetch_due
from guiding.gauges.models import Reading, WeatherRun

ANY_PATH = re.compile("^/.*$")
STEP = timedelta(minutes=15)


@pytest.fixture(scope="session")
def httpserver_listen_address():
    return ("127.0.0.1", 0)


@pytest.fixture(scope="session")
def bomb():
    """Return a body of a megabyte that unpacks to a gigabyte."""
    squeeze = zlib.compressobj(1, wbits=31)
    ten_million = bytes(10_000_000)
    pieces = [squeeze.compress(ten_million) for _ in range(100)]
    return b"".join(pieces) + squeeze.flush()


@pytest.fixture
def now():
    """Return the moment at which the server's own Date will stand."""
    return datetime.now(UTC).replace(microsecond=0)


class Agencies:
    """The server's side: answers by kind, what was asked, and evils for the next requests."""

    def __init__(self, httpserver, settings):
        self.server, self.settings = httpserver, settings
        self.base = httpserver.url_for("").rstrip("/")
        self.asked, self.answers, self.headers, self.evil = [], {}, {}, {}
        self.case = None
        settings.FEEDS_CONTACT = "guide@upper-haugh.scot"
        settings.FEEDS_OWN_SERVERS = [f"127.0.0.1:{httpserver.port}"]

    def play(self, case):
        """Answer as this agency from now on."""
        self.case = case
        self.settings.FEEDS_BASES = {case.code: f"{self.base}/service"}
        self.server.expect_request(ANY_PATH).respond_with_handler(self.handle)
        return (
            {"base_url": f"{self.base}/service", "credit": "Invented credit"}
            if (case.code == "kiwis")
            else {}
        )

    def handle(self, request):
        kind = self.case.kind_of(request)
        self.asked.append((kind, request))
        if kind in self.evil:
            return self.evil[kind](request)
        return Response(self.answers[kind], headers=self.headers, content_type="application/json")

    def kinds(self):
        return [kind for kind, _ in self.asked]

    def tell(self, rows):
        """Answer every kind with these readings."""
        self.answers = {
            kind: self.case.rows(kind, rows) for kind in ("latest", "week", "history")
        } | {"facts": self.case.facts()}


@pytest.fixture
def agencies(httpserver, settings):
    """Return the server's side, for whichever agency is to be played."""
    return Agencies(httpserver, settings)


def rows_until(moment, count=8, value=0.5):
    """Return readings a quarter of an hour apart that end well before a moment."""
    last = moment.replace(minute=moment.minute // 15 * 15, second=0)
    return [(last - STEP * (count - 1 - k), round(value + 0.01 * k, 3)) for k in range(count)]


def on_file():
    """Return everything that was stored, whatever it is."""
    readings = list(
        Reading.objects.order_by("series", "observed_at").values_list(
            "series__quantity", "observed_at", "value"
        )
    )
    runs = list(WeatherRun.objects.order_by("issued_at").values_list("issued_at", "raw"))
    return readings, runs


def passes(at, times=4):
    """Do passes a little apart, as `tend` does them."""
    return [fetch_due(at=at + timedelta(seconds=k)) for k in range(times)]
