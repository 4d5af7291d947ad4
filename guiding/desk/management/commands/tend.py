"""`tend`: do what is due in the background, once or every so many seconds."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

from django.core.management.base import CommandParser
from django.db import close_old_connections
from django.utils import timezone

from guiding.command_line import OneLineCommand, moment, number, one_line, refuse
from guiding.desk.chores import Done, do_chores


class Command(OneLineCommand):
    help = (
        "Do what is due: forecasts, the packs' PDFs, the letters. One pass, or one every S seconds "
        "until stopped. Exit 1 if anything failed in the last pass. Several may run at once."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--every", type=number(1, 86_400, "seconds"), metavar="S", help="pass after pass"
        )
        parser.add_argument("--at", type=moment, metavar="ISO", help="as if it were then")
        parser.add_argument("--json", action="store_true", help="print one object a pass")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["every"] and options["at"]:
            raise refuse("--at is one moment and --every goes on: give one of them.")
        with _asked_to_stop() as stopped:
            while True:
                close_old_connections()  # a database that was restarted is found again
                done = do_chores(options["at"] or timezone.now(), is_stopped=stopped.is_set)
                self._tell(done, as_json=options["json"])
                if not options["every"] or stopped.wait(options["every"]):
                    break
        if done.failed:
            sys.exit(1)

    def _tell(self, done: Done, *, as_json: bool) -> None:
        for line in done.failed:
            self.stderr.write(one_line(line))
        if as_json:
            self.say_json({**done.counts, "failed": len(done.failed)})
        else:
            counts = (f"{name.replace('_', ' ')} {n}" for name, n in done.counts.items())
            self.stdout.write(", ".join(counts) or "nothing done")
        self.stdout.flush()


@contextmanager
def _asked_to_stop() -> Iterator[threading.Event]:
    """Give what Ctrl-C or SIGTERM sets: the verb in hand is finished, and no other is begun."""
    stopped = threading.Event()
    before = {int(which): signal.getsignal(which) for which in (signal.SIGTERM, signal.SIGINT)}

    def ask(signum: int, frame: FrameType | None) -> None:
        stopped.set()
        signal.signal(signum, before[signum])  # asked twice: at once

    for which in before:
        signal.signal(which, ask)
    try:
        yield stopped
    finally:
        for which, handler in before.items():
            signal.signal(which, handler)
