"""Scores summed by day as they are written, so that a record is read without its history."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from guiding.gauges.models import Forecast, ForecastScore, Gauge, ScoredDay

BINS = 10


def add_to_days(gauge: Gauge, scored: Iterable[tuple[Forecast, ForecastScore]]) -> None:
    """Add new scores to the sums of their days. Call inside the transaction that writes them."""
    days: dict[tuple[int | None, int, date], ScoredDay] = {}
    for forecast, row in scored:
        key = (forecast.fit_id, row.lead_hours, _day(gauge, row))
        if key not in days:
            # the fit by its number: what it has learned is heavy and not wanted here
            where: dict[str, Any] = {"fit_id": key[0], "lead_hours": key[1], "day": key[2]}
            days[key], _ = ScoredDay.objects.select_for_update().get_or_create(gauge=gauge, **where)
        add_score(days[key], row)
    for day in days.values():
        day.save()


def _day(gauge: Gauge, row: ForecastScore) -> date:
    return row.target_at.astimezone(gauge.river.zoneinfo).date()


def add_score(day: ScoredDay, row: ForecastScore) -> None:
    """Add one score to the sums of a day, unsaved."""
    if row.observed_m is None or row.q50 is None or row.stays_m is None or row.crps_m is None:
        day.not_scored += 1
    else:
        error, stays = row.q50 - row.observed_m, row.stays_m - row.observed_m
        day.count += 1
        day.inside += bool(row.is_inside)
        day.error_m += abs(error)
        day.stays_error_m += abs(stays)
        day.squares += error**2
        day.stays_squares += stays**2
        if row.stays_crps_m is not None:
            day.crps_count += 1
            day.crps_m += row.crps_m
            day.stays_crps_m += row.stays_crps_m
    for mark in row.marks:
        if mark["happened"] is not None:
            _add_chance(day, mark["chance"], happened=mark["happened"])


def _add_chance(day: ScoredDay, chance: float, *, happened: bool) -> None:
    tenth = str(min(int(chance * BINS + 1e-9), BINS - 1))
    count, chances, happenings = day.chances.get(tenth, [0, 0.0, 0])
    day.chances[tenth] = [count + 1, chances + chance, happenings + int(happened)]
