"""An agency's quality codes, kept as they came: one row a day, the usual code named once."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import UTC, date

from guiding.feeds.models import CodesOfDay, Feed
from guiding.gauges.providers.readings import Told


def keep_codes(feed: Feed, told: Iterable[Told]) -> None:
    """Add the codes of these readings to what is kept; a later one for a moment replaces it."""
    by_day: dict[date, dict[str, str]] = defaultdict(dict)
    for row in told:
        if row.code:
            moment = row.observed_at.astimezone(UTC)
            by_day[moment.date()][f"{moment:%H:%M}"] = row.code[:20]
    if not by_day:
        return
    on_file = {row.day: row for row in CodesOfDay.objects.filter(feed=feed, day__in=by_day)}
    rows = []
    for day, codes in by_day.items():
        before = _spread_out(on_file[day]) if day in on_file else {}
        if before | codes != before:
            rows.append(_gathered(feed, day, before | codes))
    CodesOfDay.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["feed", "day"],
        update_fields=["usual", "usual_at", "others"],
    )


def codes_on(feed: Feed, day: date) -> dict[str, str]:
    """Return the code at each moment of a day in UTC, as "HH:MM"."""
    row = CodesOfDay.objects.filter(feed=feed, day=day).first()
    return _spread_out(row) if row else {}


def _gathered(feed: Feed, day: date, codes: dict[str, str]) -> CodesOfDay:
    usual, _ = Counter(codes.values()).most_common(1)[0]
    others = {clock: code for clock, code in sorted(codes.items()) if code != usual}
    usual_at = sorted(clock for clock, code in codes.items() if code == usual)
    return CodesOfDay(feed=feed, day=day, usual=usual, usual_at=usual_at, others=others)


def _spread_out(row: CodesOfDay) -> dict[str, str]:
    return {**dict.fromkeys(row.usual_at, row.usual), **row.others}
