"""Whom to credit for what we show: made from the sources that are in use, never typed twice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from guiding.feeds.models import Feed
from guiding.gauges.models import Gauge, WeatherRun
from guiding.gauges.providers import metno
from guiding.gauges.providers.agencies import BY_CODE
from guiding.gauges.providers.agency import Agency


@dataclass(frozen=True, slots=True, kw_only=True)
class Credit:
    """One agency in use: its own words, and the licence under which it gives."""

    who: str
    words: str
    licence: str
    licence_url: str


def credits_for(gauges: Iterable[Gauge]) -> tuple[str, ...]:
    """Return the credit lines that must stand on whatever shows these gauges, each once.

    A source that has been switched off is still credited: its readings are on file.
    """
    wanted = [gauge.pk for gauge in gauges]
    lines = [f"{feed.credit_line}." for feed in _told(wanted)]
    if WeatherRun.objects.filter(gauge__in=wanted, source=metno.SOURCE).exists():
        lines.append(f"{metno.CREDIT}.")
    return tuple(dict.fromkeys(lines))


def credits_in_use() -> tuple[Credit, ...]:
    """Return every agency whose data this house shows."""
    found = {credit_of(feed.agency, feed.credit_line) for feed in _told(None)}
    if WeatherRun.objects.filter(source=metno.SOURCE).exists():
        found.add(credit_of(metno.AGENCY, metno.CREDIT))
    return tuple(sorted(found, key=lambda credit: (credit.who, credit.words)))


def credit_of(agency: Agency, words: str) -> Credit:
    """Return an agency's credit."""
    return Credit(
        who=agency.name, words=words, licence=agency.licence, licence_url=agency.licence_url
    )


def _told(gauges: list[int] | None) -> list[Feed]:
    feeds = Feed.objects.filter(last_value_at__isnull=False, agency_code__in=BY_CODE)
    if gauges is not None:
        feeds = feeds.filter(gauge__in=gauges)
    return list(feeds.order_by("agency_code", "pk"))
