"""What a series is: confirmed once, and held against what its agency says every day."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Q

from guiding.feeds.models import Address, AddressQuerySet, Feed
from guiding.feeds.trouble import close_feed
from guiding.gauges.providers.agency import Kind
from guiding.gauges.providers.readings import SeriesFacts, factor
from guiding.gauges.providers.shapes import ShapeChanged


def keep_facts(feed: Feed, facts: SeriesFacts | None, *, at: datetime) -> None:
    """Confirm a feed, or close it where it has become another. Call inside a transaction.

    Nothing is asked for or stored of a feed that is not confirmed.
    """
    if facts is None:
        feed.rows_trouble = f"it lists no series {feed.series_words}"
        feed.confirmed_at = None
        return
    try:
        factor(feed.agency.units, feed.quantity, facts.unit, "its unit")
    except ShapeChanged as error:
        feed.rows_trouble = str(error)[:300]
        feed.confirmed_at = None
        if feed.unit:
            close_feed(feed, str(error), at)
        return
    is_first = not feed.unit
    if not is_first and (changed := _changed(feed, facts)):
        feed.confirmed_at = None
        close_feed(feed, changed, at)
        return
    was_asleep = feed.confirmed_at is None
    if was_asleep:
        feed.rows_trouble = ""
    feed.unit, feed.datum, feed.name = facts.unit, facts.datum[:80], facts.name[:120]
    feed.step_minutes = facts.step_minutes or feed.step_minutes
    feed.begins_at = facts.begins_at or feed.begins_at
    feed.confirmed_at = at
    if was_asleep:
        wake(feed, at)


def _changed(feed: Feed, facts: SeriesFacts) -> str:
    for what, before, after in (
        ("unit", feed.unit, facts.unit),
        ("datum", feed.datum, facts.datum[:80]),
    ):
        if before != after:
            was, now = before or "not said", after or "not said"
            return f"the {what} of {feed.series} was {was} and is {now} now"
    return ""


def wake(feed: Feed, at: datetime) -> None:
    """Let everything that is asked for a feed be asked soon."""
    for address in addresses_of(feed):
        if address.kind != Kind.HISTORY or not feed.history_is_whole:
            bring_forward(address, at)


def addresses_of(feed: Feed) -> AddressQuerySet:
    """Return what is asked for a feed alone, and for it with others."""
    same = Address.objects.filter(agency_code=feed.agency_code, base_url=feed.base_url)
    return same.filter(Q(feed=feed) | Q(feed__isnull=True))


def bring_forward(address: Address, at: datetime) -> None:
    """Ask again as soon as the agency allows it, and for everything: there is one more to tell.

    One that is failing keeps its wait, and one that was refused waits for its owner.
    """
    if address.stopped_at is not None:
        return
    allowed = at
    if address.asked_at is not None:
        least = timedelta(minutes=address.agency.least_minutes)
        allowed = max(at, address.asked_at + least)
    rows = Address.objects.filter(pk=address.pk)
    rows.update(asked_url="")
    if address.next_at is None or (address.next_at > allowed and not address.failures):
        rows.update(next_at=allowed)
