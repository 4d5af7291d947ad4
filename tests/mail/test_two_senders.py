"""Several workers on one outbox send each letter once; a killed one's letter goes later."""

import signal
from collections import Counter
from datetime import timedelta

import pytest

from guiding.mail.sending import LEASE
from tests.races import Field


@pytest.fixture(params=["sqlite_url", "postgres_url"])
def workers(request, postman):
    """Start three workers on a database of their own and the real SMTP server."""
    url = request.getfixturevalue(request.param)
    email_url = f"smtp://127.0.0.1:{postman.port}"
    with Field("tests.mail.senders", url=url, racers=3, EMAIL_URL=email_url) as field:
        yield field


def test_each_letter_is_sent_by_one_worker_and_a_killed_workers_letter_is_not_lost(
    workers, postman, moment, rounds
):
    letters = rounds(20, 300)
    postman.seconds_a_letter = 0.005
    at = moment.isoformat()
    written = workers.ask("write", letters=letters, at=at)

    assert workers.ask("be_killed", at=at) == signal.SIGKILL
    done = workers.ask("send", at=at)
    too_early = workers.ask("send", at=(moment + LEASE / 2).isoformat())

    # the killed worker died with the first letter in hand, before anything left the house
    assert Counter(m["Message-ID"] for m in postman.arrived) == Counter(written[1:])
    assert sum(sent for sent, _, _ in done) == letters - 1
    assert sum(1 for sent, _, _ in done if sent) > 1
    assert too_early == [[0, 0, 0]] * 3
    assert workers.ask("look")[0] == [1, False, True]

    later = workers.ask("send", at=(moment + LEASE + timedelta(seconds=1)).isoformat())

    assert sorted(later) == [[0, 0, 0], [0, 0, 0], [1, 0, 0]]
    assert Counter(m["Message-ID"] for m in postman.arrived) == Counter(written)
    assert workers.ask("look") == [[2, True, False]] + [[1, True, False]] * (letters - 1)
