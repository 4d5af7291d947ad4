"""Import readings from a CSV file, plain or gzip."""

from __future__ import annotations

from argparse import RawDescriptionHelpFormatter
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.command_line import OneLineCommand, moment, one_line, refuse
from guiding.gauges.actions import Imported, NothingUsable, import_file
from guiding.gauges.intake.csvmap import FORM, FileRefused
from guiding.gauges.intake.files import file_bytes, gauge_named, toml_document

MOST_TOLD = 20  # bad rows in words; --json has them all


class Command(OneLineCommand):
    help = (
        "Import readings from a CSV file, plain or gzip. Good rows are stored, bad rows told by "
        "line number, a second time changes nothing. A row is good or bad as a whole; a value that "
        "is missing is simply not there. Counts are rows; where every row is bad, nothing is "
        "stored and the exit code is 2."
    )

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        """Return the parser, with the form of a column map below its options."""
        return super().create_parser(
            prog_name,
            subcommand,
            formatter_class=RawDescriptionHelpFormatter,
            epilog=FORM,
            **kwargs,
        )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("gauge", metavar="GAUGE", help="the gauge's name")
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--map", metavar="FILE.toml", type=Path, help="the column map")
        parser.add_argument("--at", type=moment, help="the moment of importing; now unless said")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        gauge = gauge_named(options["gauge"])
        path = options["file"]
        document = toml_document(options["map"]) if options["map"] else None
        data = file_bytes(path)
        try:
            imported = import_file(
                gauge, data, document, at=options["at"] or timezone.now(), name=one_line(path.name)
            )
        except NothingUsable as refusal:
            if options["json"]:
                rejected = [row.as_json() for row in refusal.rejected]
                self.say_json({"stored": 0, "repeated": 0, "rejected": rejected})
            raise refuse(f"{path}: {refusal}") from refusal
        except FileRefused as refusal:
            raise refuse(f"{path}: {refusal}") from refusal
        if options["json"]:
            self.say_json(
                {
                    "stored": imported.stored,
                    "repeated": imported.repeated,
                    "rejected": [row.as_json() for row in imported.rejected],
                }
            )
        else:
            self._tell(imported)

    def _tell(self, imported: Imported) -> None:
        for line in imported.understood:
            self.stdout.write(one_line(line))
        told = f"stored {imported.stored} rows"
        if imported.revised:
            told += f" ({imported.revised} of them replace another value, which is kept)"
        told += f", repeated {imported.repeated}, rejected {len(imported.rejected)}"
        if imported.empty:
            told += f", without any value {imported.empty}"
        if imported.passed_over:
            told += f", passed over {imported.passed_over}"
        self.stdout.write(told)
        for row in imported.rejected[:MOST_TOLD]:
            self.stdout.write(one_line(f"line {row.line}: {row.why}"))
        more = len(imported.rejected) - MOST_TOLD
        if more > 0:
            self.stdout.write(f"and {more} more; --json names them all")
