"""What is wrong with a source, in words, and since when: kept where the river's page finds it."""

from __future__ import annotations

from datetime import datetime

from guiding.feeds.models import Address, Feed
from guiding.gauges.models import Gauge, Quantity, Series
from guiding.history.models import record

NOW_KINDS = ("facts", "latest", "week")  # what is wrong with the history is no trouble of today


def settle_trouble(feed: Feed, at: datetime) -> None:
    """Work out what is wrong with a feed, and tell its gauge. Call inside a transaction."""
    why, since = _trouble_of(feed)
    if not why:
        feed.trouble, feed.trouble_since = "", None
    else:
        known = [moment for moment in (feed.trouble_since, since) if moment]
        feed.trouble, feed.trouble_since = why[:300], min(known, default=at)
    feed.save()
    _tell_gauge(feed)


def settle_all(address: Address, at: datetime, *, whole_server: bool = False) -> None:
    """Settle every feed that hangs on an address, or on its server. Call inside a transaction."""
    feeds = Feed.objects.filter(agency_code=address.agency_code, base_url=address.base_url)
    if address.feed_id and not whole_server:
        feeds = feeds.filter(pk=address.feed_id)
    for feed in feeds.filter(is_on=True).order_by("pk").select_for_update():
        settle_trouble(feed, at)


def _trouble_of(feed: Feed) -> tuple[str, datetime | None]:
    if not feed.is_on:
        return "", None
    who = feed.agency.name
    if feed.closed_at:
        return f"{who}: {feed.closed_why}", feed.closed_at
    own = list(feed.addresses.all())
    shared = list(
        Address.objects.filter(
            agency_code=feed.agency_code, base_url=feed.base_url, feed__isnull=True
        )
    )
    for address in sorted((*own, *shared), key=lambda row: row.rank):
        is_broken = address.broken_since or address.stopped_at
        if is_broken and address.kind in NOW_KINDS:
            return f"{who}: {address.why}", address.broken_since or address.stopped_at
    return (f"{who}: {feed.rows_trouble}" if feed.rows_trouble else ""), None


def _tell_gauge(feed: Feed) -> None:
    said = {"trouble": feed.trouble, "trouble_since": feed.trouble_since}
    if feed.is_weather:
        Gauge.objects.filter(pk=feed.gauge_id).update(
            weather_trouble=feed.trouble, weather_trouble_since=feed.trouble_since
        )
        return
    if feed.trouble:  # there may be trouble before there is a single value
        Series.objects.get_or_create(gauge=feed.gauge, quantity=feed.quantity)
    Series.objects.filter(gauge=feed.gauge, quantity=feed.quantity).update(**said)


def close_feed(feed: Feed, why: str, at: datetime) -> None:
    """Take nothing more from a series that has become another, and suspend the guide's marks."""
    feed.closed_at, feed.closed_why = at, why[:300]
    feed.save(update_fields=["closed_at", "closed_why"])
    if feed.quantity in (Quantity.LEVEL, Quantity.FLOW):
        Gauge.objects.filter(pk=feed.gauge_id, marks_suspended_since__isnull=True).update(
            marks_suspended_since=at, marks_suspended_why=f"{feed.agency.name}: {why}"[:300]
        )
    record("source closed", f"feed {feed.key}", at=at, after={"why": why[:300]})
