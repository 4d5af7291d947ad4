"""The one door to printing, which says in plain words what the box lacks to print with."""

from __future__ import annotations

import contextlib
import importlib
import io
from types import ModuleType

PANGO_MISSING = (
    "Packs cannot be printed: Pango, which lays out their text, is missing or cannot be found. "
    "On Debian or Ubuntu: sudo apt-get install -y libpangoft2-1.0-0 libharfbuzz-subset0. "
    "On macOS: brew install pango, and then "
    'export DYLD_FALLBACK_LIBRARY_PATH="$(brew --prefix)/lib". Nothing was changed.'
)


class NoPrinter(Exception):
    """A system library that printing needs cannot be loaded; the message says what to install."""


def load_printing(name: str = "briefings.pack.printing") -> ModuleType:
    """Return a module that prints.

    Loading it loads Pango. It is loaded by name, and not at the top of a file, so that a box
    without Pango gets a sentence in place of a page of traceback.
    """
    try:
        # the printing library says so itself, at length, on standard output
        with contextlib.redirect_stdout(io.StringIO()):
            return importlib.import_module(name)
    except OSError as error:
        raise NoPrinter(PANGO_MISSING) from error
