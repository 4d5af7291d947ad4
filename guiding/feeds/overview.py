"""How every source is getting on, in words for its owner: one pass over few rows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from django.utils.text import capfirst

from guiding.feeds.asking import contact
from guiding.feeds.models import Address, AgencyDay, Feed
from guiding.gauges.outlook_words import age_words
from guiding.gauges.providers.agencies import AGENCIES, BY_CODE

UNITS = {
    "level_m": "m",
    "flow_m3s": "m3/s",
    "rain_mm": "mm",
    "water_c": "degrees C",
    "air_c": "degrees C",
    "turbidity_ntu": "NTU",
    "weather_run": "",
}
Server = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceRow:
    """One source as its owner's page shows it."""

    feed: Feed
    what: str
    state: str  # one sentence: the answer first
    since: str  # since when something is wrong
    newest: str
    next_asked: str
    history: str
    refused: tuple[str, ...]
    warnings: tuple[str, ...]
    is_stopped: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ServerRow:
    """One server: what we asked of it today, and what we allow ourselves."""

    name: str
    asked: int
    most: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sources:
    """Everything on the page."""

    rows: tuple[SourceRow, ...]
    servers: tuple[ServerRow, ...]
    troubled: int
    contact: str
    wants_contact: tuple[str, ...]


def sources(at: datetime) -> Sources:
    """Read how every source stands at a moment; four queries, however many there are."""
    feeds = [
        feed
        for feed in Feed.objects.select_related("gauge__river").order_by("gauge__name", "quantity")
        if feed.agency_code in BY_CODE
    ]
    addresses = list(Address.objects.all())
    days = AgencyDay.objects.filter(day=at.astimezone(UTC).date())
    asked = {(row.agency_code, row.base_url): row.asked for row in days}
    rows = tuple(_source_row(feed, addresses, at) for feed in feeds)
    servers = dict.fromkeys((feed.agency_code, feed.base_url) for feed in feeds)
    return Sources(
        rows=rows,
        servers=tuple(_server_row(server, asked.get(server, 0)) for server in servers),
        troubled=sum(1 for row in rows if row.feed.trouble),
        contact=contact(),
        wants_contact=tuple(agency.name for agency in AGENCIES if agency.needs_contact),
    )


def _server_row(server: Server, asked: int) -> ServerRow:
    code, base = server
    agency = BY_CODE[code]
    name = f"{agency.name}, {base}" if base else agency.name
    return ServerRow(name=name, asked=asked, most=agency.requests_a_day)


def _source_row(feed: Feed, addresses: list[Address], at: datetime) -> SourceRow:
    server = (feed.agency_code, feed.base_url)
    mine = [
        row
        for row in addresses
        if (row.agency_code, row.base_url) == server and row.feed_id in (None, feed.pk)
    ]
    zone = feed.gauge.river.zoneinfo
    refused = feed.refused.get("rows", [])
    return SourceRow(
        feed=feed,
        what=f"{capfirst(feed.quantity_words)} at {feed.gauge}",
        state=_state(feed, at),
        since=_moment(feed.trouble_since, zone) if feed.trouble_since else "",
        newest=_newest(feed, zone, at),
        next_asked=_next_asked(feed, mine, zone),
        history=_history(feed, mine, zone),
        refused=tuple(f"{row['place']}: {row['why']}" for row in refused),
        warnings=tuple(dict.fromkeys(row.warning for row in mine if row.warning)),
        is_stopped=any(row.stopped_at for row in mine),
    )


def _state(feed: Feed, at: datetime) -> str:
    if not feed.is_on:
        return "Switched off; what it has told stays on file."
    if feed.trouble:
        return f"{feed.trouble.rstrip('.')}."
    if feed.confirmed_at is None:
        return "Waits to be asked what its series is; nothing is stored before that."
    return {
        "fresh": "Well.",
        "late": "Late by what is usual for it.",
        "stale": "Stale: far older than is usual for it.",
        "silent": "Silent for more than a week.",
    }.get(feed.age_class(at), "Nothing has been told yet.")


def _newest(feed: Feed, zone: ZoneInfo, at: datetime) -> str:
    if feed.last_value_at is None:
        return "none yet"
    age = age_words((at - feed.last_value_at).total_seconds() / 3600)
    value = "" if feed.last_value is None else f"{feed.last_value:g} {UNITS.get(feed.quantity, '')}"
    said = "issued" if feed.is_weather else f"{value} of".strip()
    return f"{said} {_moment(feed.last_value_at, zone)}, {age} old"


def _next_asked(feed: Feed, mine: list[Address], zone: ZoneInfo) -> str:
    moments = [row.next_at for row in mine if row.next_at and row.kind != "history"]
    if not feed.is_on or not moments:
        return "not before you say so" if feed.is_on else "never, it is switched off"
    return _moment(min(moments), zone)


def _history(feed: Feed, mine: list[Address], zone: ZoneInfo) -> str:
    own = next((row for row in mine if row.kind == "history"), None)
    if own is None:
        return ""
    if own.broken_since:
        return f"stopped at {_day(feed.history_back_to, zone)}: {own.why}"
    if feed.history_is_whole:
        return f"read back to {_day(feed.history_back_to, zone)}, as far as it goes"
    if feed.history_back_to is None:
        return "not read yet"
    return f"being read, back to {_day(feed.history_back_to, zone)} so far"


def _day(moment: datetime | None, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%d %b %Y}" if moment else "its beginning"


def _moment(moment: datetime, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%a %d %b %Y, %H:%M}"
