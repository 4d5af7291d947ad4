"""How an address is getting on: when it is asked again, and what its owner should know."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from django.db.models import Q

from guiding.feeds import schedule
from guiding.feeds.getting import Reply
from guiding.feeds.models import MOST_BAD_BYTES, Address, BadBody, Feed
from guiding.feeds.trouble import settle_all
from guiding.gauges.providers.agency import Kind

DAILY = (Kind.FACTS, Kind.WEEK)
DAY = timedelta(days=1)
WEEK_APART = timedelta(hours=1)  # at least, however often answers leave holes
NEXT_PIECE = timedelta(minutes=1)  # of history: never all at once
REFUSES_US = (401, 403)
NOT_THERE = (404, 410)
TOO_OFTEN = 429
NOT_NOW = 503


class LeaseLost(Exception):
    """Another process has this address by now; what we brought is left to it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """Why an address gave nothing, and what follows."""

    why: str
    status: int | None = None
    least_wait: timedelta = timedelta(0)
    is_for_all: bool = False  # the whole server is to be left alone for that long
    stops: bool = False  # until its owner has done something
    asks_facts: bool = False  # what the series is may have changed
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes = b""


def share() -> float:
    """Return a number from 0 to 1 that nobody can foresee."""
    return secrets.randbelow(1000) / 1000


def failure_of(reply: Reply, *, is_conditional: bool, is_of_one: bool) -> Failure | None:
    """Return what is wrong with a reply by its status alone, or nothing."""
    status = reply.status
    if status in (200, 203) or (status == 304 and is_conditional):
        return None
    met = Failure(
        why=f"it answers with status {status}, which is no data",
        status=status,
        headers=reply.headers,
        body=reply.body,
    )
    if status in REFUSES_US:
        why = f"it refuses us ({status}): nothing more is asked until you say so"
        return replace(met, why=why, stops=True)
    if status in NOT_THERE and is_of_one:
        return replace(met, why=f"it knows no such station or series ({status})", least_wait=DAY)
    if status == TOO_OFTEN:
        return replace(met, why="it says we ask too often (429)", is_for_all=True)
    if status >= 500:
        is_for_all = status == NOT_NOW or "retry-after" in reply.headers
        return replace(met, why=f"it is not well ({status})", is_for_all=is_for_all)
    return met


def hold(address: Address) -> None:
    """Make sure that the lease is still ours, and keep others out. Call inside a transaction."""
    mine = Address.objects.filter(pk=address.pk, claimed_until=address.claimed_until)
    if not mine.update(claimed_until=address.claimed_until):
        raise LeaseLost


def note_success(address: Address, url: str, reply: Reply, *, at: datetime) -> None:
    """Note a whole answer, or that nothing changed, in the transaction that keeps it."""
    if reply.status != 304:
        etag = reply.headers.get("etag", "")
        address.asked_url = url if len(url) <= 2000 else ""
        address.etag = etag if len(etag) <= 300 else ""
        address.last_modified = reply.headers.get("last-modified", "")[:100]
    address.expires = reply.headers.get("expires", "")[:100]
    address.asked_at = address.answered_at = address.good_at = at
    address.status = reply.status
    address.failures, address.broken_since, address.why = 0, None, ""
    address.warning = _warning(reply, at)[:300]
    address.next_at = _next_at(address, reply, at)
    address.claimed_until = None
    address.save()
    BadBody.objects.filter(address=address).delete()


def _next_at(address: Address, reply: Reply, at: datetime) -> datetime | None:
    if address.kind in DAILY:
        return schedule.spread(at, DAY, share())
    if address.kind == Kind.HISTORY:
        whole = Feed.objects.filter(addresses=address, history_is_whole=True).exists()
        return None if whole else schedule.spread(at, NEXT_PIECE, share())
    least = timedelta(minutes=address.agency.least_minutes)
    return schedule.next_after_success(at, least=least, headers=reply.headers, share=share())


def _warning(reply: Reply, at: datetime) -> str:
    said = []
    if reply.status == 203:
        said.append("the agency says that this version of its service is going out of use")
    apart = schedule.clock_difference(reply.headers, at)
    if apart is not None:
        which = "ahead of" if apart > timedelta(0) else "behind"
        minutes = abs(apart).total_seconds() / 60
        said.append(f"its clock is {minutes:,.0f} minutes {which} ours: one of the two is wrong")
    return "; ".join(said)


def note_failure(address: Address, failure: Failure, *, key: str = "", at: datetime) -> None:
    """Note why nothing came, and when to ask again. Call inside a transaction."""
    address.failures += 1
    address.asked_at = at
    address.status = failure.status
    address.broken_since = address.broken_since or at
    address.why = failure.why[:300]
    address.claimed_until = None
    address.next_at = _next_after(address, failure, at)
    if failure.stops:
        address.next_at, address.stopped_at = None, at
    address.save()
    if failure.body:
        _keep_body(address, failure, key, at)
    beside = Address.objects.beside(address).exclude(pk=address.pk)
    if failure.stops:
        beside.update(next_at=None, stopped_at=at, why=address.why)
    elif failure.is_for_all:
        beside.filter(next_at__lt=address.next_at).update(next_at=address.next_at)
    if failure.asks_facts:
        _ask_facts(address, at)
    settle_all(address, at, whole_server=failure.stops)


def _next_after(address: Address, failure: Failure, at: datetime) -> datetime:
    least = timedelta(minutes=address.agency.least_minutes)
    asked = schedule.next_after_failure(
        at, least=least, failures=address.failures, headers=failure.headers, share=share()
    )
    return max(asked, schedule.spread(at, failure.least_wait, share()))


def _ask_facts(address: Address, at: datetime) -> None:
    """Let what the series are be asked again, once in the agency's own least time."""
    since = at - timedelta(minutes=address.agency.least_minutes)
    rows = Address.objects.beside(address).filter(kind=Kind.FACTS, stopped_at__isnull=True)
    if address.feed_id:
        rows = rows.filter(feed_id=address.feed_id) | rows.filter(feed__isnull=True)
    rows.filter(asked_at__lt=since, next_at__gt=at).update(next_at=at)


def _keep_body(address: Address, failure: Failure, key: str, at: datetime) -> None:
    text = failure.body[:MOST_BAD_BYTES].decode("utf-8", "replace").replace("\0", "")
    if key:
        text = text.replace(key, "[hidden]")
    BadBody.objects.update_or_create(
        address=address, defaults={"came_at": at, "why": failure.why[:300], "text": text}
    )


def ask_week_soon(feed: Feed, at: datetime) -> None:
    """Ask for the last days again where an answer has left a hole, as soon as that may be."""
    rows = Address.objects.filter(
        agency_code=feed.agency_code, base_url=feed.base_url, kind=Kind.WEEK, next_at__gt=at
    )
    rows = rows.filter(feed=feed) | rows.filter(feed__isnull=True)
    long_ago = Q(asked_at__isnull=True) | Q(asked_at__lte=at - WEEK_APART)
    rows.filter(long_ago).update(next_at=at)
