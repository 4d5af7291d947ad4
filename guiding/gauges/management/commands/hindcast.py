"""`hindcast --csv FILE`: the whole model on a river it has never seen, split without peeking."""

from __future__ import annotations

import time
from argparse import ArgumentTypeError
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from django.core.management.base import CommandParser

from guiding.command_line import OneLineCommand, moment, refuse
from guiding.gauges.hindcast_report import as_answer, as_lines, silences
from guiding.gauges.hydrology.evaporation import latitude_of, potential_evaporation
from guiding.gauges.hydrology.hindcast import HindcastReport, hindcast_level
from guiding.gauges.hydrology.hindcast_floor import MOST_ORIGINS as MOST_TRIED
from guiding.gauges.hydrology.hindcast_floor import hindcast_floor
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.level_fit import TooLittle
from guiding.gauges.hydrology.level_model import MODEL
from guiding.gauges.hydrology.outlook import MODEL as FLOOR_MODEL
from guiding.gauges.hydrology.record import DAY_MINUTES, Array
from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.intake.files import file_bytes
from guiding.gauges.intake.riverfile import read_river
from guiding.gauges.intake.riversteps import RiverSteps, laid_on_steps

STEPS = {"day": DAY_MINUTES, "hour": 60}
LEADS = {"day": (1, 2, 3, 4, 5), "hour": (6, 24, 72, 120)}
FARTHEST = {"day": 5, "hour": 120}
ORIGINS, MOST_ORIGINS = 1_500, 100_000
MOST_SEED = 2**32 - 1


class Command(OneLineCommand):
    help = (
        "Fit the river model on the first part of a file and try it on the rest. The file has the "
        "columns t, P (mm), E (mm), T (degrees C) where they are known, and Q or H (m); --leads "
        "counts in the unit of --step."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--csv", required=True, metavar="FILE", type=Path)
        parser.add_argument("--step", required=True, choices=sorted(STEPS))
        parser.add_argument("--level-from", required=True, choices=["Q", "H"])
        parser.add_argument("--train-until", required=True, type=moment, metavar="ISO")
        parser.add_argument("--rain", choices=["true", "degraded", "none"])
        parser.add_argument("--seed", type=_count(0, MOST_SEED), default=1, metavar="N")
        parser.add_argument("--leads", type=_leads, metavar="1,2,3")
        parser.add_argument("--origins", type=_count(1, MOST_ORIGINS), default=ORIGINS, metavar="N")
        parser.add_argument("--peers", action="store_true", help="print the peers' scores as well")
        parser.add_argument("--json", action="store_true", help="print one object")

    def handle(self, *args: Any, **options: Any) -> None:
        path, step = options["csv"], options["step"]
        leads = options["leads"] or LEADS[step]
        if max(leads) > FARTHEST[step]:
            raise refuse(
                f"a lead is {max(leads)}; with --step {step} leads are 1 to {FARTHEST[step]} "
                f"{step}s."
            )
        try:
            river = laid_on_steps(read_river(file_bytes(path)), STEPS[step])
        except FileRefused as refusal:
            raise refuse(f"{path}: {refusal}") from refusal
        split = river.over_by(options["train_until"])
        if not 0 < split < river.count:
            raise refuse(
                f"--train-until is {options['train_until'].isoformat()}; {path} runs from "
                f"{river.words(0)} to {river.words(river.count - 1)}."
            )
        level, says = _level(path, river, options["level_from"], split)
        rain, about_rain = _rain(path, river, options["rain"])
        history, about_air = _history(river, level, split)
        model, report, about_model = self._tried(
            history, split, rain, leads, options["origins"], options["seed"]
        )
        count = options["origins"] if model == MODEL else min(options["origins"], MOST_TRIED)
        silent = silences(report, level, split, count, step)
        answer = as_answer(
            _river_name(path),
            step,
            rain,
            _train(river, level, split),
            model,
            report,
            (
                *river.says,
                *about_rain,
                *says,
                *about_air,
                *_air_ahead(history, rain),
                *about_model,
                *silent,
            ),
            with_peers=options["peers"],
        )
        if options["json"]:
            self.say_json(answer)
        else:
            self.stdout.write("\n".join(as_lines(answer)))

    def _tried(
        self,
        history: History,
        split: int,
        rain: str,
        leads: Sequence[int],
        origins: int,
        seed: int,
    ) -> tuple[str, HindcastReport, list[str]]:
        """Return what was tried, what came of it, and what must be said of that."""
        asked: dict[str, Any] = {
            "train_until": split,
            "rain": rain,
            "leads": leads,
            "origins": origins,
            "seed": seed,
            "clock": time.perf_counter,
        }
        try:
            try:
                return MODEL, hindcast_level(history, tell=self._tell, **asked), []
            except TooLittle as lack:
                why = str(lack)
                says = [f"{why[:1].upper()}{why[1:]} What is tried instead: {FLOOR_MODEL}."]
                return FLOOR_MODEL, hindcast_floor(history, **asked), says
        except ValueError as lack:
            raise refuse(f"nothing can be tried: {lack}") from lack

    def _tell(self, what: str, share: float) -> None:
        if self.stderr.isatty():
            self.stderr.write(f"{what}: {share:.0%}", ending="\r" if share < 1 else "\n")


def _count(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not (text.isascii() and text.isdigit()) or not low <= int(text[:20]) <= high:
            raise ArgumentTypeError(
                f"{text!r} is out of range; a whole number from {low} to {high}."
            )
        return int(text)

    return read


def _leads(text: str) -> tuple[int, ...]:
    one = _count(1, max(FARTHEST.values()))
    return tuple(sorted({one(part.strip()) for part in text.split(",")}))


def _level(path: Path, river: RiverSteps, level_from: str, split: int) -> tuple[Array, list[str]]:
    """Return the levels [m] that are scored: as measured, or worked out from flow."""
    values = river.values.get(level_from)
    if values is None:
        held = ", ".join(river.values) or "none of P, E, T, Q, H"
        raise refuse(f"{path} has no column {level_from}; beside t it has {held}.")
    known = values[:split][np.isfinite(values[:split])]
    if not known.size:
        raise refuse(f"{path} has no value of {level_from} before --train-until.")
    if level_from == "H":
        return values, []
    median = float(np.median(known))
    if median <= 0:
        raise refuse(
            f"{path}: half of the flow before --train-until is 0; a level is worked out from flow "
            "over its median there."
        )
    return 0.5 * np.sqrt(values / median), [
        "Level stands for 0.5 x sqrt(flow / median flow of the training part), in m."
    ]


def _history(river: RiverSteps, level: Array, split: int) -> tuple[History, tuple[str, ...]]:
    """Return the whole file as a history, and what must be said of its evaporation."""
    history = History(
        step_minutes=river.step_minutes,
        level_m=level,
        rain_mm=river.values.get("P"),
        air_c=river.values.get("T"),
        pet_mm=river.values.get("E"),
        year_share=river.year_share,
        latitude=None,
    )
    # which side of the equator it is must not be learned from after the split
    latitude, _ = latitude_of(history.until(split))
    about_air = potential_evaporation(history).says if history.rain_mm is not None else ()
    return replace(history, latitude=latitude), about_air


def _air_ahead(history: History, rain: str) -> list[str]:
    """Say what air the forecasts are given: it decides about snow."""
    if rain == "none" or history.air_c is None or not np.isfinite(history.air_c).any():
        return []
    how = "as it was measured" if rain == "true" else "made as uncertain as a forecast"
    return [f"The air of the days ahead is given to the forecasts {how}, as the rain is."]


def _rain(path: Path, river: RiverSteps, asked: str | None) -> tuple[str, list[str]]:
    if "P" in river.values and np.isfinite(river.values["P"]).any():
        return asked or "true", []
    if asked in ("true", "degraded"):
        raise refuse(f"{path} has no rain P; --rain {asked} takes it, --rain none does not.")
    return "none", ["There is no rain in the file: the forecasts know none, past or to come."]


def _train(river: RiverSteps, level: Array, split: int) -> dict[str, Any]:
    known = np.flatnonzero(np.isfinite(level[:split]))
    return {
        "from": river.words(int(known[0])),
        "to": river.words(int(known[-1])),
        "n": int(known.size),
    }


def _river_name(path: Path) -> str:
    name = path.name
    for ending in (".gz", ".csv"):
        name = name.removesuffix(ending)
    return name
