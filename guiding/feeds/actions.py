"""What the owner does with sources: add one, switch it, confirm that it is the same, try again."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction

from guiding.feeds.addresses import AddressRefused, place_of
from guiding.feeds.confirming import bring_forward, wake
from guiding.feeds.models import Address, Feed, quantity_words
from guiding.feeds.trouble import settle_all, settle_trouble
from guiding.gauges.models import Gauge
from guiding.gauges.providers.agencies import BY_CODE
from guiding.gauges.providers.agency import Agency, Kind
from guiding.gauges.providers.readings import Wanted
from guiding.history.models import record

MOST_OF_ONE_SERVER = 100  # series: all of them stand in one address


class SourceRefused(ValueError):
    """A source that cannot be added or switched on; the message says what is allowed."""


@transaction.atomic
def add_feed(
    gauge: Gauge,
    agency_code: str,
    quantity: str,
    *,
    station: str = "",
    series: str = "",
    base_url: str = "",
    credit: str = "",
    at: datetime,
    who: Any = None,
) -> Feed:
    """Add a source for one quantity of a gauge; nothing is asked of anybody yet."""
    agency = BY_CODE.get(agency_code)
    if agency is None:
        known = ", ".join(BY_CODE)
        raise SourceRefused(f"{agency_code!r} is no agency known here; known are {known}.")
    station, series = station.strip(), series.strip()
    wanted = Wanted(series=series, quantity=quantity, station=station)
    if refusal := agency.refusal(wanted):
        raise SourceRefused(f"{refusal[:1].upper()}{refusal[1:]}.")
    base = _base_of(agency, base_url.strip())
    if not agency.credit and not credit.strip():
        raise SourceRefused("Write whom to credit, in the words of whoever runs that server.")
    _refuse_second(gauge, quantity)
    if Feed.objects.filter(agency_code=agency.code, base_url=base).count() >= MOST_OF_ONE_SERVER:
        raise SourceRefused(f"{MOST_OF_ONE_SERVER} sources of one server are the most.")
    has_facts = Kind.FACTS in agency.kinds
    try:
        with transaction.atomic():
            feed = Feed.objects.create(
                gauge=gauge,
                quantity=quantity,
                agency_code=agency.code,
                base_url=base,
                credit="" if agency.credit else credit.strip()[:200],
                station=station,
                series=series,
                unit="" if has_facts else agency.fixed_unit(series),
                confirmed_at=None if has_facts else at,
                history_is_whole=Kind.HISTORY not in agency.kinds,
            )
    except IntegrityError as error:  # somebody else added it at the same moment
        raise SourceRefused(_told_already(gauge, quantity)) from error
    _lay_addresses(feed, at)
    said = {"agency": agency.code, "station": station, "series": series, "quantity": quantity}
    record("source added", f"feed {feed.key}", at=at, who=who, after=said)
    return feed


def _base_of(agency: Agency, base_url: str) -> str:
    if agency.base:
        if base_url:
            raise SourceRefused(f"{agency.name} has an address of its own; leave that field empty.")
        return ""
    if not base_url:
        raise SourceRefused("Write the server's address, such as https://data.agency.org/KiWIS.")
    try:
        place = place_of(base_url, settings.FEEDS_OWN_SERVERS)
    except AddressRefused as refusal:
        raise SourceRefused(f"That address cannot be asked: {refusal}.") from refusal
    if "?" in place.rest:
        raise SourceRefused("Write the address without the ? and what follows it.")
    return place.url.rstrip("/")[:200]


def _told_already(gauge: Gauge, quantity: str) -> str:
    what = quantity_words(quantity)
    return f"The {what} of {gauge} is told by a source already; switch that one off first."


def _refuse_second(gauge: Gauge, quantity: str) -> None:
    if Feed.objects.filter(gauge=gauge, quantity=quantity, is_on=True).exists():
        raise SourceRefused(_told_already(gauge, quantity))


def _lay_addresses(feed: Feed, at: datetime) -> None:
    """Make what has to be asked for a feed; what a series is comes first, the rest waits for it."""
    agency = feed.agency
    for kind in agency.kinds:
        is_first = kind is Kind.FACTS or feed.confirmed_at is not None
        is_shared = kind in agency.in_one
        address, is_new = Address.objects.get_or_create(
            agency_code=agency.code,
            base_url=feed.base_url,
            kind=kind.value,
            feed=None if is_shared else feed,
            defaults={"rank": Address.RANKS[kind.value], "next_at": at if is_first else None},
        )
        if not is_new and is_first:
            bring_forward(address, at)


@transaction.atomic
def switch_feed(feed: Feed, *, is_on: bool, at: datetime, who: Any = None) -> None:
    """Switch a source on or off; what it has told stays."""
    if is_on:
        others = Feed.objects.filter(gauge=feed.gauge, quantity=feed.quantity, is_on=True)
        if others.exclude(pk=feed.pk).exists():
            raise SourceRefused(_told_already(feed.gauge, feed.quantity))
    changed = Feed.objects.filter(pk=feed.pk, is_on=not is_on).update(is_on=is_on)
    if not changed:
        return
    feed.refresh_from_db()
    if is_on:
        _lay_addresses(feed, at)
        if feed.confirmed_at is not None:
            wake(feed, at)
    settle_trouble(feed, at)
    what = "source switched on" if is_on else "source switched off"
    record(what, f"feed {feed.key}", at=at, who=who)


@transaction.atomic
def confirm_feed(feed: Feed, *, at: datetime, who: Any = None) -> None:
    """Take a closed source as what it was: somebody has looked, and its numbers mean the same.

    What its agency says next is confirmed as it is. The guide's marks stay suspended until they are
    confirmed on their own (gauges' own verb).
    """
    reopened = Feed.objects.filter(pk=feed.pk, closed_at__isnull=False).update(
        closed_at=None,
        closed_why="",
        unit="",
        datum="",
        confirmed_at=None,
        rows_trouble="",
    )
    if not reopened:
        return
    before = feed.closed_why
    feed.refresh_from_db()
    _lay_addresses(feed, at)
    settle_trouble(feed, at)
    record("source confirmed", f"feed {feed.key}", at=at, who=who, before={"closed": before})


@transaction.atomic
def try_again(feed: Feed, *, at: datetime, who: Any = None) -> None:
    """Ask again of a server that refused us, now that its owner has done something about it."""
    beside = Address.objects.filter(agency_code=feed.agency_code, base_url=feed.base_url)
    stopped = beside.filter(stopped_at__isnull=False)
    if not stopped.update(stopped_at=None, next_at=at, failures=0):
        return
    record("source tried again", f"feed {feed.key}", at=at, who=who)
    first = beside.order_by("rank", "pk").first()
    if first is not None:
        settle_all(first, at, whole_server=True)
