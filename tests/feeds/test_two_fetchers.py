"""Several processes fetch from one agency, and are killed: nothing is doubled, lost or stuck."""

import json
import random
import signal
import time
from datetime import timedelta

import pytest
from werkzeug import Response

from guiding.feeds.fetching import LEASE
from tests.feeds.conftest import ANY_PATH, rows_until
from tests.races import Field

STATIONS = [f"1000{number}" for number in range(5)]
DAY = timedelta(hours=30)  # then everything is due again


class Office:
    """Plays the Irish office for several stations, a little slowly."""

    def __init__(self, httpserver):
        self.rows, self.asked, self.seconds = [], [], 0.01
        httpserver.expect_request(ANY_PATH).respond_with_handler(self.handle)

    def handle(self, request):
        self.asked.append(request.path)
        time.sleep(self.seconds)
        if "geojson" not in request.path:
            lines = [f"{moment:%Y-%m-%d %H:%M},{value}" for moment, value in self.rows]
            return Response("\n".join(["datetime,value", *lines]))
        moment, value = self.rows[-1]
        features = [
            {
                "properties": {
                    "station_ref": f"00000{station}",
                    "sensor_ref": "0001",
                    "datetime": f"{moment:%Y-%m-%dT%H:%M:%SZ}",
                    "value": str(value),
                    "err_code": 99,
                }
            }
            for station in STATIONS
        ]
        return Response(json.dumps({"features": features}))


@pytest.fixture(params=["sqlite_url", "postgres_url"])
def fetchers(request, httpserver):
    """Start two processes on a database of their own and the one agency."""
    url = request.getfixturevalue(request.param)
    others = {
        "FEEDS_BASES": f"opw=http://127.0.0.1:{httpserver.port}/service",
        "FEEDS_OWN_SERVERS": f"127.0.0.1:{httpserver.port}",
    }
    with Field("tests.feeds.fetchers", url=url, racers=2, **others) as field:
        yield field


def expected(rows):
    return sorted(
        [station, f"{moment:%Y-%m-%dT%H:%M}", value]
        for station in STATIONS
        for moment, value in rows
    )


def test_two_processes_at_once_ask_for_each_thing_once(fetchers, httpserver, now):
    office = Office(httpserver)
    office.rows = rows_until(now)
    assert fetchers.ask("write", at=now.isoformat(), stations=STATIONS) == len(STATIONS)

    done = fetchers.ask("fetch", at=now.isoformat())

    assert [failed for _, failed in done] == [[], []]
    assert sorted(office.asked) == sorted(set(office.asked))
    assert len(office.asked) == 1 + len(STATIONS)
    found = fetchers.ask("look", at=now.isoformat())
    assert found["readings"] == expected(office.rows)
    assert found["counted"] == len(found["readings"])
    assert (found["in_hand"], found["due"]) == (0, 0)


def test_processes_killed_at_any_moment_lose_nothing_double_nothing_and_leave_nothing_stuck(
    fetchers, httpserver, now, rounds
):
    kills = rounds(6, 50)
    chance = random.Random(20261125)
    office = Office(httpserver)
    start = now - DAY * (kills + 1)
    fetchers.ask("write", at=start.isoformat(), stations=STATIONS)
    rows, ended, left_in_hand = [], [], 0
    for number in range(kills):
        at = start + DAY * (number + 1)
        office.rows = rows_until(at, value=0.3 + 0.01 * (number % 50))
        rows += office.rows
        after_ms = [chance.uniform(0, 150), chance.uniform(0, 150)]
        ended += fetchers.ask("be_killed", at=at.isoformat(), after_ms=after_ms)
        left_in_hand += fetchers.ask("look", at=at.isoformat())["in_hand"]
        later = at + LEASE + timedelta(minutes=1)
        done = fetchers.ask("fetch", at=later.isoformat())

        found = fetchers.ask("look", at=later.isoformat())
        assert [failed for _, failed in done] == [[], []], number
        assert found["readings"] == expected(rows), number
        assert (found["in_hand"], found["due"], found["broken"]) == (0, 0, []), number

    assert found["counted"] == len(found["readings"])
    assert found["revised"] == 0
    assert signal.SIGKILL in ended
    assert left_in_hand > 0  # or the kills came too late to try anything
