"""Workers that drain one outbox, each in a process of its own; one of them is killed."""

import os
import signal
from datetime import datetime
from typing import Any

import django

django.setup()

from django.db import connection  # noqa: E402

from guiding.mail.models import LINK_PLACEHOLDER, Letter  # noqa: E402
from guiding.mail.sending import send_due  # noqa: E402
from tests.factories import make_letter  # noqa: E402
from tests.races import serve  # noqa: E402


def write(told: dict[str, Any]) -> list[str]:
    """Write letters and return their Message-IDs."""
    at = datetime.fromisoformat(told["at"])
    text = f"See {LINK_PLACEHOLDER}"
    return [
        make_letter(subject=f"letter {n}", text=text, link_for="b:p", at=at).message_id
        for n in range(told["letters"])
    ]


def send(number: int, told: dict[str, Any]) -> list[int]:
    """Drain the outbox as one worker among several."""
    done = send_due(
        at=datetime.fromisoformat(told["at"]), make_link=lambda link_for, *, at: "https://x.invalid"
    )
    return [done.sent, done.failed, done.given_up]


def be_killed(told: dict[str, Any]) -> int:
    """Start a worker that is killed with a letter in hand; return the signal that ended it."""
    connection.close()
    pid = os.fork()
    if pid == 0:
        send_due(
            at=datetime.fromisoformat(told["at"]),
            make_link=lambda link_for, *, at: os.kill(os.getpid(), signal.SIGKILL),
        )
        os._exit(0)
    return os.WTERMSIG(os.waitpid(pid, 0)[1])


def look(told: dict[str, Any]) -> list[list[Any]]:
    """Return each letter's tries, and whether it is sent and leased."""
    return [
        [letter.tries, letter.sent_at is not None, letter.claimed_until is not None]
        for letter in Letter.objects.order_by("pk")
    ]


if __name__ == "__main__":
    serve(together={"send": send}, alone={"write": write, "be_killed": be_killed, "look": look})
