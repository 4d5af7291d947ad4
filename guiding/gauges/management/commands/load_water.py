"""Load a river with its waters, beats, pools, soundings, access points, gauges and marks."""

from __future__ import annotations

from argparse import RawDescriptionHelpFormatter
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.command_line import OneLineCommand, moment, one_line, refuse
from guiding.gauges.intake.files import toml_document
from guiding.gauges.waterfile.form import form_words
from guiding.gauges.waterfile.loading import Loaded, load_water
from guiding.gauges.waterfile.reading import WaterFileRefused

MOST_TOLD = 200  # problems, one a line


class Command(OneLineCommand):
    help = "Load a water file (TOML): all of it or nothing; a second time brings it up to date."

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        """Return the parser, with the whole form of a water file below its options."""
        return super().create_parser(
            prog_name,
            subcommand,
            formatter_class=RawDescriptionHelpFormatter,
            epilog="The form of the file\n" + form_words(),
            **kwargs,
        )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE.toml", type=Path)
        parser.add_argument("--at", type=moment, help="the moment of loading; now unless said")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        path = options["file"]
        try:
            loaded = load_water(toml_document(path), at=options["at"] or timezone.now())
        except WaterFileRefused as refusal:
            if len(refusal.problems) > 1 and not options["json"]:
                for problem in refusal.problems[:MOST_TOLD]:
                    self.stdout.write(one_line(problem))
            raise refuse(f"{path}: {refusal}") from refusal
        if options["json"]:
            self.say_json(
                {
                    "river": loaded.river.name,
                    "added": loaded.added,
                    "changed": loaded.changed,
                    "unchanged": loaded.unchanged,
                    "says": list(loaded.says),
                }
            )
            return
        self._tell(loaded)

    def _tell(self, loaded: Loaded) -> None:
        for word in ("added", "changed", "unchanged"):
            counts = getattr(loaded, word)
            if counts:
                told = ", ".join(f"{table} {number}" for table, number in counts.items())
                self.stdout.write(f"{word}: {told}")
        for line in loaded.says:
            self.stdout.write(line)
