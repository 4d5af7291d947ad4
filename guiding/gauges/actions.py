"""What changes the record: readings stored, imported, typed in."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from guiding.gauges.intake.csvmap import FileRefused, read_map
from guiding.gauges.intake.csvrows import GaugeFacts, Row, RowTable, read_rows, usual_step
from guiding.gauges.intake.csvtext import unpacked
from guiding.gauges.intake.storing import (
    Plan,
    Rejected,
    Stored,
    gauge_limits,
    kept_rejects,
    plan_for,
    sift,
    typed_on_file,
    typed_refusal,
    write,
)
from guiding.gauges.models import Gauge, Quantity, Reading, ReadingImport
from guiding.history.models import record


class ReadingRefused(ValueError):
    """A typed-in reading that no river can have; the message says what is allowed."""


class NothingUsable(FileRefused):
    """A file of which every row is bad; `rejected` says why for each."""

    def __init__(self, message: str, rejected: tuple[Rejected, ...]) -> None:
        super().__init__(message)
        self.rejected = rejected


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What became of a file, counted in rows: a row is good or bad as a whole."""

    stored: int
    repeated: int
    revised: int
    rejected: tuple[Rejected, ...]
    empty: int  # rows whose values are all missing
    passed_over: int  # rows that the map's [only] does not take
    understood: tuple[str, ...]


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
    Refused by their place in the list: values out of range, moments ahead of `at`, a second value
    for one moment, and what would replace a typed-in reading.
    """
    wanted = list(rows)
    for place, (moment, _) in enumerate(wanted, start=1):
        if moment.tzinfo is None:
            raise ValueError(f"row {place}: {moment} has no zone; a reading's moment is aware")
    is_typed = quality == Reading.Quality.TYPED
    typed = {} if is_typed else typed_on_file(gauge, quantity, (moment for moment, _ in wanted))
    good, repeated, rejected = sift(wanted, gauge_limits(gauge, quantity), typed, at)
    plan = plan_for(gauge, quantity, good, quality=quality)
    stored = Stored(
        stored=len(plan.moments),
        repeated=len(good) - len(plan.moments) + repeated,
        revised=len(plan.changed),
        rejected=tuple(rejected),
    )
    _write_all(gauge, [plan], stored, at=at, name=name, quality=quality)
    return stored


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
        name=f"typed in by {by}",
        quality=Reading.Quality.TYPED,
    )
    if kept.rejected:
        raise ReadingRefused(f"{kept.rejected[0].why}.")
    return kept


def import_file(
    gauge: Gauge,
    data: bytes,
    map_document: dict[str, Any] | None = None,
    *,
    at: datetime,
    name: str,
) -> Imported:
    """Store the good rows of a CSV file, plain or gzip, and say which rows are bad and why.

    Raises FileRefused, with nothing changed, where the file or its map cannot be understood, and
    NothingUsable where every row is bad.
    """
    zone, words = gauge.river.zoneinfo, f"{gauge.river.zone} (the river's own zone)"
    mapping = None
    if map_document is not None:
        mapping = read_map(map_document, river_zone=zone, river_zone_words=words)
    facts = GaugeFacts(
        zone=zone,
        zone_words=words,
        catchment_km2=gauge.catchment_km2,
        limits={quantity: gauge_limits(gauge, quantity) for quantity in Quantity.values},
        at=at,
    )
    table = read_rows(unpacked(data), mapping, facts)
    return _store_table(gauge, table, at=at, name=name, sha256=hashlib.sha256(data).hexdigest())


@transaction.atomic
def confirm_marks(gauge: Gauge, *, by: str, at: datetime) -> bool:
    """Let marks and soundings of a gauge hold again whose levels had become others.

    False where they held already.
    """
    suspended = Gauge.objects.filter(pk=gauge.pk, marks_suspended_since__isnull=False)
    if not suspended.update(marks_suspended_since=None, marks_suspended_why=""):
        return False
    record(
        "marks confirmed",
        f"gauge {gauge.key}",
        at=at,
        before={"why": gauge.marks_suspended_why},
        after={"by": by},
    )
    return True


@transaction.atomic
def _store_table(
    gauge: Gauge, table: RowTable, *, at: datetime, name: str, sha256: str
) -> Imported:
    rows, rejected = _against_typed(gauge, table)
    rejected += [Rejected(line=bad.line, why=bad.why) for bad in table.bad]
    rejected.sort(key=lambda row: row.line)
    if not rows and not table.empty:
        _refuse_all(table, tuple(rejected))
    plans = [
        plan_for(
            gauge,
            quantity,
            {row.observed_at: v for row in rows if (v := row.values[place]) is not None},
            quality=Reading.Quality.GOOD,
        )
        for place, quantity in enumerate(table.quantities)
    ]
    written = set().union(*(plan.moments for plan in plans))
    # a row that stands twice in the file is stored once and repeated once
    stored = len(written)
    imported = Imported(
        stored=stored,
        repeated=len(rows) - stored,
        revised=len(set().union(*(plan.changed for plan in plans))),
        rejected=tuple(rejected),
        empty=table.empty,
        passed_over=table.passed_over,
        understood=(*table.understood, *_step_words(gauge, table)),
    )
    _write_all(
        gauge, plans, imported, at=at, name=name, quality=Reading.Quality.GOOD, sha256=sha256
    )
    return imported


def _against_typed(gauge: Gauge, table: RowTable) -> tuple[list[Row], list[Rejected]]:
    """Part the rows: an import never replaces what somebody typed in."""
    rows, rejected = list(table.rows), []
    for place, quantity in enumerate(table.quantities):
        typed = typed_on_file(gauge, quantity, (row.observed_at for row in rows))
        if not typed:
            continue
        kept = []
        for row in rows:
            value = row.values[place]
            why = "" if value is None else typed_refusal(typed, row.observed_at, value)
            if why:
                rejected.append(Rejected(line=row.line, why=why))
            else:
                kept.append(row)
        rows = kept
    return rows, rejected


def _refuse_all(table: RowTable, rejected: tuple[Rejected, ...]) -> None:
    if rejected:
        first = rejected[0]
        count = "the only row is" if len(rejected) == 1 else f"all {len(rejected)} rows are"
        raise NothingUsable(f"{count} bad; line {first.line}: {first.why}.", rejected)
    if table.passed_over:
        raise FileRefused(f"none of {table.passed_over} rows is one that [only] takes.")
    raise FileRefused("the file holds a header and no row under it.")


def _step_words(gauge: Gauge, table: RowTable) -> tuple[str, ...]:
    step = usual_step(row.observed_at for row in table.rows)
    minutes = step.total_seconds() / 60 if step else gauge.step_minutes
    if minutes == gauge.step_minutes:
        return ()
    said = f"the gauge's record is said to come {gauge.step_minutes} minutes apart"
    return (f"mind: rows come {minutes:g} minutes apart, and {said}",)


def _write_all(
    gauge: Gauge,
    plans: list[Plan],
    kept: Stored | Imported,
    *,
    at: datetime,
    name: str,
    quality: str,
    sha256: str = "",
) -> None:
    """Write plans with one row that tells where they came from; nothing new writes nothing."""
    if not kept.stored:
        return
    came_with = ReadingImport.objects.create(
        gauge=gauge,
        imported_at=at,
        name=name[:200],
        sha256=sha256,
        stored=kept.stored,
        repeated=kept.repeated,
        rejected=kept_rejects(kept.rejected),
    )
    for plan in plans:
        if not plan.moments:
            continue
        write(plan, at=at, came_with=came_with, quality=quality)
    record(
        "readings stored",
        f"gauge {gauge.key}",
        at=at,
        after={
            "name": name[:200],
            "quantities": [plan.series.quantity for plan in plans if plan.moments],
            "stored": kept.stored,
            "revised": kept.revised,
        },
    )
