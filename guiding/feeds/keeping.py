"""An answer is read outside any transaction, and kept inside one, feed by feed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.feeds.confirming import keep_facts
from guiding.feeds.models import Address, Feed
from guiding.feeds.storing import keep_rows, name_source
from guiding.gauges.intake.weather_runs import FAR_KM, RunDiffers, RunRefused, keep_weather_run
from guiding.gauges.providers.agency import Agency, Kind
from guiding.gauges.providers.readings import SeriesFacts, SeriesTold, Wanted
from guiding.gauges.providers.shapes import ShapeChanged
from guiding.gauges.providers.weather import WeatherRunRead
from guiding.rivers.gridref import distance_km

MOST_EMPTY = 4  # answers of history in a row without a row: further back there is nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """What an answer says, in our names and units; one of the three is filled."""

    rows: dict[Wanted, SeriesTold]
    facts: dict[Wanted, SeriesFacts]
    run: WeatherRunRead | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """The time asked for."""

    since: datetime
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptAll:
    """What became of an answer, all its feeds together."""

    stored: int = 0
    refused: int = 0
    runs: int = 0
    gaps: tuple[Feed, ...] = ()


def read_answer(agency: Agency, kind: Kind, body: bytes, wanted: Sequence[Wanted]) -> Read:
    """Read a body; ShapeChanged where it is not what is known. Pure."""
    rows: Iterable[SeriesTold] = ()
    facts: Iterable[SeriesFacts] = ()
    if agency.read_run is not None:
        return Read(rows={}, facts={}, run=_run_for(agency.read_run(body), wanted[0]))
    if kind is Kind.FACTS and agency.read_facts is not None:
        facts = agency.read_facts(body, wanted)
    elif agency.read_rows is not None:
        rows = agency.read_rows(body, wanted)
    return Read(
        rows={one.wanted: one for one in rows},
        facts={one.wanted: one for one in facts},
    )


def _run_for(run: WeatherRunRead, place: Wanted) -> WeatherRunRead:
    off_km = distance_km(run.latitude, run.longitude, place.latitude, place.longitude)
    if off_km > FAR_KM:
        raise ShapeChanged(f"geometry.coordinates lie {off_km:.0f} km from what was asked for")
    return run


def keep_answer(
    address: Address, read: Read, asked: Sequence[Wanted], span: Span, *, at: datetime
) -> KeptAll:
    """Keep what an answer says of each feed that still wants it. Call inside a transaction."""
    feeds = address.feeds_to_ask_for(at).select_for_update(of=("self",))
    total = KeptAll()
    for feed in feeds.select_related("gauge__river"):
        wanted = feed.wanted()
        if wanted not in asked:
            continue  # it was added or changed while the answer came
        one = _keep_one(feed, Kind(address.kind), read, wanted, span, at)
        feed.save()
        total = KeptAll(
            stored=total.stored + one.stored,
            refused=total.refused + one.refused,
            runs=total.runs + one.runs,
            gaps=(*total.gaps, *one.gaps),
        )
    return total


def _keep_one(
    feed: Feed, kind: Kind, read: Read, wanted: Wanted, span: Span, at: datetime
) -> KeptAll:
    if read.run is not None:
        return _keep_run(feed, read.run, at)
    if kind is Kind.FACTS:
        keep_facts(feed, read.facts.get(wanted), at=at)
        return KeptAll()
    answer = read.rows.get(wanted)
    if kind is Kind.HISTORY:
        _note_history(feed, answer, span, at)
    if answer is None or (kind is Kind.WEEK and not answer.rows):
        if kind is not Kind.HISTORY:
            feed.rows_trouble = f"its answer does not hold {feed.series_words}"
        return KeptAll()
    kept = keep_rows(feed, answer, kind=kind, at=at)
    name_source(feed.gauge, feed)
    return KeptAll(
        stored=kept.stored, refused=kept.refused, gaps=(feed,) if kept.leaves_gap else ()
    )


def _keep_run(feed: Feed, run: WeatherRunRead, at: datetime) -> KeptAll:
    try:
        kept = keep_weather_run(feed.gauge, run, at=at)
    except RunDiffers:
        return KeptAll()  # trimmed as its first hours pass; what was known first stands
    except RunRefused as refusal:
        raise ShapeChanged(f"the run is {refusal}") from refusal
    feed.rows_trouble = ""
    feed.last_value_at, feed.last_value = run.issued_at, None
    return KeptAll(runs=0 if kept.is_repeated else 1)


def _note_history(feed: Feed, answer: SeriesTold | None, span: Span, at: datetime) -> None:
    is_empty = answer is None or not answer.rows
    feed.history_back_to = span.since
    feed.history_empty = feed.history_empty + 1 if is_empty else 0
    first = history_begins(feed, at)
    feed.history_is_whole = span.since <= first or feed.history_empty >= MOST_EMPTY


def history_begins(feed: Feed, at: datetime) -> datetime:
    """Return as far back as this feed is read."""
    begins = at - feed.agency.history
    return max(begins, feed.begins_at) if feed.begins_at else begins


def span_of(address: Address, feeds: Sequence[Feed], at: datetime) -> Span:
    """Return the time to ask for: a week, or the next piece of history."""
    if address.kind != Kind.HISTORY:
        return Span(since=at - timedelta(days=7), until=at)
    (feed,) = feeds
    until = feed.history_back_to or at
    since = max(until - feed.agency.history_a_time, history_begins(feed, at))
    return Span(since=min(since, until), until=until)
