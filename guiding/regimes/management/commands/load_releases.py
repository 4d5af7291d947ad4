"""Load the schedules of a dam from a CSV file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.command_line import OneLineCommand, moment, one_line, refuse
from guiding.regimes import schedulefile
from guiding.regimes.actions import LookRefused, import_schedules
from guiding.regimes.files import compared_as_json, compared_lines, text_in
from guiding.regimes.linetable import TableRefused
from guiding.regimes.models import Dam


class Command(OneLineCommand):
    help = (
        "Load the release schedules of a dam: the whole file or nothing. A day that is on file "
        "already with other times gets a new revision; a second time changes nothing. "
        f"{schedulefile.FORM}"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("dam", metavar="DAM", help="the dam's name")
        parser.add_argument("file", metavar="FILE.csv", type=Path)
        parser.add_argument("--said-by", required=True, metavar="WHO", help="whose schedule it is")
        parser.add_argument("--at", type=moment, help="the moment of loading; now unless said")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        dam = Dam.objects.filter(name__iexact=one_line(options["dam"])).first()
        if dam is None:
            known = ", ".join(Dam.objects.values_list("name", flat=True)) or "none yet"
            raise refuse(f"no dam is called {options['dam']!r}; on file: {known}.")
        path = options["file"]
        try:
            compared = import_schedules(
                dam,
                schedulefile.read_schedule(text_in(path)),
                said_by=one_line(options["said_by"])[:120],
                at=options["at"] or timezone.now(),
                name=one_line(path.name),
            )
        except (TableRefused, LookRefused) as refusal:
            raise refuse(f"{path}: {refusal}") from refusal
        if options["json"]:
            self.say_json({"dam": dam.name, **compared_as_json(compared)})
        else:
            self.stdout.write("\n".join(map(one_line, compared_lines(compared))))
