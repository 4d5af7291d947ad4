"""When to ask again: pure arithmetic on what an agency's headers say and how often it failed.

All thresholds are our own, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime

LONGEST_WAIT = timedelta(hours=6)  # after failures, however many
LONGEST_FRESH = timedelta(hours=24)  # an answer is asked for again after this, whatever it says
LONGEST_RETRY_AFTER = timedelta(hours=24)
CLOCK_MAY_DIFFER = timedelta(minutes=2)
SPREAD = 0.1  # of a wait, so that not everybody asks on the hour


def moment_of_header(text: str) -> datetime | None:
    """Return the moment in a header such as Expires or Date, None where there is none."""
    try:
        moment = parsedate_to_datetime(text)
    except (ValueError, TypeError, IndexError, OverflowError):
        return None
    if moment.tzinfo is None:  # "-0000" and rarer writings: the standard says it is UTC
        moment = moment.replace(tzinfo=UTC)
    return moment.astimezone(UTC)


def fresh_for(headers: Mapping[str, str]) -> timedelta:
    """Return how long an answer stays fresh: Expires less the agency's own Date, never our clock.

    Reference: RFC 9111, HTTP Caching, section 4.2.1.
    """
    expires = moment_of_header(headers.get("expires", ""))
    said = moment_of_header(headers.get("date", ""))
    if expires is None or said is None:
        return timedelta(0)
    return min(max(expires - said, timedelta(0)), LONGEST_FRESH)


def asked_to_wait(headers: Mapping[str, str], now: datetime) -> timedelta | None:
    """Return how long Retry-After asks for, in seconds or as a moment; a day at most.

    Reference: RFC 9110, HTTP Semantics, section 10.2.3.
    """
    text = headers.get("retry-after", "").strip()
    if text.isascii() and text.isdigit():
        return min(timedelta(seconds=min(int(text[:9]), 10**8)), LONGEST_RETRY_AFTER)
    until = moment_of_header(text)
    if until is None:
        return None
    since = moment_of_header(headers.get("date", "")) or now
    return min(max(until - since, timedelta(0)), LONGEST_RETRY_AFTER)


def clock_difference(headers: Mapping[str, str], now: datetime) -> timedelta | None:
    """Return how far the agency's clock and ours are apart where that is worth a word."""
    said = moment_of_header(headers.get("date", ""))
    if said is None or abs(said - now) <= CLOCK_MAY_DIFFER:
        return None
    return said - now


def next_after_success(
    now: datetime, *, least: timedelta, headers: Mapping[str, str], share: float
) -> datetime:
    """Return when to ask again after an answer; `share` (0 to 1) spreads the requests."""
    return spread(now, max(least, fresh_for(headers)), share)


def next_after_failure(
    now: datetime,
    *,
    least: timedelta,
    failures: int,
    headers: Mapping[str, str],
    share: float,
) -> datetime:
    """Return when to ask again after so many failures in a row, the first counted as 1.

    The wait doubles each time up to six hours; where Retry-After asks for longer, that holds.
    """
    doubled = least * 2 ** min(max(failures, 1), 16)
    wait = max(min(doubled, LONGEST_WAIT), asked_to_wait(headers, now) or timedelta(0))
    return spread(now, wait, share)


def next_day(now: datetime, share: float) -> datetime:
    """Return a moment soon after the next midnight in UTC, when budgets begin anew."""
    midnight = datetime.combine(now.date() + timedelta(days=1), datetime.min.time(), tzinfo=UTC)
    return midnight + timedelta(minutes=30) * share


def spread(now: datetime, wait: timedelta, share: float) -> datetime:
    """Return a moment after a wait and a little more."""
    return now + wait + wait * (SPREAD * share)
