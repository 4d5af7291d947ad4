"""What every command shares: exit 2 with one plain line for bad input, and typed arguments."""

from __future__ import annotations

import json
import math
import os
import sys
from argparse import ArgumentTypeError
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandError, CommandParser

FIRST_YEAR, LAST_YEAR = 1900, 2200


class OneLineParser(CommandParser):
    """A parser that refuses in one plain line instead of a page of usage."""

    joined_with_value: tuple[str, ...] = ()

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Parse; a value below nought such as -0.2,0.3 is no option where one is waited for."""
        joined: list[str] = []
        for word in sys.argv[1:] if args is None else args:
            if joined and joined[-1] in self.joined_with_value:
                joined[-1] = f"{joined[-1]}={word}"
            else:
                joined.append(word)
        return super().parse_args(joined, namespace)

    def error(self, message: str) -> NoReturn:
        if not self.called_from_command_line:
            raise CommandError(message, returncode=2)
        sys.stderr.write(f"{one_line(message)}\n")
        sys.exit(2)


class OneLineCommand(BaseCommand):
    """A command whose bad input ends in exit 2 and one plain line on standard error."""

    requires_system_checks: list[str] = []
    _called_from_command_line = False  # Django sets it on the instance

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> OneLineParser:
        """Return Django's own parser, refusing in one line."""
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.__class__ = OneLineParser
        return parser  # type: ignore[return-value]

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Run, and turn a refusal into its one line and its code."""
        try:
            return super().execute(*args, **options)
        except BrokenPipeError:
            # whoever read our lines has seen enough; nothing may be written on the way out
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return None
        except CommandError as refusal:
            if options.get("traceback") or not self._called_from_command_line:
                raise
            sys.stderr.write(f"{one_line(str(refusal))}\n")
            sys.exit(refusal.returncode if refusal.returncode != 1 else 2)

    def say_json(self, answer: Any) -> None:
        """Print one JSON object."""
        self.stdout.write(json.dumps(answer, ensure_ascii=False, allow_nan=False))


def refuse(message: str) -> CommandError:
    """Return the refusal to raise: exit 2 and this one line."""
    return CommandError(one_line(message), returncode=2)


def one_line(message: str) -> str:
    """Return a message without line breaks or control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in message).split())


def moment(text: str) -> datetime:
    """Read --at: an ISO 8601 moment with its offset, or one in UTC where it has none."""
    try:
        read = datetime.fromisoformat(text)
    except ValueError as error:
        raise ArgumentTypeError(
            f"{text!r} is not a moment; write it as 2026-05-20T18:30+01:00."
        ) from error
    if not FIRST_YEAR <= read.year <= LAST_YEAR:
        raise ArgumentTypeError(
            f"{text!r} is out of range; a moment here lies in {FIRST_YEAR} to {LAST_YEAR}."
        )
    return (read if read.tzinfo else read.replace(tzinfo=UTC)).astimezone(UTC)


def day(text: str) -> date:
    """Read a date, year first."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ArgumentTypeError(f"{text!r} is not a date; write it as 2026-05-21.") from error


def number(low: float, high: float, unit: str = "") -> Callable[[str], float]:
    """Return a reader of numbers that refuses what lies outside [low, high]."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError as error:
            raise ArgumentTypeError(f"{text!r} is not a number.") from error
        if not math.isfinite(value) or not low <= value <= high:
            raise ArgumentTypeError(
                f"{text} is out of range; allowed is {low:g} to {high:g} {unit}"
            )
        return value

    return read
