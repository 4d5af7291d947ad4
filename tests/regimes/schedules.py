"""Builders of dams, tides and their days, as plain values and as rows."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from guiding.regimes.actions import keep_schedule, keep_tide_table
from guiding.regimes.models import Dam, DamBeat, TideBeat, TidePlace
from guiding.regimes.releases import DamAbove, DaySchedule, Release
from guiding.regimes.tides import DayTable, TideAtBeat, Turn
from tests import factories

LONDON = ZoneInfo("Europe/London")
SAID = datetime(2026, 5, 20, 7, 0, tzinfo=UTC)
DAY = date(2026, 5, 21)


def clock(text):
    """Return a clock time written as 07:30."""
    return time.fromisoformat(text)


def release(starts, ends=None, flow=""):
    return Release(starts=clock(starts), ends=clock(ends) if ends else None, flow=flow)


def schedule(day, *releases, said_by="the keeper", said_at=SAID):
    return DaySchedule(
        day=day, releases=tuple(releases), said_by=said_by, said_at=said_at, kept_at=said_at
    )


def dam_above(*schedules, travel_hours=3.0, margin_hours=0.5, gauge_is_below=True):
    return DamAbove(
        name="Alder Dam",
        travel_hours=travel_hours,
        margin_hours=margin_hours,
        gauge_is_below=gauge_is_below,
        schedules=tuple(schedules),
    )


def turns(*words):
    """Return the tides of a day: turns("high 06:12 4.8", "low 12:20")."""
    found = []
    for line in words:
        kind, at, *height = line.split()
        found.append(
            Turn(
                clock=clock(at),
                is_high=kind == "high",
                height_m=float(height[0]) if height else None,
            )
        )
    return tuple(found)


def table(day, *words):
    return DayTable(
        day=day, turns=turns(*words), said_by="Firth table 2026", said_at=SAID, kept_at=SAID
    )


def tide_at_beat(*tables, **changes):
    """Return a tide an hour after the place's, felt two hours before and three after."""
    fields = {
        "place": "Firth Mouth",
        "zone": LONDON,
        "twice_a_day": True,
        "lag_hours": 1.0,
        "low_lag_hours": None,
        "flood_hours": 2.0,
        "ebb_hours": 3.0,
        "margin_hours": 0.5,
        "cut_off": "the island at Long Pool",
        "gauge_is_here": False,
        "tables": tuple(tables),
    }
    return TideAtBeat(**{**fields, **changes})


# --- rows ----------------------------------------------------------------------------------------


def make_dam(*beats, **changes):
    """Return a stored dam three hours above these beats, whose gauge feels it."""
    link = {
        name: changes.pop(name)
        for name in ("travel_hours", "margin_hours", "gauge_is_below")
        if name in changes
    }
    river = changes.pop("river", None) or beats[0].water.river
    dam = Dam.objects.create(
        **{"name": "Alder Dam", "river": river, "phone": "01632 960190", **changes}
    )
    for beat in beats:
        DamBeat.objects.create(
            dam=dam,
            beat=beat,
            **{"travel_hours": 3, "margin_hours": 0.5, "gauge_is_below": True, **link},
        )
    return dam


def make_tide(*beats, **changes):
    """Return a stored tide place that reaches these beats an hour later."""
    place = TidePlace.objects.create(
        name="Firth Mouth", river=beats[0].water.river, zone=changes.pop("zone", "Europe/London")
    )
    for beat in beats:
        TideBeat.objects.create(
            place=place,
            beat=beat,
            **{"lag_hours": 1, "flood_hours": 2, "ebb_hours": 3, **changes},
        )
    return place


def regulated_beat(**changes):
    return factories.make_beat(**{"regime": "regulated", "name": "Dam Beat", **changes})


def say(dam, day, *releases, at=SAID, said_by="the keeper", **others):
    """Keep what was said of a day."""
    return keep_schedule(
        dam,
        day,
        tuple(releases),
        said_by=said_by,
        said_at=others.pop("said_at", at),
        at=at,
        **others,
    )


def print_table(place, day, *words, at=SAID):
    """Keep a day of a table."""
    return keep_tide_table(place, day, turns(*words), said_by="Firth table 2026", said_at=at, at=at)
