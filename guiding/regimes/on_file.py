"""Read what is on file about moved and iced water: for one beat's hours, or for many at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Exists, OuterRef

from guiding.regimes import releases, tides
from guiding.regimes.ice_looks import IceSeen, read_looks
from guiding.regimes.models import (
    DamBeat,
    IceLook,
    Schedule,
    TideBeat,
    TideTable,
    newest_of_each_day,
)
from guiding.regimes.moved_water import MovedWater, together
from guiding.regimes.riverclock import ONE_DAY
from guiding.rivers.models import Beat

NOTHING_ABOVE = {
    "regulated": "no dam is on file above this beat",
    "tidal": "no tide place is on file for this beat",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FishingHours:
    """The hours of one part of one day on a beat; moments are aware."""

    beat: Beat
    day: date
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class BeyondRain:
    """What no rain tells of a beat: its regime as the rows have it, moved water, ice seen.

    `moved` None: nothing but rain moves this water, by all that is on file.
    """

    regime: str
    moved: MovedWater | None
    ice: IceSeen


def beyond_rain(hours: FishingHours, *, at: datetime) -> BeyondRain:
    """Read schedules, tables and looks for fishing hours, as they were on file at a moment.

    Most beats have no row in any of these tables, and then one question is all that is asked.
    """
    if not _has_rows(hours, at):
        return _Rows.nothing().of(hours, at)
    return beyond_rain_of_all([hours], at=at)[0]


def beyond_rain_of_all(asked: Sequence[FishingHours], *, at: datetime) -> list[BeyondRain]:
    """Read the same for many hours at once; the questions asked do not grow with them."""
    rows = _Rows.read(asked, at) if asked else _Rows.nothing()
    return [rows.of(hours, at) for hours in asked]


def _has_rows(hours: FishingHours, at: datetime) -> bool:
    looks = IceLook.objects.filter(
        river=OuterRef("water__river"),
        looked_at__gte=_morning_of(hours),
        looked_at__lte=at,
        typed_at__lte=at,
    )
    here = OuterRef("pk")
    return (
        Beat.objects.filter(pk=hours.beat.pk)
        .filter(
            Exists(DamBeat.objects.filter(beat=here))
            | Exists(TideBeat.objects.filter(beat=here))
            | Exists(looks)
        )
        .exists()
    )


def _morning_of(hours: FishingHours) -> datetime:
    """Return the midnight with which a fishing day begins."""
    return hours.beat.water.river.moment(hours.day, datetime.min.time())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rows:
    """Everything on file around some hours, by what it belongs to."""

    dam_links: dict[int, list[DamBeat]]  # by beat
    tide_links: dict[int, list[TideBeat]]  # by beat
    schedules: dict[int, tuple[releases.DaySchedule, ...]]  # by dam
    tables: dict[int, tuple[tides.DayTable, ...]]  # by place
    looks: dict[int, list[IceLook]]  # by river

    @classmethod
    def nothing(cls) -> _Rows:
        """Return that there is nothing on file."""
        return cls(dam_links={}, tide_links={}, schedules={}, tables={}, looks={})

    @classmethod
    def read(cls, asked: Sequence[FishingHours], at: datetime) -> _Rows:
        """Read once what any of the hours may need."""
        beats = {hours.beat.pk for hours in asked}
        dams, places = defaultdict(list), defaultdict(list)
        for dam_link in DamBeat.objects.filter(beat__in=beats).select_related("dam"):
            dams[dam_link.beat_id].append(dam_link)
        for tide_link in TideBeat.objects.filter(beat__in=beats).select_related("place"):
            places[tide_link.beat_id].append(tide_link)
        return cls(
            dam_links=dams,
            tide_links=places,
            schedules=_schedules(asked, [link for links in dams.values() for link in links], at),
            tables=_tables(asked, [link for links in places.values() for link in links], at),
            looks=_looks(asked, at),
        )

    def of(self, hours: FishingHours, at: datetime) -> BeyondRain:
        """Return what the rows say of hours.

        A beat written down as natural that lies below a dam, or has a tide, is taken as that.
        """
        beat, river = hours.beat, hours.beat.water.river
        span: dict[str, Any] = {
            "day": hours.day,
            "starts_at": hours.starts_at,
            "ends_at": hours.ends_at,
        }
        dams, places = self.dam_links.get(beat.pk, []), self.tide_links.get(beat.pk, [])
        regime = str(beat.regime)
        if regime == "natural" and (dams or places):
            regime = "regulated" if dams else "tidal"
        parts = [
            releases.read_releases(
                link.as_value(self.schedules.get(link.dam_id, ())), zone=river.zoneinfo, **span
            )
            for link in dams
        ]
        parts += [
            tides.read_tide(
                link.as_value(self.tables.get(link.place_id, ())), zone=river.zoneinfo, **span
            )
            for link in places
        ]
        if (regime == "regulated" and not dams) or (regime == "tidal" and not places):
            why = NOTHING_ABOVE[regime]
            parts.append(MovedWater(zone=river.zoneinfo, missing=(why,), **span))
        looks = [
            row.as_value(beat)
            for row in self.looks.get(river.pk, [])
            if row.looked_at <= at
            and (
                river.day_of(row.looked_at) == hours.day
                or hours.starts_at <= row.looked_at <= hours.ends_at
            )
        ]
        return BeyondRain(
            regime=regime,
            moved=together(parts) if parts else None,
            ice=read_looks(looks, river.zoneinfo),
        )


def _schedules(
    asked: Sequence[FishingHours], links: Sequence[DamBeat], at: datetime
) -> dict[int, tuple[releases.DaySchedule, ...]]:
    """Return the newest schedule of each day that any of the hours looks at, by dam."""
    if not links:
        return {}
    days = [
        day
        for link in links
        for hours in asked
        for day in releases.days_looked_at(
            link.as_value(()), hours.starts_at, hours.ends_at, hours.beat.water.river.zoneinfo
        )
    ]
    rows = Schedule.objects.filter(
        dam__in={link.dam_id for link in links}, day__range=(min(days), max(days))
    ).known_at(at)
    by_dam = defaultdict(list)
    for row in rows.prefetch_related("releases"):
        by_dam[row.dam_id].append(row)
    return {
        dam: tuple(row.as_value() for row in newest_of_each_day(kept).values())
        for dam, kept in by_dam.items()
    }


def _tables(
    asked: Sequence[FishingHours], links: Sequence[TideBeat], at: datetime
) -> dict[int, tuple[tides.DayTable, ...]]:
    """Return the newest table of each day that any of the hours looks at, by place."""
    if not links:
        return {}
    days = [
        day
        for link in links
        for hours in asked
        for day in tides.days_looked_at(link.as_value(()), hours.starts_at, hours.ends_at)
    ]
    rows = TideTable.objects.filter(
        place__in={link.place_id for link in links}, day__range=(min(days), max(days))
    ).known_at(at)
    by_place = defaultdict(list)
    for row in rows.prefetch_related("turns"):
        by_place[row.place_id].append(row)
    return {
        place: tuple(row.as_value() for row in newest_of_each_day(kept).values())
        for place, kept in by_place.items()
    }


def _looks(asked: Sequence[FishingHours], at: datetime) -> dict[int, list[IceLook]]:
    """Return the looks around all of the hours, by river."""
    rows = IceLook.objects.filter(
        river__in={hours.beat.water.river_id for hours in asked},
        looked_at__gte=min(_morning_of(hours) for hours in asked),
        looked_at__lte=min(at, max(hours.ends_at for hours in asked) + ONE_DAY),
        typed_at__lte=at,
    )
    found = defaultdict(list)
    for row in rows.select_related("river", "beat").order_by("looked_at", "pk"):
        found[row.river_id].append(row)
    return found
