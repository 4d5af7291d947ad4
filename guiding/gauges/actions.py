"""What changes the record: readings stored, imported, typed in; weather runs kept."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import transaction

from guiding.gauges.limits import Limits, limits_of, moment_refusal
from guiding.gauges.models import (
    Gauge,
    Quantity,
    Reading,
    ReadingImport,
    ReadingRevision,
    Series,
)
from guiding.history.models import record

MOST_KEPT_REJECTS = 1000  # of one file, in the row that tells where readings came from


class ReadingRefused(ValueError):
    """A typed-in reading that no river can have; the message says what is allowed."""


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
class _Plan:
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


@transaction.atomic
def store_readings(
    gauge: Gauge,
    quantity: str,
    rows: Iterable[tuple[datetime, float]],
    *,
    at: datetime,
    name: str,
    quality: str = Reading.Quality.GOOD,
) -> Stored:
    """Store aware moments and values of one quantity; a second time changes nothing.

    A value that differs from the one on file replaces it, and the old one goes to the revisions.
    Values out of range, and moments ahead of `at`, are refused by their place in the list.
    """
    good, repeated, rejected = _sift(rows, gauge_limits(gauge, quantity), at)
    plan = _plan(gauge, quantity, good)
    written = plan.moments
    if written:
        came_with = ReadingImport.objects.create(
            gauge=gauge,
            imported_at=at,
            name=name,
            stored=len(written),
            repeated=len(good) - len(written) + repeated,
            rejected=kept_rejects(rejected),
        )
        _write(plan, at=at, came_with=came_with, quality=quality)
        record(
            "readings stored",
            f"gauge {gauge.key}",
            at=at,
            after={"quantity": quantity, "name": name, "stored": len(written)},
        )
    return Stored(
        stored=len(written),
        repeated=len(good) - len(written) + repeated,
        revised=len(plan.changed),
        rejected=tuple(rejected),
    )


@transaction.atomic
def type_in_reading(
    gauge: Gauge,
    quantity: str,
    value: float,
    observed_at: datetime,
    *,
    by: str,
    at: datetime,
) -> Stored:
    """Store what somebody read with their own eyes; raise ReadingRefused where it cannot be."""
    if quantity not in Quantity.values:
        raise ReadingRefused(
            f"{quantity!r} is nothing a gauge records; allowed are {', '.join(Quantity.values)}."
        )
    if observed_at.tzinfo is None:
        raise ReadingRefused(f"{observed_at} has no zone; say by which clock it was read.")
    kept = store_readings(
        gauge,
        quantity,
        [(observed_at, value)],
        at=at,
        name=f"typed in by {by}"[:200],
        quality=Reading.Quality.TYPED,
    )
    if kept.rejected:
        raise ReadingRefused(f"{kept.rejected[0].why}.")
    return kept


def kept_rejects(rejected: list[Rejected]) -> list[dict[str, Any]]:
    """Return rejects as they are kept: the first thousand, then how many more there were."""
    kept = [row.as_json() for row in rejected[:MOST_KEPT_REJECTS]]
    more = len(rejected) - len(kept)
    if more:
        kept.append({"line": rejected[len(kept)].line, "why": f"from here on {more} more"})
    return kept


def _sift(
    rows: Iterable[tuple[datetime, float]], limits: Limits, at: datetime
) -> tuple[dict[datetime, float], int, list[Rejected]]:
    good: dict[datetime, float] = {}
    repeated = 0
    rejected = []
    for place, (moment, raw) in enumerate(rows, start=1):
        if moment.tzinfo is None:
            raise ValueError(f"row {place}: {moment} has no zone; a reading's moment is aware")
        observed_at, value = moment.astimezone(UTC), float(raw)
        why = limits.refusal(value) or moment_refusal(observed_at, at)
        if not why and observed_at not in good:
            good[observed_at] = value
        elif not why and same_value(good[observed_at], value):
            repeated += 1
        else:
            other = good.get(observed_at)
            why = why or f"another value, {other:g}, came before for the same moment"
            rejected.append(Rejected(line=place, why=why))
    return good, repeated, rejected


def same_value(one: float, other: float) -> bool:
    """Say whether two values are one measurement, unit conversion apart."""
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)


def _plan(gauge: Gauge, quantity: str, good: dict[datetime, float]) -> _Plan:
    series, _ = Series.objects.get_or_create(gauge=gauge, quantity=quantity)
    # Two imports at once into one series wait for each other here, so none is stored twice.
    Series.objects.select_for_update().get(pk=series.pk)
    if not good:
        return _Plan(series=series, new={}, changed={})
    on_file = {
        observed_at: (pk, value)
        for observed_at, pk, value in series.readings.filter(
            observed_at__range=(min(good), max(good))
        ).values_list("observed_at", "pk", "value")
    }
    new = {moment: value for moment, value in good.items() if moment not in on_file}
    changed = {
        moment: (*on_file[moment], value)
        for moment, value in good.items()
        if moment in on_file and not same_value(on_file[moment][1], value)
    }
    return _Plan(series=series, new=new, changed=changed)


def _write(plan: _Plan, *, at: datetime, came_with: ReadingImport, quality: str) -> None:
    ReadingRevision.objects.bulk_create(
        ReadingRevision(reading_id=pk, value=before, replaced_at=at)
        for pk, before, _ in plan.changed.values()
    )
    values = plan.new | {moment: after for moment, (_, _, after) in plan.changed.items()}
    Reading.objects.bulk_create(
        (
            Reading(
                series=plan.series,
                observed_at=moment,
                value=value,
                quality=quality,
                came_with=came_with,
            )
            for moment, value in values.items()
        ),
        update_conflicts=True,
        unique_fields=["series", "observed_at"],
        update_fields=["value", "quality", "came_with"],
    )
