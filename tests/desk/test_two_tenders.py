"""Two processes tend one house and are killed: all that is due is done, none twice, none stuck."""

import random
import signal
from datetime import UTC, datetime, timedelta

import pytest

from guiding.gauges.fit_turns import LEASE
from tests.mail.conftest import postman  # noqa: F401  (a fixture)
from tests.races import Field

START = datetime(2026, 4, 1, 9, tzinfo=UTC)  # fifty days on, the booking is still to come
DAY = timedelta(days=1)


@pytest.fixture(params=["sqlite_url", "postgres_url"])
def tenders(request, postman, tmp_path):  # noqa: F811
    """Start two processes on a database of their own and the real SMTP server."""
    url = request.getfixturevalue(request.param)
    others = {
        "EMAIL_URL": f"smtp://127.0.0.1:{postman.port}",
        "DOCUMENTS_ROOT": str(tmp_path / "documents"),
    }
    with Field("tests.desk.tenders", url=url, racers=2, **others) as field:
        yield field


def test_processes_killed_at_any_moment_do_all_that_is_due_once_and_leave_nothing_stuck(
    tenders,
    postman,  # noqa: F811
    rounds,
):
    kills = rounds(10, 50)
    chance = random.Random(20261125)
    assert tenders.ask("begin", at=START.isoformat()) == []
    before = tenders.ask("look", at=START.isoformat())
    assert before["in_force"] == {"Upper": 1, "Lower": 1}
    written, ended, left_in_hand = [], [], 0
    for number in range(kills):
        at = START + DAY * (number + 1)
        written += tenders.ask("write", at=at.isoformat(), number=number, has_pack=number % 5 == 1)
        longest = 1200 if number % 5 == 1 else 300
        after_ms = [chance.uniform(0, longest) for _ in range(2)]
        ended += tenders.ask("be_killed", at=at.isoformat(), after_ms=after_ms)
        left_in_hand += tenders.ask("look", at=at.isoformat())["in_hand"]
        later = at + LEASE + timedelta(minutes=1)
        failed = tenders.ask("tend", at=later.isoformat())

        found = tenders.ask("look", at=later.isoformat())
        assert failed == [[], []], number
        assert found["in_hand"] == 0, number
        assert (found["unscored"], found["unsent"], found["without_document"]) == (0, 0, 0), number
        assert found["fits"] == {"Upper": number + 2, "Lower": number + 2}, number
        assert found["in_force"] == {"Upper": 1, "Lower": 1}, number
        assert set(found["issued_today"]) == {"Upper", "Lower"}, number
        assert found["issued_twice"] == [], number
        assert found["sums_agree"], number

    assert found["scores"] >= 2 * (kills - 1)
    arrived = {message["Message-ID"] for message in postman.arrived}
    assert arrived == set(written)
    assert signal.SIGKILL in ended
    assert left_in_hand > 0  # or the kills came too late to try anything
