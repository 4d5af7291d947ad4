"""Read what is on file about moved and iced water for the fishing hours of one beat."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q

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
from guiding.rivers.models import Beat

NOTHING_ABOVE = {
    Beat.Regime.REGULATED: "no dam is on file above this beat",
    Beat.Regime.TIDAL: "no tide place is on file for this beat",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BeyondRain:
    """What no rain tells of a beat: its regime as the rows have it, moved water, ice seen.

    `moved` None: nothing but rain moves this water, by all that is on file.
    """

    regime: str
    moved: MovedWater | None
    ice: IceSeen


def beyond_rain(
    beat: Beat, day: date, starts_at: datetime, ends_at: datetime, *, at: datetime
) -> BeyondRain:
    """Read schedules, tables and looks for fishing hours, as they were on file at a moment.

    A beat that is written down as natural, but lies below a dam or has a tide, is taken as that.
    """
    river = beat.water.river
    looks_since = river.moment(day, datetime.min.time())
    looks_until = max(looks_since + timedelta(hours=25), ends_at)
    there = _what_there_is(beat, looks_since, min(at, looks_until))
    regime, parts = str(beat.regime), []
    hours = (day, starts_at, ends_at)
    if there.has_dam:
        parts += _releases(beat, hours, at)
        regime = "regulated" if regime == "natural" else regime
    if there.has_tide:
        parts += _tides(beat, hours, at)
        regime = "tidal" if regime == "natural" else regime
    is_explained = {"regulated": there.has_dam, "tidal": there.has_tide}.get(regime, True)
    if not is_explained:
        parts.append(_nothing_on_file(beat, hours, NOTHING_ABOVE[Beat.Regime(regime)]))
    looks = _looks(beat, day, (starts_at, ends_at), at) if there.has_look else []
    return BeyondRain(
        regime=regime,
        moved=together(parts) if parts else None,
        ice=read_looks([row.as_value(beat) for row in looks], river.zoneinfo),
    )


def _what_there_is(beat: Beat, since: datetime, until: datetime) -> _Rows:
    """Ask once which tables speak of a beat at all: most beats have no row in any."""
    looks = IceLook.objects.filter(
        river=OuterRef("water__river"), looked_at__gte=since, looked_at__lte=until
    )
    row = (
        Beat.objects.filter(pk=beat.pk)
        .values_list(
            Exists(DamBeat.objects.filter(beat=OuterRef("pk"))),
            Exists(TideBeat.objects.filter(beat=OuterRef("pk"))),
            Exists(looks),
        )
        .first()
    )
    return _Rows(*row) if row else _Rows(has_dam=False, has_tide=False, has_look=False)


class _Rows(NamedTuple):
    """Whether there is anything on file of a beat, by table."""

    has_dam: bool
    has_tide: bool
    has_look: bool


_Hours = tuple[date, datetime, datetime]


def _nothing_on_file(beat: Beat, hours: _Hours, why: str) -> MovedWater:
    day, starts_at, ends_at = hours
    return MovedWater(
        day=day,
        starts_at=starts_at,
        ends_at=ends_at,
        zone=beat.water.river.zoneinfo,
        missing=(why,),
    )


def _releases(beat: Beat, hours: _Hours, at: datetime) -> list[MovedWater]:
    day, starts_at, ends_at = hours
    zone = beat.water.river.zoneinfo
    found = []
    for link in DamBeat.objects.filter(beat=beat).select_related("dam"):
        days = releases.days_looked_at(link.as_value(()), starts_at, ends_at, zone)
        rows = Schedule.objects.filter(dam=link.dam, day__range=(days[0], days[-1])).known_at(at)
        newest = newest_of_each_day(rows.prefetch_related("releases"))
        dam = link.as_value(tuple(row.as_value() for row in newest.values()))
        found.append(
            releases.read_releases(dam, day=day, starts_at=starts_at, ends_at=ends_at, zone=zone)
        )
    return found


def _tides(beat: Beat, hours: _Hours, at: datetime) -> list[MovedWater]:
    day, starts_at, ends_at = hours
    found = []
    for link in TideBeat.objects.filter(beat=beat).select_related("place"):
        days = tides.days_looked_at(link.as_value(()), starts_at, ends_at)
        rows = TideTable.objects.filter(place=link.place, day__range=(days[0], days[-1])).known_at(
            at
        )
        newest = newest_of_each_day(rows.prefetch_related("turns"))
        tide = link.as_value(tuple(row.as_value() for row in newest.values()))
        found.append(
            tides.read_tide(
                tide,
                day=day,
                starts_at=starts_at,
                ends_at=ends_at,
                zone=beat.water.river.zoneinfo,
            )
        )
    return found


def _looks(beat: Beat, day: date, hours: tuple[datetime, datetime], at: datetime) -> list[IceLook]:
    """Return the looks of a fishing day, and those made in its hours after midnight."""
    river = beat.water.river
    rows = IceLook.objects.filter(
        Q(looked_at__gte=river.moment(day, datetime.min.time())),
        river=river,
        looked_at__lte=min(at, max(river.moment(day, datetime.max.time()), hours[1])),
        typed_at__lte=at,
    )
    return [
        row
        for row in rows.select_related("river", "beat")
        if river.day_of(row.looked_at) == day or hours[0] <= row.looked_at <= hours[1]
    ]
