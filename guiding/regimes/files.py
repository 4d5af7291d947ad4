"""What both commands of a file of days share: the file read with a bound, and what it changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from guiding.command_line import one_line, refuse
from guiding.regimes.actions import Compared
from guiding.regimes.linetable import MOST_BYTES, text_of


def text_in(path: Path) -> str:
    """Return a file's text; refuse in one line what is absent, no file, too long or no text."""
    try:
        if not path.is_file():  # a folder, or a device that never ends
            raise refuse(f"{path} is not there, or is no file.")
        with path.open("rb") as stream:
            return text_of(stream.read(MOST_BYTES + 1))
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise refuse(f"{path}: {one_line(why)}") from error


def compared_as_json(compared: Compared) -> dict[str, Any]:
    """Return what a file changed, as plain JSON values."""
    return {
        "new": [day.isoformat() for day in compared.new],
        "changed": [
            {"day": row.day.isoformat(), "before": row.before, "after": row.after}
            for row in compared.changed
        ],
        "same": [day.isoformat() for day in compared.same],
    }


def compared_lines(compared: Compared) -> list[str]:
    """Return what a file changed, as lines for a terminal."""
    return [
        compared.words(),
        *(f"{row.day}: {row.after}. Before: {row.before}." for row in compared.changed),
    ]
