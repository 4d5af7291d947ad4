"""Load the tide tables of a place from a CSV file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.command_line import OneLineCommand, moment, one_line, refuse
from guiding.regimes import tidefile
from guiding.regimes.actions import LookRefused, import_tide_tables
from guiding.regimes.files import compared_as_json, compared_lines, text_in
from guiding.regimes.linetable import TableRefused
from guiding.regimes.models import TidePlace


class Command(OneLineCommand):
    help = (
        "Load the tide tables of a place: the whole file or nothing. A day that is on file already "
        "with other tides gets a new revision; a second time changes nothing. Times are by the "
        f"clock that the place's table is printed in. {tidefile.FORM}"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("place", metavar="PLACE", help="the tide place's name")
        parser.add_argument("file", metavar="FILE.csv", type=Path)
        parser.add_argument("--said-by", required=True, metavar="TABLE", help="which table it is")
        parser.add_argument("--at", type=moment, help="the moment of loading; now unless said")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        place = TidePlace.objects.filter(name__iexact=one_line(options["place"])).first()
        if place is None:
            known = ", ".join(TidePlace.objects.values_list("name", flat=True)) or "none yet"
            raise refuse(f"no tide place is called {options['place']!r}; on file: {known}.")
        path = options["file"]
        try:
            days = tidefile.read_tide_table(text_in(path), twice_a_day=place.is_twice_a_day)
            compared = import_tide_tables(
                place,
                days,
                said_by=one_line(options["said_by"])[:120],
                at=options["at"] or timezone.now(),
                name=one_line(path.name),
            )
        except (TableRefused, LookRefused) as refusal:
            raise refuse(f"{path}: {refusal}") from refusal
        if options["json"]:
            self.say_json({"place": place.name, **compared_as_json(compared)})
        else:
            self.stdout.write("\n".join(map(one_line, compared_lines(compared))))
