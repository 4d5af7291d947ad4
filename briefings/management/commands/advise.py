"""Say what to fish with on a beat, and why."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from briefings.advice import Advice, advice_as_json, advise_on
from briefings.pack import words
from briefings.pack.pages import alternative_lines, fly_words, setup_sentence
from guiding.command_line import OneLineCommand, day, moment, number, refuse
from guiding.gauges.conditions.values import Given, Phase
from guiding.rivers.models import Beat, Part
from guiding.tackle.setup import Fly
from guiding.units import length_words

AT_HELP = (
    "the moment to advise from, now unless said, such as 2026-05-20T18:30+01:00; one without an"
    " offset is read as UTC"
)
YEARS = range(1900, 2201)  # of sunrise and dusk as they are worked out here


class Command(OneLineCommand):
    help = (
        "Advise a set-up for a beat, a date and a part of the day; given values override."
        " In --json, leader_m is the length from the line to the point fly; the dropper's own"
        " short tag hangs beside it and is not counted in."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("beat", nargs="?", metavar="BEAT", help="the beat's name")
        parser.add_argument("--list", action="store_true", help="name the beats and stop")
        parser.add_argument("--date", type=day, help="the fishing day, such as 2026-05-21")
        parser.add_argument("--part", choices=Part.values, default=Part.MORNING)
        parser.add_argument("--fish", choices=["salmon", "sea_trout"], default="salmon")
        parser.add_argument("--method", choices=["fly"], default="fly")
        parser.add_argument("--level-m", type=number(-1, 20, "m"))
        parser.add_argument("--phase", choices=[str(phase) for phase in Phase])
        parser.add_argument("--water-c", type=number(-0.5, 35, "degrees C"))
        parser.add_argument("--water-c-two-days-ago", type=number(-0.5, 35, "degrees C"))
        parser.add_argument("--visibility-cm", type=number(0, 1000, "cm"))
        parser.add_argument("--air-c", type=number(-40, 45, "degrees C"))
        parser.add_argument("--wind-ms", type=number(0, 60, "m/s"))
        parser.add_argument("--sky", choices=["bright", "cloud", "dark"])
        parser.add_argument(
            "--rods", type=int, default=1, help="how many fish: each starts on flies of its own"
        )
        parser.add_argument("--casting", choices=["novice", "used", "strong"])
        parser.add_argument("--at", type=moment, help=AT_HELP)
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["list"]:
            self._list(as_json=options["json"])
            return
        beat = self._beat(options["beat"])
        if options["date"] is None:
            raise refuse("--date is missing; write the fishing day as 2026-05-21.")
        if options["date"].year not in YEARS:
            raise refuse(
                f"--date is {options['date']}; allowed are the years {YEARS[0]} to {YEARS[-1]}."
            )
        if not 1 <= options["rods"] <= 20:
            raise refuse(f"--rods is {options['rods']}; allowed is 1 to 20.")
        given = Given(
            **{
                name: options[name]
                for name in (
                    *("level_m", "water_c", "water_c_two_days_ago", "visibility_cm"),
                    *("air_c", "wind_ms", "sky"),
                )
            },
            phase=Phase(options["phase"]) if options["phase"] else None,
        )
        advice = advise_on(
            beat,
            options["date"],
            options["part"],
            at=options["at"] or timezone.now(),
            given=given,
            fish=options["fish"],
            method=options["method"],
            casting=options["casting"],
            rods=options["rods"],
        )
        if options["json"]:
            self.say_json(advice_as_json(advice))
        else:
            self.stdout.write(advice_text(advice))

    def _list(self, *, as_json: bool) -> None:
        beats = sorted(
            Beat.objects.select_related("water__river"),
            key=lambda beat: (not beat.is_natural, beat.water.name, beat.order, beat.name),
        )
        if as_json:
            self.say_json(
                {
                    "beats": [
                        {"name": b.name, "water": b.water.name, "regime": b.regime} for b in beats
                    ]
                }
            )
            return
        for beat in beats:
            river = beat.water.river.name
            self.stdout.write(
                "\t".join([beat.name, beat.water.name, river, beat.get_regime_display()])
            )

    def _beat(self, name: str | None) -> Beat:
        if not name:
            raise refuse("Name a beat; `advise --list` prints them.")
        beat = Beat.objects.named(name).select_related("water__river").first()
        if beat is None:
            known = ", ".join(Beat.objects.values_list("name", flat=True)) or "none on file"
            raise refuse(f"No beat is called {name!r}. On file: {known}.")
        return beat


def advice_text(advice: Advice) -> str:
    """Return the advice as a guide reads it in a terminal: the dangers first."""
    chosen = advice.rig
    lines = [f"Worth going: {chosen.worth_going.replace('_', ' ')}. {' '.join(chosen.why)}"]
    lines.append(
        f"Permitted: {advice.permitted.replace('_', ' ')}. {advice.permitted_because.text}"
    )
    lines += ["", "Take care", *(f"- {caution.text}" for caution in advice.cautions), ""]
    if chosen.setup:
        lines.append(setup_sentence(chosen.setup, "metric"))
        lines.append(chosen.setup.how)
        for section in chosen.setup.leader:
            thick = f", {section.diameter_mm:.2f} mm" if section.diameter_mm else ""
            lines.append(f"  {section.part}: {length_words(section.length_m, 'metric')}{thick}")
        lines.append(f"  knots: {'; '.join(chosen.setup.knots)}")
    lines += [f"Because: {r.text} ({r.because}; {r.source.label})" for r in chosen.reasons]
    lines += [f"Next best: {line}" for line in alternative_lines(chosen, "metric")]
    lines += [f"Overruled: {o.rule} by {o.by}; it asked for {o.asked}." for o in chosen.overruled]
    box = [*advice.day_box.points, *advice.day_box.droppers]
    lines += ["", "In the box", *map(_fly_line, box), ""]
    lines += _start_lines(advice.day_box.starts)
    lines += [*advice.day_box.says, ""] if advice.day_box.says else []
    for value in advice.conditions.all():
        name = words.NAMES.get(value.what, value.what)
        spread = words.spread_words(value, "metric")
        how = words.HOW_KNOWN[value.kind]
        said = words.value_words(value, "metric")
        lines.append(f"{name}: {said}{f' ({spread})' if spread else ''}, {how}. {value.source}")
    return "\n".join(lines)


def _start_lines(starts: tuple[tuple[Fly, Fly | None], ...]) -> list[str]:
    """Return what each rod starts with, where there are several."""
    if len(starts) < 2:
        return []
    lines = ["To start with"]
    for rod, (point, dropper) in enumerate(starts, start=1):
        also = f"; {dropper.pattern}, {fly_words(dropper, 'metric')}, as dropper" if dropper else ""
        lines.append(f"- rod {rod}: {point.pattern}, {fly_words(point, 'metric')}{also}")
    return [*lines, ""]


def _fly_line(fly: Fly) -> str:
    return f"- {fly.role}: {fly.pattern}, {fly_words(fly, 'metric')}"
