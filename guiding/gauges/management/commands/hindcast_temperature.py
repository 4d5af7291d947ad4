"""`hindcast_temperature --csv FILE`: water temperature on a river it has never seen."""

from __future__ import annotations

import math
import time
from argparse import ArgumentTypeError
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from django.core.management.base import CommandParser

from guiding.command_line import OneLineCommand, moment, refuse
from guiding.gauges.hydrology.record import DAY_MINUTES
from guiding.gauges.hydrology.water_fits import MODEL, TooLittle
from guiding.gauges.hydrology.water_hindcast import WaterScore, hindcast_water
from guiding.gauges.hydrology.water_learning import LEADS
from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.intake.files import file_bytes
from guiding.gauges.intake.watertempfile import WaterRiver, read_water_river

FARTHEST = LEADS[DAY_MINUTES]


class Command(OneLineCommand):
    help = (
        "Fit water temperature on the first part of a file and try it on the rest, day by day. The "
        "file has the columns t, Ta (air, degrees C), Tw (water, degrees C) and Q (flow, any unit; "
        "Ta and Q where they are known); several files are one river, joined in time. Air and flow "
        "to come are taken from the file as they were measured; leads are days."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--csv", required=True, metavar="FILE", type=Path, action="append", dest="files"
        )
        parser.add_argument("--train-until", required=True, type=moment, metavar="ISO")
        parser.add_argument("--leads", type=_leads, default=(1, 3, 5), metavar="1,3,5")
        parser.add_argument("--json", action="store_true", help="print one object")

    def handle(self, *args: Any, **options: Any) -> None:
        files = options["files"]
        try:
            river = read_water_river([(str(path), file_bytes(path)) for path in files])
        except FileRefused as refusal:
            raise refuse(str(refusal)) from refusal
        steps = river.steps
        split = steps.over_by(options["train_until"])
        if not 0 < split < steps.count:
            raise refuse(
                f"--train-until is {options['train_until'].isoformat()}; the record runs from "
                f"{steps.words(0)} to {steps.words(steps.count - 1)}."
            )
        begun = time.perf_counter()
        try:
            fit, scores = hindcast_water(river.record, split, options["leads"])
        except TooLittle as lack:
            raise refuse(f"before --train-until: {lack}") from lack
        answer = {
            "river": " + ".join(path.name for path in files),
            "step": "day",
            "model": MODEL,
            "train": _train(river, split),
            "air_means_days": [fit.terms.fast_days, fit.terms.slow_days]
            if fit.terms.air_normal
            else [],
            "seconds": round(time.perf_counter() - begun, 2),
            "leads": [_row(score) for score in scores],
            "says": [*river.says, *_missing(river, split)],
        }
        if options["json"]:
            self.say_json(answer)
        else:
            self.stdout.write("\n".join(as_lines(answer)))


def _leads(text: str) -> tuple[int, ...]:
    leads = set()
    for part in text.split(","):
        number = part.strip()
        if not (number.isascii() and number.isdigit()) or not 1 <= int(number[:9]) <= FARTHEST:
            raise ArgumentTypeError(
                f"{part!r} is no lead; allowed are whole days from 1 to {FARTHEST}, such as 1,3,5."
            )
        leads.add(int(number))
    return tuple(sorted(leads))


def _train(river: WaterRiver, split: int) -> dict[str, Any]:
    known = np.flatnonzero(np.isfinite(river.record.water_c[:split]))
    return {
        "from": river.steps.words(int(known[0])),
        "to": river.steps.words(int(known[-1])),
        "n": int(known.size),
    }


def _missing(river: WaterRiver, split: int) -> list[str]:
    """Return what must be said of air and flow that are not on file where they are needed."""
    record = river.record
    wanted = np.isfinite(record.water_c[split:])
    says = []
    for values, what in ((record.air_c, "air"), (record.flow, "flow")):
        lacking = 0 if values is None else int((wanted & np.isnan(values[split:])).sum())
        if lacking:
            says.append(
                f"The {what} is not on file on {lacking} of the {int(wanted.sum())} days tried; "
                f"what touches them was forecast without it."
            )
    return says


def _row(score: WaterScore) -> dict[str, Any]:
    return {
        "lead": score.lead,
        "n": score.n,
        "unknown": score.unknown,
        **{name: _number(getattr(score, name)) for name in ("rmse", "pi", "cover80")},
    }


def _number(value: float) -> float | None:
    return round(value, 5) if math.isfinite(value) else None


def as_lines(answer: dict[str, Any]) -> list[str]:
    """Return the answer for reading."""
    train = answer["train"]
    spans = f"{train['n']:,} days of water, {train['from']} to {train['to']}"
    lines = [
        f"{answer['river']}: {answer['model']}",
        f"fitted on {spans}, and tried in {answer['seconds']} s; air and flow ahead as measured",
        *answer["says"],
        "",
        f"{'lead':>6}{'n':>8}{'rmse C':>10}{'PI':>8}{'in the 80 % band':>18}{'no answer':>11}",
    ]
    rows: Sequence[dict[str, Any]] = answer["leads"]
    for row in rows:
        lines.append(
            f"{row['lead']:>4} d{row['n']:>8,}{_shown(row['rmse']):>10}{_shown(row['pi']):>8}"
            f"{_shown(row['cover80']):>18}{row['unknown']:>11,}"
        )
    return lines


def _shown(value: float | None) -> str:
    return "?" if value is None else f"{value:.3f}"
