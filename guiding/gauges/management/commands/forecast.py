"""`forecast GAUGE`: what the gauge will read over five days, issued and stored."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser
from django.utils import timezone

from guiding.command_line import OneLineCommand, moment, refuse
from guiding.gauges.conditions.direction import next_place
from guiding.gauges.forecast_remarks import other_water
from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.levels import levels_of
from guiding.gauges.models import Forecast, Gauge
from guiding.gauges.outlook_words import river_sentence

SHOWN_EVERY = 6  # hourly steps to a printed row


class Command(OneLineCommand):
    help = "Forecast a gauge for five days at its record's own step; issued and stored."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("gauge", metavar="GAUGE", help="the gauge's name")
        parser.add_argument("--at", type=moment, metavar="ISO", help="as it was known then")
        parser.add_argument("--json", action="store_true", help="print one object")

    def handle(self, *args: Any, **options: Any) -> None:
        gauge = find_gauge(options["gauge"])
        forecast = issue_forecast(gauge, at=options["at"] or timezone.now())
        if options["json"]:
            self.say_json(as_json(forecast))
        else:
            self.stdout.write("\n".join(as_lines(forecast)))


def find_gauge(name: str) -> Gauge:
    """Return the gauge of that name, or refuse and name those on file."""
    gauge = Gauge.objects.select_related("river").named(name).first()
    if gauge is None:
        known = ", ".join(Gauge.objects.order_by("name").values_list("name", flat=True))
        raise refuse(f"No gauge is named {name!r}. On file: {known or 'none yet'}.")
    return gauge


def as_json(forecast: Forecast) -> dict[str, Any]:
    """Return the forecast as the command prints it."""
    record = forecast.as_record()
    rows = zip(record.times, record.q10, record.q50, record.q90, strict=True)
    return {
        "issued_at": record.issued_at.isoformat(),
        "model": record.model,
        "inputs": forecast.inputs,
        "steps": [
            {"time": moment.isoformat(), "q10": low, "q50": middle, "q90": high}
            for moment, low, middle, high in rows
        ],
        "marks": forecast.marks,
        "says": [*record.says, *other_water(forecast.gauge)],
    }


def as_lines(forecast: Forecast) -> list[str]:
    """Return the forecast for reading: a sentence, what must be said, the levels, the marks."""
    record, gauge = forecast.as_record(), forecast.gauge
    zone = gauge.river.zoneinfo
    levels = levels_of(gauge, None, record.issued_at)[-1:]
    marks = [mark.as_level() for mark in gauge.marks.all()]
    place = next_place(record, record.issued_at)
    when = record.times[0 if place is None else place]  # the step that the river page speaks of
    sentence, _ = river_sentence(record, levels, marks, when, when, zone)
    lines = [f"{gauge}: {sentence}", *record.says, *other_water(gauge), ""]
    lines += _table(record, zone)
    for mark in forecast.marks:
        way = "rises above" if mark["direction"] == "rise_above" else "falls below"
        chances = ", ".join(
            f"{_share(mark[key])} in {hours} h"
            for key, hours in (("p24", 24), ("p48", 48), ("p120", 120))
        )
        lines.append(f"{way} {mark['level_m']:.2f} m, {mark['name']}: {chances}")
    return [*lines, "", *(_input_line(given) for given in forecast.inputs)]


def _input_line(given: dict[str, Any]) -> str:
    if given["what"] == "river model" and given["age_hours"] is None:
        return f"{given['what']}: {given['source']}"
    return f"{given['what']}: {_age(given['age_hours'])}, {given['source']}"


def _table(record: ForecastRecord, zone: ZoneInfo) -> list[str]:
    known = sum(level is not None for level in record.q50)
    lines = []
    if known:
        lines.append(f"{'time':<18}{'low':>6}{'likely':>8}{'high':>6}  m, 4 times in 5 between")
    every = 1 if record.is_daily else SHOWN_EVERY
    for k in range(every - 1, known, every):
        lines.append(
            f"{_clock(record.times[k], zone):<18}{record.q10[k]:>6.2f}"
            f"{record.q50[k]:>8.2f}{record.q90[k]:>6.2f}"
        )
    if known < len(record.times):
        lines.append(f"not known from {_clock(record.times[known], zone)} on")
    return lines


def _clock(moment: datetime, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%a %d %b %H:%M}"


def _share(share: float | None) -> str:
    if share is None:
        return "not known"
    return "under 1 %" if share < 0.01 else "over 99 %" if share > 0.99 else f"{share:.0%}"


def _age(hours: float | None) -> str:
    return "no reading" if hours is None else f"{hours:g} h old"
