"""A real PostgreSQL for races: a throw-away server on a socket in a folder of its own."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

OPTIONS = "-c listen_addresses='' -c fsync=off -c full_page_writes=off -c max_connections=40"


class PostgresMissing(Exception):
    """The server's programs are not on this machine."""


def programs() -> Path:
    """Return the folder of the newest server's programs."""
    debian = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    found = sorted(debian, key=lambda path: float(path.parts[-3]))
    elsewhere = shutil.which("initdb")
    if not found and not elsewhere:
        raise PostgresMissing("PostgreSQL's server is missing: install the package `postgresql`.")
    return found[-1].parent if found else Path(str(elsewhere)).parent


class Server:
    """A running server; each test asks it for a database of its own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._numbers = count(1)

    def url(self, name: str) -> str:
        """Return the DATABASE_URL of one of its databases."""
        return f"postgres://tester@/{self._folder}/{name}"

    def new_database(self) -> str:
        """Create a database, as template1 stands now, and return its DATABASE_URL."""
        name = f"race{next(self._numbers)}"
        _run(self._folder, "createdb", "-h", self._folder, "-U", "tester", name)
        return self.url(name)


@contextmanager
def running() -> Iterator[Server]:
    """Start a server in a new folder; stop it and remove the folder at the end."""
    folder = Path(tempfile.mkdtemp(prefix="spatebook-pg-"))
    data = folder / "data"
    if os.geteuid() == 0:
        owner = pwd.getpwnam("postgres")  # the server refuses to run as root
        os.chown(folder, owner.pw_uid, owner.pw_gid)
    try:
        _run(folder, "initdb", "-D", data, "-U", "tester", "-A", "trust", "--no-sync", "-E", "UTF8")
        options = f"{OPTIONS} -c unix_socket_directories='{folder}'"
        log = folder / "log"
        _run(folder, "pg_ctl", "-D", data, "-w", "-s", "-l", log, "-o", options, "start")
        try:
            yield Server(folder)
        finally:
            _run(folder, "pg_ctl", "-D", data, "-m", "immediate", "-w", "-s", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(folder: Path, program: str, *words: object) -> None:
    command = [str(programs() / program), *map(str, words)]
    if os.geteuid() == 0:
        command = ["runuser", "-u", "postgres", "--", *command]
    done = subprocess.run(
        command,
        cwd=folder,
        check=False,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        env={**os.environ, "LC_ALL": "C"},
        text=True,
        timeout=60,
    )
    if done.returncode:
        raise RuntimeError(f"{program} ended with {done.returncode}: {done.stdout}")
