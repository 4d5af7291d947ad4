"""Asking the agencies what is due, and keeping what they say: rows are the queue.

Each address is claimed by a lease, asked outside any transaction, and what came is kept together
with the note that it came, or not at all. A process that dies loses its lease by time alone.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction

from guiding.feeds.asking import MayNotAsk, Server, server_of, spend_request, url_of
from guiding.feeds.getting import DEADLINE_S, Bounds, NotGot, Reply, get
from guiding.feeds.keeping import KeptAll, Span, keep_answer, read_answer, span_of
from guiding.feeds.models import Address
from guiding.feeds.noting import (
    Failure,
    LeaseLost,
    ask_week_soon,
    failure_of,
    hold,
    note_failure,
    note_success,
    share,
)
from guiding.feeds.schedule import next_day, spread
from guiding.feeds.trouble import settle_all
from guiding.gauges.providers.agency import Kind
from guiding.gauges.providers.readings import Wanted
from guiding.gauges.providers.shapes import ShapeChanged

LEASE = timedelta(minutes=10)  # longer than one answer can take to come and to be stored
PASS_SECONDS = 120.0  # what is left waits for the next pass: letters are not held up
NOTHING_TO_ASK = timedelta(days=1)  # whatever changes that asks sooner
SETTING_IS_MISSED = timedelta(minutes=10)  # then it is looked for again

Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fetched:
    """What one pass did: counts by name, and one line for each source that failed."""

    counts: dict[str, int] = field(default_factory=dict)
    failed: tuple[str, ...] = ()


class _Failed(Exception):
    """An address gave nothing; what to note about it."""

    def __init__(self, failure: Failure) -> None:
        super().__init__(failure.why)
        self.failure = failure


@dataclass(frozen=True, slots=True, kw_only=True)
class _Question:
    """What is asked at one address, and of whom."""

    server: Server
    kind: Kind
    wanted: tuple[Wanted, ...]
    span: Span
    url: str


def fetch_due(*, at: datetime, seconds: float = PASS_SECONDS) -> Fetched:
    """Ask every address that is due, once; one broken source never stops the rest.

    `at` is when the pass begins; what it notes carries the moments at which it happened.
    """
    started, tried = time.monotonic(), set[int]()
    counts = Counter(dict.fromkeys(("readings_fetched", "runs_fetched"), 0))
    failed = []

    def clock() -> datetime:
        return at + timedelta(seconds=time.monotonic() - started)

    while time.monotonic() - started <= seconds:
        address = _claim(clock(), tried)
        if address is None:
            break
        try:
            kept = _ask_one(address, clock)
        except LeaseLost:
            continue
        except Exception as error:  # a reader that stumbles is one broken source
            failure = _in_words(error)
            failed.append(f"{address}: {failure.why}")
            _note(address, failure, clock())
            continue
        counts.update(readings_fetched=kept.stored, runs_fetched=kept.runs)
    return Fetched(counts=dict(counts), failed=tuple(failed))


def _claim(now: datetime, tried: set[int]) -> Address | None:
    """Lease the next address that is due and was not tried in this pass."""
    while True:
        pk = Address.objects.due(now).exclude(pk__in=tried).values_list("pk", flat=True).first()
        if pk is None:
            return None
        tried.add(pk)
        if Address.objects.due(now).filter(pk=pk).update(claimed_until=now + LEASE):
            return Address.objects.select_related("feed__gauge").get(pk=pk)


def _ask_one(address: Address, clock: Clock) -> KeptAll:
    question = _question(address, clock())
    if question is None:
        return KeptAll()
    reply = _ask(address, question)
    failure = failure_of(
        reply, is_conditional=bool(_conditions(address, question)), is_of_one=bool(address.feed_id)
    )
    if failure is not None:
        raise _Failed(failure)
    try:
        return _keep(address, question, reply, clock)
    except ShapeChanged as changed:
        raise _Failed(
            Failure(why=str(changed), status=reply.status, body=reply.body, asks_facts=True)
        ) from changed


def _question(address: Address, at: datetime) -> _Question | None:
    """Work out what to ask; None, and the address rests, where there is nothing to ask for."""
    feeds = list(address.feeds_to_ask_for(at).select_related("gauge"))
    if not feeds:
        later = spread(at, NOTHING_TO_ASK, share())
        Address.objects.filter(pk=address.pk).update(next_at=later, claimed_until=None)
        return None
    agency, kind = address.agency, Kind(address.kind)
    try:
        server = server_of(agency, address.base_url)
    except MayNotAsk as refusal:
        raise _Failed(Failure(why=str(refusal), least_wait=SETTING_IS_MISSED)) from refusal
    if not spend_request(agency, address.base_url, at):
        why = f"the {agency.requests_a_day} requests that we allow ourselves a day are used up"
        raise _Failed(Failure(why=why, least_wait=next_day(at, share()) - at))
    span = span_of(address, feeds, at)
    wanted = tuple(dict.fromkeys(feed.wanted() for feed in feeds))
    ask = agency.make_ask(kind, wanted, span.since, span.until)
    url = url_of(server.base, ask)
    return _Question(server=server, kind=kind, wanted=wanted, span=span, url=url)


def _ask(address: Address, question: _Question) -> Reply:
    headers = {**question.server.headers, **_conditions(address, question)}
    try:
        return get(
            question.url,
            headers=headers,
            bounds=Bounds(seconds=DEADLINE_S, most_bytes=question.server.agency.most_bytes),
            own_servers=settings.FEEDS_OWN_SERVERS,
        )
    except NotGot as error:
        raise _Failed(
            Failure(why=str(error), is_for_all=error.is_silent, body=error.body)
        ) from error


def _conditions(address: Address, question: _Question) -> dict[str, str]:
    """Return what spares us an answer that we have; it counts for the very same words only."""
    if address.asked_url != question.url:
        return {}
    known = {"If-None-Match": address.etag, "If-Modified-Since": address.last_modified}
    return {name: value for name, value in known.items() if value}


def _keep(address: Address, question: _Question, reply: Reply, clock: Clock) -> KeptAll:
    """Keep an answer and the note of it in one transaction; reading it happens before."""
    read = None
    if reply.status != 304:
        read = read_answer(question.server.agency, question.kind, reply.body, question.wanted)
    with transaction.atomic():
        hold(address)
        at = clock()
        kept = KeptAll()
        if read is not None:
            kept = keep_answer(address, read, question.wanted, question.span, at=at)
        elif question.kind is Kind.FACTS:
            address.feeds().filter(confirmed_at__isnull=False).update(confirmed_at=at)
        note_success(address, question.url, reply, at=at)
        settle_all(address, at)
        for feed in kept.gaps:
            ask_week_soon(feed, at)
    return kept


def _in_words(error: Exception) -> Failure:
    if isinstance(error, _Failed):
        return error.failure
    return Failure(why=f"what came could not be kept: {type(error).__name__}: {error}"[:300])


def _note(address: Address, failure: Failure, at: datetime) -> None:
    key = str(settings.FEEDS_KEYS.get(address.agency_code, ""))
    try:
        with transaction.atomic():
            hold(address)
            note_failure(address, failure, key=key, at=at)
    except LeaseLost:
        return
