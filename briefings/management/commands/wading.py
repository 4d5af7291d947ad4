"""Judge a depth and a speed, or a sounding at another level, for one person."""

from __future__ import annotations

from argparse import ArgumentTypeError
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from briefings.wading import judge as wading
from briefings.wading.hazard import aidr_class, arr_adult_class, hazard_rating
from briefings.wading.judge import Circumstances, Sounding, Wader, Wading
from briefings.wading.records import CONFIDENCES, REGIMES, Criterion
from briefings.wading.words import met_words
from guiding.command_line import OneLineCommand, OneLineParser, refuse
from guiding.sources import Label

DIRECT = ("depth_m", "speed_ms")
MEASURED = ("sounding", "level_m")
UNASKED = "and no schedule or table was asked"


def plain_number(text: str) -> float:
    """Read a number; the records say which numbers a river or a person can have."""
    try:
        return float(text)
    except ValueError as error:
        raise ArgumentTypeError(f"{text!r} is not a number; write it as 0.85.") from error


def sounding(text: str) -> Sounding:
    """Read LEVEL,DEPTH,SPEED."""
    parts = text.split(",")
    if len(parts) != 3:
        raise ArgumentTypeError(
            f"{text!r} has {len(parts)} parts; write LEVEL,DEPTH,SPEED with decimal points,"
            " such as 0.30,0.45,0.6."
        )
    level_m, depth_m, speed_ms = (plain_number(part) for part in parts)
    try:
        return Sounding(level_m=level_m, depth_m=depth_m, speed_ms=speed_ms)
    except ValueError as error:
        raise ArgumentTypeError(f"{text!r}: {error}") from error


class Command(OneLineCommand):
    help = (
        "Hold a depth and a speed against every listed criterion for wading. What is left out of"
        " rise, colour, visibility, ice and light is taken as absent and listed as unchecked."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--depth-m", type=plain_number)
        parser.add_argument("--speed-ms", type=plain_number)
        parser.add_argument(
            "--sounding", type=sounding, action="append", metavar="LEVEL,DEPTH,SPEED"
        )
        parser.add_argument("--level-m", type=plain_number, help="the level to judge at")
        parser.add_argument("--height-m", type=plain_number)
        parser.add_argument("--mass-kg", type=plain_number)
        parser.add_argument("--age", type=int)
        parser.add_argument("--frail", action="store_true")
        parser.add_argument("--wading", choices=CONFIDENCES)
        parser.add_argument("--rise-cm-h", type=plain_number)
        parser.add_argument("--coloured", action="store_true")
        parser.add_argument("--visibility-cm", type=plain_number)
        parser.add_argument(
            "--regime",
            choices=REGIMES,
            default="natural",
            help="below a dam, or tidal: not known here, for no schedule or table is asked",
        )
        parser.add_argument("--json", action="store_true")

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> OneLineParser:
        """Return a parser that takes a sounding at a level below nought for what it is."""
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.joined_with_value = ("--sounding",)
        return parser

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            answer = judged(options)
        except ValueError as error:
            raise refuse(str(error)) from error
        if options["json"]:
            self.say_json(as_json(answer))
        else:
            self.stdout.write(as_text(answer))


def judged(options: dict[str, Any]) -> Wading:
    """Return the answer to the options; ValueError says which of them do not fit."""
    given = {name for name in (*DIRECT, *MEASURED) if options[name] is not None}
    if given not in (set(DIRECT), set(MEASURED)):
        raise ValueError(
            "Give --depth-m and --speed-ms, or --sounding and --level-m; met was "
            f"{', '.join(f'--{name}'.replace('_', '-') for name in sorted(given)) or 'none'}."
        )
    rise_cm_h = options["rise_cm_h"]
    wader = Wader(
        height_m=options["height_m"],
        mass_kg=options["mass_kg"],
        age=options["age"],
        is_frail=options["frail"],
        confidence=options["wading"],
    )
    circumstances = Circumstances(
        rise_cm_h=rise_cm_h,
        rise_is_flagged=None if rise_cm_h is None else False,  # typed in: somebody looked at it
        is_coloured=True if options["coloured"] else None,
        visibility_cm=options["visibility_cm"],
        regime=options["regime"],
        may_be_moved=None,  # what moves it is on file with its beat: `advise` asks there
        why_moved="" if options["regime"] == "natural" else f"{options['regime']} water, {UNASKED}",
    )
    if given == set(DIRECT):
        return wading.judge(
            depth_m=options["depth_m"],
            speed_ms=options["speed_ms"],
            wader=wader,
            circumstances=circumstances,
            omitted_is_absent=True,
        )
    return wading.judge_pool(
        soundings=tuple(options["sounding"]),
        level_m=options["level_m"],
        ratio=1.0,
        over_bank_since=None,
        today=timezone.localdate(),
        wader=wader,
        circumstances=circumstances,
        omitted_is_absent=True,
    )


def as_json(answer: Wading) -> dict[str, Any]:
    """Return the answer with the keys that the command prints."""
    return {
        "depth_m": answer.depth_m,
        "speed_ms": answer.speed_ms,
        "criteria": [
            {
                "name": criterion.name,
                "value": criterion.value,
                "limit": criterion.limit,
                "unit": criterion.unit,
                "decides": criterion.decides,
                "verdict": criterion.verdict,
                "label": str(criterion.source.label),
                "source": criterion.source.title,
            }
            for criterion in answer.criteria
        ],
        "decider": answer.decider,
        "verdict": answer.verdict,
        "stop_level_m": answer.stop_level_m,
        "unchecked": list(answer.unchecked),
        "text": answer.text,
        "client_text": answer.client_text,
    }


def as_text(answer: Wading) -> str:
    """Return the answer as a guide reads it in a terminal."""
    lines = [f"{answer.text[0].upper()}{answer.text[1:]}.", f"To the client: {answer.client_text}."]
    if answer.depth_m is not None and answer.speed_ms is not None:
        depth_m, speed_ms = answer.depth_m, answer.speed_ms
        lines.append(
            f"Depth {depth_m:.2f} m at {speed_ms:.2f} m/s: AIDR class"
            f" {aidr_class(depth_m, speed_ms)}; AR&R for an adult, from memory:"
            f" {arr_adult_class(depth_m, speed_ms)}; flood hazard rating"
            f" {hazard_rating(depth_m, speed_ms):.2f}."
        )
    if answer.stop_level_m is not None:
        lines.append(f"Wading stops at a level of {answer.stop_level_m:.3f} m: {answer.stop_by}.")
    if answer.unchecked:
        lines.append(f"Not checked: {', '.join(answer.unchecked)}.")
    lines += ["", *(_line(criterion) for criterion in answer.criteria)]
    lines.append("The fishery's rules and the one who stands on the bank decide, not this list.")
    return "\n".join(lines)


def _line(criterion: Criterion) -> str:
    word = criterion.verdict.replace("_", " ")
    decides = "" if criterion.decides else " (does not decide)"
    label, title = criterion.source.label, criterion.source.title
    who = f"{title} ({label})" if title and label is Label.MEMORY else title or str(label)
    return f"{word:>9}  {met_words(criterion)}{decides}. {who}"
