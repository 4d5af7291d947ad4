"""Files named on the command line -> bytes and documents, never without bound."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from guiding.command_line import refuse
from guiding.gauges.intake.csvtext import MOST_BYTES
from guiding.gauges.models import Gauge

MOST_TOML_BYTES = 5_000_000


def file_bytes(path: Path, *, most: int = MOST_BYTES) -> bytes:
    """Return a file's bytes; refuse what is absent, no file, or too long."""
    try:
        if not path.exists():
            raise refuse(f"{path} does not exist.")
        if not path.is_file():  # a folder, or a device that never ends
            raise refuse(f"{path} is not a file.")
        with path.open("rb") as stream:
            data = stream.read(most + 1)
    except (OSError, ValueError) as error:
        raise refuse(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}.") from (
            error
        )
    if len(data) > most:
        raise refuse(f"{path} has more than {most:,} bytes.")
    return data


def toml_document(path: Path) -> dict[str, Any]:
    """Return the document in a TOML file; refuse what is none."""
    try:
        return tomllib.loads(file_bytes(path, most=MOST_TOML_BYTES).decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise refuse(f"{path} is not text in UTF-8 (byte {error.start}).") from error
    except (ValueError, RecursionError) as error:
        raise refuse(f"{path} is not TOML: {error}.") from error


def gauge_named(name: str) -> Gauge:
    """Return the gauge of this name, whatever its case; refuse with the names on file."""
    gauge = (
        Gauge.objects.named(name).select_related("river").first() if "\x00" not in name else None
    )
    if gauge is None:
        known = ", ".join(Gauge.objects.values_list("name", flat=True)) or "none yet"
        raise refuse(f"no gauge is called {name!r}; on file: {known}.")
    return gauge
