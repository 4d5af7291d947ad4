"""`calibrate GAUGE`: fit the river and its temperature on what is on file, and say what came."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.command_line import OneLineCommand, refuse
from guiding.gauges.fitting import FitOutcome, TurnLost, TurnTaken, fit_gauge
from guiding.gauges.management.commands.forecast import find_gauge
from guiding.gauges.models import Fit, Modelled
from guiding.gauges.pairing import learn_pairs

SHOWN = (1, 3, 5, 6, 24, 48, 72, 120)  # leads in steps, where they were scored
FITTED = (Modelled.LEVEL, Modelled.WATER)


class Command(OneLineCommand):
    help = (
        "Fit the river model and the model of water temperature on what is on file. A fit is taken "
        "into force only where it is no worse than the one before; earlier fits are kept. Under a "
        "season on file nothing is fitted, and the forecast falls back to the river's own past."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("gauge", metavar="GAUGE", help="the gauge's name")
        parser.add_argument("--json", action="store_true", help="print one object")

    def handle(self, *args: Any, **options: Any) -> None:
        gauge = find_gauge(options["gauge"])
        at = timezone.now()
        done: dict[str, FitOutcome] = {}
        for what in FITTED:
            tell = _Progress(self, what.label)
            try:
                done[what] = fit_gauge(gauge, what, at=at, tell=tell)
            except (TurnTaken, TurnLost) as taken:
                raise refuse(f"{taken}; try again later.") from taken
            if not options["json"]:
                self.stdout.write("\n".join(_lines(done[what])))
        pairs = learn_pairs(gauge, at=at)
        if options["json"]:
            fits = {what: as_json(outcome) for what, outcome in done.items()}
            beside = [{"beat": one.beat, "gauge": one.gauge, "says": one.says} for one in pairs]
            self.say_json({"gauge": gauge.name, **fits, "gauges_beside": beside})
        else:
            for one in pairs:
                self.stdout.write(f"{one.gauge} for {one.beat}: {one.says}")


class _Progress:
    """Tells on standard error what is being done, at each new tenth."""

    def __init__(self, command: OneLineCommand, label: str) -> None:
        self._command = command
        self._label = label
        self._told = ("", -1)

    def __call__(self, what: str, share: float) -> None:
        now = (what, int(share * 10))
        if now != self._told:
            self._told = now
            self._command.stderr.write(f"{self._label}: {what}, {share:.0%}")
            self._command.stderr.flush()


def as_json(outcome: FitOutcome) -> dict[str, Any]:
    """Return what came of one fit as the command prints it."""
    fit = outcome.fit
    if fit is None:
        return {"is_fitted": False, "is_in_force": False, "why": outcome.why}
    return {
        "is_fitted": True,
        "is_in_force": fit.is_in_force,
        "why": fit.why,
        "model": fit.model,
        "data": {
            "from": fit.data_from.isoformat(),
            "to": fit.data_to.isoformat(),
            "n": fit.data_count,
        },
        "rain": fit.rain,
        "fit_s": fit.fit_seconds,
        "parameters": fit.parameters,
        "scores": fit.scores,
        "compared": fit.compared,
    }


def _lines(outcome: FitOutcome) -> list[str]:
    label = outcome.what.label.capitalize()
    fit = outcome.fit
    if fit is None:
        return [f"{label}: nothing was fitted. {outcome.why}"]
    zone = fit.gauge.river.zoneinfo
    since, until = fit.data_from.astimezone(zone), fit.data_to.astimezone(zone)
    made = (
        f"  {fit.model}; {since:%d %b %Y} to {until:%d %b %Y}, {fit.data_count} values; "
        f"{fit.fit_seconds:.0f} s"
    )
    return [f"{label}: {fit.why}", made, *_score_lines(fit)]


def _score_lines(fit: Fit) -> list[str]:
    unit = "m" if fit.what == Modelled.LEVEL else "degrees C"
    step = "day" if fit.step_minutes == 1440 else "hour"
    lines = []
    for score in fit.scores:
        lead = score["lead"]
        if (lead in SHOWN if step == "hour" else lead <= 5) and score["rmse"] is not None:
            rest = "".join(
                f", {name} {score[key]:.2f}"
                for key, name in (("pi", "PI"), ("crpss", "CRPSS"), ("cover80", "80 % band holds"))
                if score.get(key) is not None
            )
            plural = "" if lead == 1 else "s"
            lines.append(f"  {lead} {step}{plural} ahead: off by {score['rmse']:.3f} {unit}{rest}")
    return lines
