"""Processes that fetch from one server into one database; some of them are killed."""

import os
import signal
import time
from datetime import datetime
from typing import Any

import django

django.setup()

from django.db import connection  # noqa: E402
from django.db.models import Sum  # noqa: E402

from guiding.feeds.actions import add_feed  # noqa: E402
from guiding.feeds.fetching import fetch_due  # noqa: E402
from guiding.feeds.models import Address, Feed  # noqa: E402
from guiding.gauges.models import Reading, ReadingImport, ReadingRevision  # noqa: E402
from tests.factories import make_gauge, make_river  # noqa: E402
from tests.races import serve  # noqa: E402


def write(told: dict[str, Any]) -> int:
    """Add a source for each station."""
    at, river = datetime.fromisoformat(told["at"]), make_river()
    for station in told["stations"]:
        add_feed(make_gauge(river=river), "opw", "level_m", station=station, series="0001", at=at)
    return Feed.objects.count()


def fetch(number: int, told: dict[str, Any]) -> list[Any]:
    """Do one pass as one process among several."""
    done = fetch_due(at=datetime.fromisoformat(told["at"]))
    return [done.counts["readings_fetched"], list(done.failed)]


def be_killed(told: dict[str, Any]) -> list[int]:
    """Start two processes and kill both, each after its own time; return what ended them."""
    connection.close()
    pids = []
    for _ in told["after_ms"]:
        pid = os.fork()
        if pid == 0:
            fetch_due(at=datetime.fromisoformat(told["at"]))
            os._exit(0)
        pids.append(pid)
    started = time.monotonic()
    ended = []
    for after_ms, pid in sorted(zip(told["after_ms"], pids, strict=True)):
        time.sleep(max(after_ms / 1000 - (time.monotonic() - started), 0))
        os.kill(pid, signal.SIGKILL)
        ended.append(os.WTERMSIG(os.waitpid(pid, 0)[1]))
    return ended


def look(told: dict[str, Any]) -> dict[str, Any]:
    """Return what is on file, and whether anything is stuck."""
    at = datetime.fromisoformat(told["at"])
    readings = Reading.objects.values_list("series__gauge__feeds__station", "observed_at", "value")
    return {
        "readings": sorted([s, f"{m:%Y-%m-%dT%H:%M}", v] for s, m, v in readings),
        "counted": ReadingImport.objects.aggregate(all=Sum("stored"))["all"] or 0,
        "revised": ReadingRevision.objects.count(),
        "in_hand": Address.objects.filter(claimed_until__isnull=False).count(),
        "due": Address.objects.due(at).count(),
        "broken": list(Address.objects.exclude(why="").values_list("why", flat=True)),
    }


if __name__ == "__main__":
    serve(together={"fetch": fetch}, alone={"write": write, "be_killed": be_killed, "look": look})
