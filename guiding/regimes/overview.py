"""What is on file for today and tomorrow at every dam and tide place, and the last looks at ice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Prefetch, QuerySet

from guiding.regimes.models import (
    Dam,
    IceLook,
    SaidOfADay,
    Schedule,
    TidePlace,
    TideTable,
    newest_of_each_day,
)
from guiding.rivers.models import River

SHOWN_DAYS_BACK, SHOWN_DAYS = 14, 60
NOT_ON_FILE = "not on file: not known, bank only"


@dataclass(frozen=True, slots=True, kw_only=True)
class DayRow:
    """One day at a dam or a place: what holds, and what was said before it."""

    day: date
    words: str
    said_by: str
    said_at: datetime
    revision: int
    came_from: str
    earlier: tuple[str, ...]  # what was said before, the newest first


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A dam or tide place with its next two days in words."""

    row: Dam | TidePlace
    today: str
    tomorrow: str
    is_today_known: bool
    is_tomorrow_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """Everything that can be typed in, with what is on file."""

    dams: tuple[Place, ...]
    tides: tuple[Place, ...]
    rivers: tuple[tuple[River, IceLook | None], ...]

    @property
    def lacking(self) -> int:
        """Return of how many dams and places today is not on file."""
        return sum(not place.is_today_known for place in (*self.dams, *self.tides))


def overview(at: datetime) -> Overview:
    """Read it in a fixed number of questions."""
    around = (at.date() - timedelta(days=1), at.date() + timedelta(days=2))
    schedules = Schedule.objects.filter(day__range=around).known_at(at)
    tables = TideTable.objects.filter(day__range=around).known_at(at)
    looks = IceLook.objects.filter(typed_at__lte=at, looked_at__gte=at - timedelta(days=1))
    dams = Dam.objects.select_related("river").prefetch_related(
        Prefetch("schedules", schedules.prefetch_related("releases"), to_attr="near")
    )
    places = TidePlace.objects.select_related("river").prefetch_related(
        Prefetch("tables", tables.prefetch_related("turns"), to_attr="near")
    )
    rivers = River.objects.prefetch_related(
        Prefetch("ice_looks", looks.select_related("beat"), to_attr="near_looks")
    )
    return Overview(
        dams=tuple(_place(row, at) for row in dams),
        tides=tuple(_place(row, at) for row in places),
        rivers=tuple((river, _look_of_today(river, at)) for river in rivers),
    )


def _place(row: Dam | TidePlace, at: datetime) -> Place:
    today = row.river.day_of(at)
    near: list[SaidOfADay] = row.near  # type: ignore[union-attr]  # fetched above
    on_file = newest_of_each_day(near)
    words = [
        on_file[day].as_value().words() if day in on_file else NOT_ON_FILE  # type: ignore[attr-defined]
        for day in (today, today + timedelta(days=1))
    ]
    return Place(
        row=row,
        today=words[0],
        tomorrow=words[1],
        is_today_known=today in on_file,
        is_tomorrow_known=today + timedelta(days=1) in on_file,
    )


def _look_of_today(river: River, at: datetime) -> IceLook | None:
    looks: list[IceLook] = river.near_looks  # type: ignore[attr-defined]  # fetched above
    today = river.day_of(at)
    return next((look for look in looks if river.day_of(look.looked_at) == today), None)


def two_days(days: Iterable[DayRow], river: River, at: datetime) -> tuple[str, str]:
    """Return in words what holds today and tomorrow, of the days on file."""
    said = {row.day: row.words for row in days}
    today = river.day_of(at)
    return (
        said.get(today, NOT_ON_FILE),
        said.get(today + timedelta(days=1), NOT_ON_FILE),
    )


def days_on_file(
    rows: QuerySet[Schedule] | QuerySet[TideTable], inside: str, river: River, at: datetime
) -> list[DayRow]:
    """Return the days on file of the last two weeks and ahead, each with what was said before.

    `inside`: the rows that hang on each: releases or turns.
    """
    since = river.day_of(at) - timedelta(days=SHOWN_DAYS_BACK)
    by_day: dict[date, list[Schedule | TideTable]] = {}
    for row in rows.filter(day__gte=since).order_by("day", "revision").prefetch_related(inside):
        by_day.setdefault(row.day, []).append(row)
    found = []
    for day in sorted(by_day)[:SHOWN_DAYS]:
        *before, last = by_day[day]
        found.append(
            DayRow(
                day=day,
                words=last.as_value().words(),
                said_by=last.said_by,
                said_at=last.said_at,
                revision=last.revision,
                came_from=last.came_from,
                earlier=tuple(
                    f"{row.as_value().words()}, said by {row.said_by}" for row in reversed(before)
                ),
            )
        )
    return found
