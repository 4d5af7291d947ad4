"""From nothing to a served site with an invented season in it."""

from __future__ import annotations

import argparse
import logging
import socket
import sys
from datetime import datetime
from pathlib import Path
from types import ModuleType
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandParser
from django.core.servers import basehttp
from django.core.wsgi import get_wsgi_application
from django.db import OperationalError, connection
from django.utils import timezone

from briefings.pack.printer import NoPrinter, load_printing
from guiding.command_line import OneLineCommand, moment, refuse
from guiding.desk.demo.build import load_season
from guiding.desk.demo.database import anchor_on_file, stranger_in_database
from guiding.desk.demo.packs import issue_packs, lay_out, shown
from guiding.desk.demo.sign_in import FILE_NAME, passwords

HOST = "127.0.0.1"


class Command(OneLineCommand):
    help = (
        "Set up an invented season in a database of its own, write its packs, and serve the site. "
        "A second time everything is kept, and the site is served."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-server", action="store_true", help="stop once the packs stand")
        parser.add_argument("--port", type=port_number, default=8000)
        parser.add_argument(
            "--at", type=moment, help="where the season ends, the first time; now unless said"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        port: int = options["port"]
        is_served = not options["no_server"]
        folder = Path(settings.DOCUMENTS_ROOT).parent
        try:
            chores = load_printing("guiding.desk.chores")
        except NoPrinter as missing:
            raise refuse(str(missing)) from missing
        if is_served:
            refuse_taken_port(port)
        refuse_strange_database(options["at"])
        keep_mail_in(folder / "mail", port)
        words = passwords(folder)
        failed = self._build(words, options["at"], chores)
        for line in failed:
            self.stderr.write(line)
        self._tell(folder, words, port, is_served=is_served)
        for path in lay_out(folder / "packs"):
            self.stdout.write(shown(path))
        self.stdout.flush()
        if is_served:
            serve(port)
        elif failed:
            sys.exit(1)

    def _build(self, words: dict[str, str], at: datetime | None, chores: ModuleType) -> list[str]:
        """Do what is not done yet; return one line for each thing that could not be done."""
        self._say("tables")
        call_command("migrate", verbosity=0, interactive=False)
        anchor = anchor_on_file()
        if anchor is None:
            anchor = full_hour(at or timezone.now())
            load_season(anchor=anchor, words=words, say=self._say)
        done = [chores.forecast_gauges(anchor)]
        self._say("forecast")
        issue_packs(anchor=anchor)
        done.append(chores.write_documents(anchor))
        self._say("packs")
        done.append(chores.send_letters(anchor))
        self._say("letters")
        return [line for part in done for line in part.failed]

    def _say(self, what: str) -> None:
        self.stdout.write(f"  {what}")
        self.stdout.flush()

    def _tell(self, folder: Path, words: dict[str, str], port: int, *, is_served: bool) -> None:
        names = " or ".join(f"as {name} with {password}" for name, password in words.items())
        place = f"http://{HOST}:{port}/"
        self.stdout.write(
            f"The site is at {place}; Ctrl-C stops it."
            if is_served
            else "Leave out --no-server to have the site served."
        )
        self.stdout.write(f"Sign in {names} (kept in {shown(folder / FILE_NAME)}).")
        self.stdout.write(f"The letters are in {shown(folder / 'mail')}, the packs are these:")


def port_number(text: str) -> int:
    """Read a port."""
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is not a port; it is 1 to 65535.")
    return int(text)


def full_hour(at: datetime) -> datetime:
    """Return the last full hour: the record has one value an hour."""
    return at.replace(minute=0, second=0, microsecond=0)


def refuse_taken_port(port: int) -> None:
    """Refuse a port that cannot be served on, before anything is done."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((HOST, port))
        except OSError as error:
            raise refuse(
                f"Port {port} on {HOST} cannot be used: {error.strerror}. Choose another with "
                "--port, or leave the site out with --no-server."
            ) from error


def refuse_strange_database(at: datetime | None) -> None:
    """Refuse a database that holds anything but the demo, before anything is changed."""
    if connection.vendor == "sqlite":
        Path(connection.settings_dict["NAME"]).parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    try:
        stranger = stranger_in_database()
        anchor = anchor_on_file()
    except OperationalError as error:
        raise refuse(f"The database cannot be opened: {error}") from error
    if stranger:
        raise refuse(
            f"This database is not the demo's: it holds {stranger}. Nothing was changed. "
            "Name an empty one in DATABASE_URL."
        )
    if anchor and at and full_hour(at) != anchor:
        raise refuse(
            f"This demo's season ends at {anchor:%Y-%m-%d %H:%M} UTC and stays there. Name an "
            "empty database in DATABASE_URL for another."
        )


def keep_mail_in(folder: Path, port: int) -> None:
    """Send this process's mail to files, whatever the box is set up for: the people are invented.

    Settings are not meant to change in a running process; nothing has sent a letter yet.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = str(folder)
    settings.SITE_ADDRESS = f"http://{HOST}:{port}"


def serve(port: int) -> None:
    """Serve the site until it is stopped, without a line for every request."""
    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)
    site = get_wsgi_application()  # this sets logging up anew
    logging.getLogger("django.server").setLevel(logging.ERROR)
    try:
        basehttp.run(HOST, port, site, threading=True)
    except KeyboardInterrupt:
        return
    except OSError as error:
        raise refuse(f"Port {port} on {HOST} cannot be used: {error.strerror}.") from error
