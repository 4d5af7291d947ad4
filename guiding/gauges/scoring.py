"""Every forecast held against what came, once its time has come; what was not observed is said."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.db import transaction

from guiding.gauges.hydrology.record import DAY_MINUTES, Array, ForecastRecord
from guiding.gauges.hydrology.spread import LEAD_HOURS, Spreads, lead_outcome
from guiding.gauges.known import steps_of
from guiding.gauges.levels import levels_of
from guiding.gauges.models import Forecast, ForecastScore, Gauge
from guiding.gauges.scored_days import add_to_days
from guiding.gauges.steps import Steps

# how long after its moment, or after its day is over, a level is first looked for
ARRIVES = {60: timedelta(hours=2), DAY_MINUTES: timedelta(hours=6)}
LOOKED_FOR_AGAIN = timedelta(hours=12)
# a level that has not come by now is taken as never observed: a month's file may still bring it
NEVER = timedelta(days=35)
WHOLE_SHARE = 0.9  # of the steps up to a horizon must be observed to say whether a mark was passed
HORIZONS = {24: "p24", 48: "p48", 120: "p120"}
AT_ONCE = 100  # forecasts in one transaction

NEVER_OBSERVED = "no level was observed then"
NOTHING_SAID = "the forecast said nothing so far ahead"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """How many leads were scored, how many closed without a score, and what went wrong."""

    leads: int = 0
    closed: int = 0
    failed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """The levels of a gauge over the span that its due forecasts ask about."""

    steps: Steps
    first: int
    level_m: Array

    def at(self, moment: datetime) -> float | None:
        """Return the level of the step that a target stands for, None where there is none."""
        place = self.steps.of(moment) - self.first
        inside = 0 <= place < len(self.level_m) and np.isfinite(self.level_m[place])
        return float(self.level_m[place]) if inside else None

    def between(self, start: datetime, end: datetime) -> Array:
        """Return the levels of the steps that a forecast's times in [start, end] stand for."""
        return self.level_m[
            max(self.steps.of(start) - self.first, 0) : self.steps.of(end) - self.first + 1
        ]


def first_score_at(record: ForecastRecord) -> datetime:
    """Return when the nearest lead of a forecast can first be scored."""
    return _ready_at(_targets(record.step_minutes, record.times)[0], record.step_minutes)


def score_due(at: datetime) -> Scored:
    """Score the leads whose time has come; one bad gauge never stops the rest."""
    leads, closed, failed = 0, 0, []
    # in the queue's own order: in any other the database would walk through all that were issued
    due = Forecast.objects.filter(next_score_at__lte=at).order_by("next_score_at", "pk")
    for pk in sorted(set(due.values_list("gauge", flat=True))):
        gauge = Gauge.objects.select_related("river").get(pk=pk)
        try:
            while waiting := list(due.filter(gauge=gauge).defer("paths")[:AT_ONCE]):
                done = _score(gauge, waiting, at)
                leads, closed = leads + done.leads, closed + done.closed
        except Exception as error:
            failed.append(f"scores of {gauge}: {type(error).__name__}: {error}")
    return Scored(leads=leads, closed=closed, failed=tuple(failed))


def _targets(step_minutes: int, times: Sequence[datetime]) -> list[datetime]:
    return [times[hours * 60 // step_minutes - 1] for hours in LEAD_HOURS[step_minutes]]


def _ready_at(target: datetime, step_minutes: int) -> datetime:
    over = target + timedelta(days=1) if step_minutes == DAY_MINUTES else target
    return over + ARRIVES[step_minutes]


def _score(gauge: Gauge, waiting: list[Forecast], at: datetime) -> Scored:
    seen = _seen(gauge, waiting, at)
    written = _written(waiting)
    scored: list[tuple[Forecast, ForecastScore]] = []
    with transaction.atomic():
        # one at a time for a gauge: what two passes have both worked out is written by one
        Gauge.objects.select_for_update().get(pk=gauge.pk)
        for forecast in waiting:
            rows, next_at = _rows(forecast, written.get(forecast.pk, set()), seen, at)
            changes: dict[str, Any] = {"next_score_at": next_at}
            if next_at is None:
                changes["spreads"] = None
            is_ours = Forecast.objects.filter(
                pk=forecast.pk, next_score_at=forecast.next_score_at
            ).update(**changes)
            if not is_ours:
                continue  # another pass was quicker
            scored += [(forecast, row) for row in rows]
        ForecastScore.objects.bulk_create(row for _, row in scored)
        add_to_days(gauge, scored)
    leads = sum(row.observed_m is not None for _, row in scored)
    return Scored(leads=leads, closed=len(scored) - leads)


def _seen(gauge: Gauge, waiting: list[Forecast], at: datetime) -> _Seen:
    """Read the levels from the first to the last moment that may be asked about, no others."""
    since = min(forecast.issued_at for forecast in waiting) - timedelta(days=2)
    last = max(_moments(forecast)[-1] for forecast in waiting) + timedelta(days=2)
    levels = levels_of(gauge, since, min(last, at))
    steps = steps_of(gauge, levels)
    first, end = steps.of(since), steps.of(max(last, at)) + 1
    return _Seen(steps=steps, first=first, level_m=steps.laid_out(levels, first, end))


def _moments(forecast: Forecast) -> list[datetime]:
    return [datetime.fromisoformat(text) for text in forecast.quantiles["times"]]


def _written(waiting: Iterable[Forecast]) -> dict[int, set[int]]:
    rows = ForecastScore.objects.filter(forecast__in=[forecast.pk for forecast in waiting])
    written: dict[int, set[int]] = {}
    for pk, lead in rows.values_list("forecast", "lead_hours"):
        written.setdefault(pk, set()).add(lead)
    return written


def _rows(
    forecast: Forecast, written: set[int], seen: _Seen, at: datetime
) -> tuple[list[ForecastScore], datetime | None]:
    """Return the scores of what can be scored now, and when to look again (None: all is done)."""
    rows, waits = [], []
    targets = _targets(forecast.step_minutes, _moments(forecast))
    leads = LEAD_HOURS[forecast.step_minutes]
    spreads = Spreads.unpacked(bytes(forecast.spreads)) if forecast.spreads else None
    for place, (lead, target) in enumerate(zip(leads, targets, strict=True)):
        if lead in written:
            continue
        ready = _ready_at(target, forecast.step_minutes)
        if ready > at:
            waits.append(ready)
            continue
        row = _row(forecast, place, lead, target, spreads, seen, at)
        if row.not_scored == NEVER_OBSERVED and at < target + NEVER:
            waits.append(min(at + LOOKED_FOR_AGAIN, max(target + NEVER, at + timedelta(minutes=1))))
        else:
            rows.append(row)
    return rows, min(waits, default=None)


def _row(
    forecast: Forecast,
    place: int,
    lead: int,
    target: datetime,
    spreads: Spreads | None,
    seen: _Seen,
    at: datetime,
) -> ForecastScore:
    row = ForecastScore(
        forecast=forecast,
        lead_hours=lead,
        target_at=target,
        scored_at=at,
        observed_m=seen.at(target),
        marks=_marks(forecast, lead, target, seen),
    )
    step = lead * 60 // forecast.step_minutes - 1
    band = [forecast.quantiles[name][step] for name in ("q10", "q50", "q90")]
    if spreads is None or None in band:
        row.observed_m, row.not_scored = None, NOTHING_SAID
        return row
    row.q10, row.q50, row.q90 = band
    if row.observed_m is None:
        row.not_scored = NEVER_OBSERVED
        return row
    came = lead_outcome(spreads, place, (band[0], band[2]), row.observed_m)
    if came is None:
        row.observed_m, row.not_scored = None, NOTHING_SAID
        return row
    row.crps_m, row.stays_m, row.stays_crps_m = came.crps, came.stays, came.stays_crps
    row.is_inside = came.is_inside
    return row


def _marks(forecast: Forecast, lead: int, target: datetime, seen: _Seen) -> list[dict[str, Any]]:
    """Return for each mark with a chance up to this lead whether it was passed, None: not known.

    A mark is known to have been passed or not where nine tenths of the steps were observed; with
    fewer neither is said, or what was passed would be counted more often than what was not.
    """
    key = HORIZONS.get(lead)
    if key is None:
        return []
    times = [moment for moment in _moments(forecast) if moment <= target]
    levels = seen.between(times[0], times[-1])
    known = levels[np.isfinite(levels)]
    is_whole = len(levels) > 0 and known.size >= WHOLE_SHARE * len(levels)
    rows = []
    for mark in forecast.marks:
        if mark[key] is None:
            continue
        passed = (
            known >= mark["level_m"]
            if mark["direction"] == "rise_above"
            else known < mark["level_m"]
        )
        rows.append(
            {
                "name": mark["name"],
                "level_m": mark["level_m"],
                "direction": mark["direction"],
                "chance": mark[key],
                "happened": bool(passed.any()) if is_whole else None,
            }
        )
    return rows
