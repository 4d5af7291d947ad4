"""What may be asked of an agency now: who we say we are, which key, and how often a day."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from urllib.parse import quote

from django.conf import settings
from django.db.models import F

from guiding.feeds.models import AgencyDay
from guiding.gauges.providers.agency import Agency, Ask

PRODUCT = "Spatebook/0.1"
# reserved for examples and tests (RFC 2606): nobody can be reached there
NOBODY = re.compile(r"(\.|@|//)(example(\.(com|net|org))?|invalid|test|localhost)(/|$)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """One agency's server as it is reached from this house."""

    agency: Agency
    base: str
    headers: dict[str, str]
    key: str = ""


class MayNotAsk(Exception):
    """This house may not ask this agency yet; the message tells its owner what to do."""


def contact() -> str:
    """Return how an agency can reach the owner, empty where nothing usable is set."""
    met = str(settings.FEEDS_CONTACT).strip()
    is_address = re.fullmatch(r"[\x21-\x7e]+@[\x21-\x7e]+\.[A-Za-z]{2,}", met)
    is_page = re.fullmatch(r"https://[\x21-\x7e]+\.[A-Za-z]{2,}[\x21-\x7e]*", met)
    return met if (is_address or is_page) and not NOBODY.search(met.lower()) else ""


def server_of(agency: Agency, base_url: str) -> Server:
    """Return where and as whom an agency is asked; raise MayNotAsk with what is missing."""
    reached_at = contact()
    if agency.needs_contact and not reached_at:
        raise MayNotAsk(
            f"{agency.name} asks who is asking. Set CONTACT to your mail address or web page: "
            f"{str(settings.FEEDS_CONTACT)[:60]!r} is none that leads to you."
        )
    headers = {"User-Agent": f"{PRODUCT} ({reached_at or 'no contact given'})"}
    key = str(settings.FEEDS_KEYS.get(agency.code, ""))
    if agency.key_header:
        if not re.fullmatch(r"[\x21-\x7e]+", key):
            raise MayNotAsk(f"{agency.name} wants a key. Set FEEDS_KEYS to {agency.code}=your key.")
        headers[agency.key_header] = key
    base = base_url or str(settings.FEEDS_BASES.get(agency.code, "")) or agency.base
    return Server(agency=agency, base=base.rstrip("/"), headers=headers, key=key)


def url_of(base: str, ask: Ask) -> str:
    """Return the whole address; a bare word of the query stays bare."""
    words = [
        quote(name, safe="") + ("" if value is None else "=" + quote(value, safe=",:"))
        for name, value in ask.query
    ]
    return base + ask.path + ("?" + "&".join(words) if words else "")


def spend_request(agency: Agency, base_url: str, at: datetime) -> bool:
    """Count one request of the day, in UTC; False where the day's ceiling is reached."""
    day, _ = AgencyDay.objects.get_or_create(
        agency_code=agency.code, base_url=base_url, day=at.astimezone(UTC).date()
    )
    within = AgencyDay.objects.filter(pk=day.pk, asked__lt=agency.requests_a_day)
    return within.update(asked=F("asked") + 1) == 1
