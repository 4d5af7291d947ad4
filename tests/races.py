"""Several processes on one database, let go at the same moment.

A test starts a `Field`: one process that forks its racers before it opens a database, so that each
has a connection of its own. The racers' module calls `serve`.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

HOUSE = Path(__file__).resolve().parent.parent


def environment(url: str, **others: str) -> dict[str, str]:
    """Return an environment in which the house uses this database, as a real process would."""
    return {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "guiding.settings",
        "DATABASE_URL": url,
        "SECRET_KEY": "only-for-tests-" + "x" * 40,
        "HTTPS": "off",
        **others,
    }


def migrate(url: str) -> None:
    """Lay the house's tables in an empty database."""
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--skip-checks", "--verbosity", "0"],
        cwd=HOUSE,
        env=environment(url),
        check=True,
        timeout=120,
    )


class Field:
    """The test's end: asks the racers' process and reads its answers."""

    def __init__(self, module: str, *, url: str, racers: int, **others: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", module, str(racers)],
            cwd=HOUSE,
            env=environment(url, **others),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def __enter__(self) -> Field:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.stdin.close()
        self._process.wait(timeout=60)
        self._process.stdout.close()

    def ask(self, act: str, **told: Any) -> Any:
        """Have one act done, by all racers at once or by the process itself."""
        self._process.stdin.write(json.dumps([act, told]) + "\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline()
        if not answer:
            raise RuntimeError(f"{act}: the racers died; their words are on standard error")
        return json.loads(answer)


def serve(
    *,
    together: dict[str, Callable[[int, dict[str, Any]], Any]],
    alone: dict[str, Callable[[dict[str, Any]], Any]],
) -> None:
    """Answer lines on standard input: acts done by all racers at once, or by this process."""
    fork = multiprocessing.get_context("fork")
    pipes = []
    for number in range(int(sys.argv[1])):
        near, far = fork.Pipe()
        fork.Process(target=_race, args=(number, far, together), daemon=True).start()
        pipes.append(near)
    for line in sys.stdin:
        act, told = json.loads(line)
        if act in alone:
            answer = alone[act](told)
        else:
            for pipe in pipes:
                pipe.send((act, told))
            answer = [pipe.recv() for pipe in pipes]
        print(json.dumps(answer), flush=True)


def _race(number: int, pipe: Any, acts: dict[str, Callable[[int, dict[str, Any]], Any]]) -> None:
    while True:
        act, told = pipe.recv()
        pipe.send(acts[act](number, told))
