"""Keep a weather run from a file in the shape of MET Norway's compact Locationforecast."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.command_line import OneLineCommand, moment, refuse
from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.intake.csvtext import unpacked
from guiding.gauges.intake.files import file_bytes, gauge_named
from guiding.gauges.intake.weather_runs import RunRefused, keep_weather_run
from guiding.gauges.providers.metno import CREDIT, parse_document, read_run
from guiding.gauges.providers.shapes import ShapeChanged

MOST_BYTES = 20_000_000


class Command(OneLineCommand):
    help = (
        "Keep a weather run for a gauge as it was issued, from a JSON file (plain or gzip) in the "
        "shape of MET Norway's compact Locationforecast 2.0. A second time changes nothing."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("gauge", metavar="GAUGE", help="the gauge's name")
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--at", type=moment, help="the moment of loading; now unless said")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        gauge = gauge_named(options["gauge"])
        path = options["file"]
        try:
            data = unpacked(file_bytes(path, most=MOST_BYTES), most=MOST_BYTES)
            read = read_run(parse_document(data))
            kept = keep_weather_run(gauge, read, at=options["at"] or timezone.now())
        except (ShapeChanged, FileRefused, RunRefused) as refusal:
            raise refuse(f"{path}: {refusal}") from refusal
        if options["json"]:
            self.say_json(
                {
                    "stored": 0 if kept.is_repeated else 1,
                    "repeated": 1 if kept.is_repeated else 0,
                    "issued_at": read.issued_at.isoformat(),
                    "steps": len(read.steps),
                }
            )
            return
        word = "on file already" if kept.is_repeated else "kept"
        first, last = read.steps[0], read.steps[-1]
        self.stdout.write(
            f"{word}: run issued {read.issued_at:%Y-%m-%d %H:%M} UTC, {len(read.steps)} steps from "
            f"{first.starts_at:%Y-%m-%d %H:%M} to {last.ends_at:%Y-%m-%d %H:%M} UTC"
        )
        for line in kept.says:
            self.stdout.write(line)
        self.stdout.write(CREDIT)
