"""How readings get into their series in bulk: what is new, what changed, what was there already."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db.models import F

from guiding.gauges.intake.limits import Limits, limits_of, moment_refusal
from guiding.gauges.models import Gauge, Reading, ReadingImport, ReadingRevision, Series

MOST_KEPT_REJECTS = 1000  # of one file, in the row that tells where readings came from


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """One row that was not stored. `line` is its line in the file, or its place in the list."""

    line: int
    why: str

    def as_json(self) -> dict[str, Any]:
        """Return the two keys that commands print."""
        return {"line": self.line, "why": self.why}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """What became of a list of readings. `revised` ones are counted as stored too."""

    stored: int
    repeated: int
    revised: int = 0
    rejected: tuple[Rejected, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What one series would gain: new moments, and moments whose value is another now."""

    series: Series
    new: dict[datetime, float]
    changed: dict[datetime, tuple[int, float, float]]  # reading, value on file, value to come

    @property
    def moments(self) -> set[datetime]:
        """Return every moment at which something is written."""
        return self.new.keys() | self.changed.keys()


def gauge_limits(gauge: Gauge, quantity: str) -> Limits:
    """Return the range of a quantity at a gauge on file."""
    return limits_of(
        quantity,
        name=gauge.name,
        lowest_m=gauge.lowest_m,
        highest_m=gauge.highest_m,
        step_minutes=gauge.step_minutes,
    )


def same_value(one: float, other: float) -> bool:
    """Say whether two values are one measurement, unit conversion apart."""
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)


def typed_on_file(
    gauge: Gauge, quantity: str, moments: Iterable[datetime]
) -> dict[datetime, float]:
    """Return what somebody typed in between the first and the last of these moments."""
    wanted = list(moments)
    if not wanted:
        return {}
    rows = Reading.objects.filter(
        series__gauge=gauge,
        series__quantity=quantity,
        quality=Reading.Quality.TYPED,
        observed_at__range=(min(wanted), max(wanted)),
    )
    return dict(rows.values_list("observed_at", "value"))


def typed_refusal(typed: Mapping[datetime, float], moment: datetime, value: float) -> str:
    """Return why an import may not replace what somebody read with their own eyes, or nothing."""
    if moment in typed and not same_value(typed[moment], value):
        return (
            f"{typed[moment]:g} was typed in for {moment:%Y-%m-%d %H:%M} UTC and stands; "
            f"the file has {value:g}"
        )
    return ""


def sift(
    rows: Iterable[tuple[datetime, float]],
    limits: Limits,
    typed: Mapping[datetime, float],
    at: datetime,
) -> tuple[dict[datetime, float], int, list[Rejected]]:
    """Return what may be stored by its UTC moment, how many rows came twice, and what is refused.

    Raises ValueError for a moment without a zone.
    """
    good: dict[datetime, float] = {}
    repeated = 0
    rejected = []
    for place, (moment, raw) in enumerate(rows, start=1):
        observed_at, value = moment.astimezone(UTC), float(raw)
        why = (
            limits.refusal(value)
            or moment_refusal(observed_at, at)
            or typed_refusal(typed, observed_at, value)
        )
        if not why and observed_at not in good:
            good[observed_at] = value
        elif not why and same_value(good[observed_at], value):
            repeated += 1
        else:
            other = good.get(observed_at)
            why = why or f"another value, {other:g}, came before for the same moment"
            rejected.append(Rejected(line=place, why=why))
    return good, repeated, rejected


def plan_for(gauge: Gauge, quantity: str, good: Mapping[datetime, float], *, quality: str) -> Plan:
    """Compare what may be stored with what is on file. Call inside a transaction.

    A typed-in value that equals the one on file still changes it: somebody has looked.
    """
    if not good:
        return Plan(series=Series(gauge=gauge, quantity=quantity), new={}, changed={})
    series, _ = Series.objects.get_or_create(gauge=gauge, quantity=quantity)
    # Two imports at once into one series wait for each other here, so none is stored twice.
    Series.objects.select_for_update().get(pk=series.pk)
    on_file = {
        observed_at: (pk, value, kept)
        for observed_at, pk, value, kept in series.readings.filter(
            observed_at__range=(min(good), max(good))
        ).values_list("observed_at", "pk", "value", "quality")
    }
    is_typed = quality == Reading.Quality.TYPED
    new, changed = {}, {}
    for moment, value in good.items():
        if moment not in on_file:
            new[moment] = value
            continue
        pk, before, kept = on_file[moment]
        if not same_value(before, value) or (is_typed and kept != quality):
            changed[moment] = (pk, before, value)
    return Plan(series=series, new=new, changed=changed)


def write(plan: Plan, *, at: datetime, came_with: ReadingImport, quality: str) -> None:
    """Write a plan; values it replaces go to the revisions."""
    ReadingRevision.objects.bulk_create(
        ReadingRevision(reading_id=pk, value=before, replaced_at=at)
        for pk, before, _ in plan.changed.values()
    )
    values = plan.new | {moment: after for moment, (_, _, after) in plan.changed.items()}
    Reading.objects.bulk_create(
        (
            Reading(
                series_id=plan.series.pk,  # by number: twice as fast as by instance
                observed_at=moment,
                value=value,
                quality=quality,
                came_with_id=came_with.pk,
            )
            for moment, value in values.items()
        ),
        update_conflicts=True,
        unique_fields=["series", "observed_at"],
        update_fields=["value", "quality", "came_with"],
    )
    if plan.new:
        Series.objects.filter(pk=plan.series.pk).update(on_file=F("on_file") + len(plan.new))


def kept_rejects(rejected: Iterable[Rejected]) -> list[dict[str, Any]]:
    """Return rejects as they are kept: the first thousand, then how many more there were."""
    rows = list(rejected)
    kept = [row.as_json() for row in rows[:MOST_KEPT_REJECTS]]
    more = len(rows) - len(kept)
    if more:
        kept.append({"line": rows[len(kept)].line, "why": f"from here on {more} more"})
    return kept
