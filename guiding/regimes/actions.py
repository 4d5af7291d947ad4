"""What changes the record of releases, tides and ice: every change is a revision that is kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction

from guiding.history.models import record
from guiding.regimes.linetable import plain_text
from guiding.regimes.models import (
    Dam,
    IceLook,
    Release,
    Schedule,
    TidePlace,
    TideTable,
    TideTurn,
    newest_of_each_day,
)
from guiding.regimes.releases import Release as PlannedRelease
from guiding.regimes.tides import Turn, turns_refusal
from guiding.rivers.models import Beat, River


class LookRefused(ValueError):
    """Something typed that cannot be; the message says what was met and what is allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A day whose schedule or table a file would change: what stands there, and what would."""

    day: date
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A file held against what is on file, day by day."""

    new: tuple[date, ...]
    changed: tuple[Changed, ...]
    same: tuple[date, ...]

    @property
    def to_keep(self) -> tuple[date, ...]:
        """Return the days that are new or changed."""
        return (*self.new, *(row.day for row in self.changed))

    def words(self) -> str:
        """Return what a file would do, in one line."""
        days = len(self.new) + len(self.changed) + len(self.same)
        return (
            f"{days} {'day' if days == 1 else 'days'}: {len(self.new)} new, "
            f"{len(self.changed)} changed, {len(self.same)} as on file."
        )


def _compared(
    on_file: Mapping[date, Any],
    days: Mapping[date, Any],
    *,
    is_same: Callable[[Any, Any], bool],
    words: Callable[[Any], str],
) -> Compared:
    """Hold a file's days against the newest that is on file of each."""
    new, changed, same = [], [], []
    for day, given in sorted(days.items()):
        before = on_file.get(day)
        if before is None:
            new.append(day)
        elif is_same(before, given):
            same.append(day)
        else:
            changed.append(Changed(day=day, before=before.words(), after=words(given)))
    return Compared(new=tuple(new), changed=tuple(changed), same=tuple(same))


@transaction.atomic
def keep_schedule(
    dam: Dam,
    day: date,
    releases: tuple[PlannedRelease, ...],
    *,
    said_by: str,
    said_at: datetime,
    at: datetime,
    who: Any = None,
    came_from: str = "",
) -> Schedule:
    """Keep what somebody said of a day at a dam; no releases: that none is planned.

    The same said again by the same at the same moment is kept once.
    """
    _check_said(said_by, said_at, at)
    Dam.objects.select_for_update().get(pk=dam.pk)  # one revision after the other
    last = dam.schedules.filter(day=day).order_by("-revision").first()
    if last and _is_said_again(last, releases, said_by, said_at):
        return last
    row = Schedule.objects.create(
        dam=dam,
        day=day,
        revision=last.revision + 1 if last else 1,
        said_by=said_by,
        said_at=said_at,
        typed_at=at,
        typed_by=who,
        came_from=came_from[:200],
    )
    Release.objects.bulk_create(
        Release(schedule=row, starts=one.starts, ends=one.ends, flow=one.flow) for one in releases
    )
    record(
        "schedule kept",
        f"dam {dam.key}",
        at=at,
        who=who,
        before={"day": str(day), "said": last.as_value().words()} if last else {},
        after={"day": str(day), "said": row.as_value().words(), "by": said_by},
    )
    return row


def _is_said_again(
    last: Schedule, releases: tuple[PlannedRelease, ...], said_by: str, said_at: datetime
) -> bool:
    return (last.said_by, last.said_at) == (said_by, said_at) and set(
        last.as_value().releases
    ) == set(releases)


def compare_schedules(
    dam: Dam, days: Mapping[date, tuple[PlannedRelease, ...]], *, at: datetime
) -> Compared:
    """Hold a file's days against what is on file."""
    rows = dam.schedules.filter(day__in=days).known_at(at).prefetch_related("releases")
    return _compared(
        {day: row.as_value() for day, row in newest_of_each_day(rows).items()},
        days,
        is_same=lambda before, releases: set(before.releases) == set(releases),
        words=lambda releases: "; ".join(one.words() for one in releases) or "no release planned",
    )


@transaction.atomic
def import_schedules(
    dam: Dam,
    days: Mapping[date, tuple[PlannedRelease, ...]],
    *,
    said_by: str,
    at: datetime,
    name: str,
    who: Any = None,
) -> Compared:
    """Keep a file's days: those that are new or changed. A second time changes nothing."""
    compared = compare_schedules(dam, days, at=at)
    for day in compared.to_keep:
        keep_schedule(
            dam, day, days[day], said_by=said_by, said_at=at, at=at, who=who, came_from=name
        )
    return compared


@transaction.atomic
def keep_tide_table(
    place: TidePlace,
    day: date,
    turns: tuple[Turn, ...],
    *,
    said_by: str,
    said_at: datetime,
    at: datetime,
    who: Any = None,
    came_from: str = "",
) -> TideTable:
    """Keep the tides of one whole day at a place; the same again is kept once."""
    _check_said(said_by, said_at, at)
    why = turns_refusal(turns, twice_a_day=place.is_twice_a_day)
    if why:
        raise LookRefused(f"{day}: {why}.")
    TidePlace.objects.select_for_update().get(pk=place.pk)  # one revision after the other
    last = place.tables.filter(day=day).order_by("-revision").first()
    if last and last.as_value().turns == turns and last.said_by == said_by:
        return last
    row = TideTable.objects.create(
        place=place,
        day=day,
        revision=last.revision + 1 if last else 1,
        said_by=said_by,
        said_at=said_at,
        typed_at=at,
        typed_by=who,
        came_from=came_from[:200],
    )
    TideTurn.objects.bulk_create(
        TideTurn(table=row, clock=one.clock, is_high=one.is_high, height_m=one.height_m)
        for one in turns
    )
    record(
        "tide table kept",
        f"tide place {place.key}",
        at=at,
        who=who,
        before={"day": str(day), "said": last.as_value().words()} if last else {},
        after={"day": str(day), "said": row.as_value().words(), "by": said_by},
    )
    return row


def compare_tide_tables(
    place: TidePlace, days: Mapping[date, tuple[Turn, ...]], *, at: datetime
) -> Compared:
    """Hold a file's days against what is on file."""
    rows = place.tables.filter(day__in=days).known_at(at).prefetch_related("turns")
    return _compared(
        {day: row.as_value() for day, row in newest_of_each_day(rows).items()},
        days,
        is_same=lambda before, turns: before.turns == turns,
        words=lambda turns: ", ".join(turn.words() for turn in turns),
    )


@transaction.atomic
def import_tide_tables(
    place: TidePlace,
    days: Mapping[date, tuple[Turn, ...]],
    *,
    said_by: str,
    at: datetime,
    name: str,
    who: Any = None,
) -> Compared:
    """Keep a file's days: those that are new or changed. A second time changes nothing."""
    compared = compare_tide_tables(place, days, at=at)
    for day in compared.to_keep:
        keep_tide_table(
            place, day, days[day], said_by=said_by, said_at=at, at=at, who=who, came_from=name
        )
    return compared


@transaction.atomic
def keep_look(
    river: River,
    *,
    beat: Beat | None,
    seen: str,
    looked_at: datetime,
    who_looked: str,
    at: datetime,
    water_c: float | None = None,
    who: Any = None,
) -> IceLook:
    """Keep what somebody saw of ice; a later look is another row."""
    if beat is not None and beat.water.river_id != river.pk:
        raise LookRefused(f"{beat} lies on {beat.water.river}, not on {river}.")
    if seen not in IceLook.Seen.values:
        raise LookRefused(f"seen is {seen!r}; it is one of {', '.join(IceLook.Seen.values)}.")
    _check_said(who_looked, looked_at, at)
    if water_c is not None and not -0.5 <= water_c <= 35:
        raise LookRefused(f"water is {water_c:g} degrees C; a river's water is -0.5 to 35.")
    row = IceLook.objects.create(
        river=river,
        beat=beat,
        looked_at=looked_at,
        seen=seen,
        water_c=water_c,
        who=who_looked,
        typed_at=at,
        typed_by=who,
    )
    record(
        "ice looked at",
        f"river {river.key}",
        at=at,
        who=who,
        after={"seen": seen, "beat": str(beat or ""), "looked_at": looked_at.isoformat()},
    )
    return row


def _check_said(said_by: str, said_at: datetime, at: datetime) -> None:
    if said_at.tzinfo is None:
        raise LookRefused(f"{said_at} has no zone; say by which clock.")
    if said_at > at:
        raise LookRefused(f"{said_at:%Y-%m-%d %H:%M} lies ahead; it was said or seen before now.")
    if not said_by.strip():
        raise LookRefused("Who said or saw it is missing: write a name, or what they are.")
    try:
        plain_text(said_by, "who said or saw it", 120)
    except ValueError as refusal:
        raise LookRefused(f"{refusal}") from refusal
