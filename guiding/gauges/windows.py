"""For each beat of a gauge: when in the next five days it is within the guide's good range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.good_range import (
    GoodRange,
    PartAhead,
    Window,
    WindowsAhead,
    chance_within,
    good_range,
    windows_ahead,
)
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.models import BeatGauge, Gauge, Mark
from guiding.gauges.outlook import hours_of
from guiding.gauges.outlook_words import chance_words
from guiding.gauges.troubles import marks_suspended_words
from guiding.regimes.on_file import BeyondRain, FishingHours, beyond_rain_of_all
from guiding.rivers.models import Beat, Part, Water

AHEAD_DAYS = 5
CANNOT_SEE = {
    "regulated": "water is let out above it, and no gauge sees that coming",
    "tidal": "the tide moves it, and this forecast does not know the tide",
}

Levels = Sequence[tuple[datetime, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowRow:
    """One window in words."""

    when: str
    parts: str
    chance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BeatWindows:
    """One beat: its range, its windows, and in words what else there is to say of them."""

    beat: str
    range_words: str
    rows: tuple[WindowRow, ...]
    says: tuple[str, ...]


def beat_windows(
    gauge: Gauge,
    record: ForecastRecord | None,
    levels: Levels,
    at: datetime,
    *,
    not_known: str = "",
) -> tuple[BeatWindows, ...]:
    """Return the windows of every beat that this gauge is the first to speak for.

    `not_known` says why nothing is forecast at all, if so.
    """
    links = (
        BeatGauge.objects.filter(gauge=gauge)
        .select_related("beat__water__river", "gauge__river")
        .prefetch_related("beat__water__part_hours", "beat__gauge_links__gauge")
        .order_by("beat__water__name", "beat__order", "beat__name")
    )
    marks = tuple(gauge.marks.all())
    rows = list(links)
    beyond = beyond_rain_of_all([_today(link.beat, at) for link in rows], at=at)
    return tuple(
        _of_beat(link, marks, record, levels, at, _why_not(link, one, record, not_known))
        for link, one in zip(rows, beyond, strict=True)
    )


def _today(beat: Beat, at: datetime) -> FishingHours:
    day = beat.water.river.day_of(at)
    return FishingHours(beat=beat, day=day, starts_at=at, ends_at=at + timedelta(days=1))


def _of_beat(
    link: BeatGauge,
    marks: Sequence[Mark],
    record: ForecastRecord | None,
    levels: Levels,
    at: datetime,
    why_not: str,
) -> BeatWindows:
    beat = link.beat
    if why_not:
        return BeatWindows(
            beat=beat.name, range_words="", rows=(), says=(f"Not known: {why_not}.",)
        )
    span = good_range(marks_on(beat, marks))
    if isinstance(span, str) or record is None:
        return BeatWindows(beat=beat.name, range_words="", rows=(), says=(f"Not known: {span}.",))
    delay = timedelta(hours=link.delay_hours)

    def chance(starts_at: datetime, ends_at: datetime) -> float | None:
        return chance_within(record, levels, span, starts_at - delay, ends_at - delay)

    parts = parts_ahead(beat.water, at)
    found = windows_ahead(parts, chance)
    zone = beat.water.river.zoneinfo
    return BeatWindows(
        beat=beat.name,
        range_words=_range_words(span, link),
        rows=tuple(_row(window, zone, at) for window in found.windows),
        says=_says(found, parts, beat.water, zone),
    )


def _why_not(
    link: BeatGauge, beyond: BeyondRain, record: ForecastRecord | None, not_known: str
) -> str:
    """Return why nothing is known of a beat's windows, or an empty text."""
    beat = link.beat
    if beyond.regime != Beat.Regime.NATURAL:
        return CANNOT_SEE.get(beyond.regime, beyond.regime)
    if beyond.ice.is_there:
        return f"{beyond.ice.words}, and a gauge in ice tells nothing"
    if link.gauge.marks_suspended_since is not None:
        return marks_suspended_words(link.gauge).rstrip(".").replace("The marks", "the marks", 1)
    first = min(beat.gauge_links.all(), key=lambda other: (other.order, other.pk))
    if first.pk != link.pk:
        return f"this beat is read at {first.gauge.name}: look there"
    return not_known if record is not None else not_known or "nothing is forecast"


def marks_on(beat: Beat, marks: Sequence[Mark]) -> tuple[MarkLevel, ...]:
    """Return the marks that hold on a beat, its own before the gauge's, from rows already read."""
    rows = [row for row in marks if row.beat_id in (None, beat.pk)]
    chosen = {row.kind: row for row in sorted(rows, key=lambda row: row.beat_id is not None)}
    return tuple(sorted((row.as_level() for row in chosen.values()), key=lambda mark: mark.level_m))


def parts_ahead(water: Water, at: datetime) -> tuple[PartAhead, ...]:
    """Return the parts of the days ahead that may be fished, what is over of one left out.

    Where hours are on file for a water, those and no others; where none are, the usual ones.
    """
    today = water.river.day_of(at)
    until = at + timedelta(days=AHEAD_DAYS)
    parts = []
    for day in (today + timedelta(days=n) for n in range(-1, AHEAD_DAYS + 1)):
        for part in _parts_of(water, day):
            starts_at, ends_at = hours_of(water, day, part)
            starts_at = max(starts_at, at.astimezone(UTC))
            if starts_at < ends_at and ends_at <= until:
                parts.append(PartAhead(name=part, starts_at=starts_at, ends_at=ends_at))
    return tuple(parts)


def _parts_of(water: Water, day: date) -> list[str]:
    hours = water.part_hours.all()
    if not hours:
        return list(Part.values)
    return sorted({row.part for row in hours if row.holds_on(day)}, key=Part.values.index)


def _range_words(span: GoodRange, link: BeatGauge) -> str:
    low, high = (
        f"{mark.level_m:.2f} m{f' ({mark.seen})' if mark.seen else ''}"
        for mark in (span.low, span.high)
    )
    delay = link.delay_hours
    later = f" Water at the gauge is here {delay:g} h later; that is counted in." if delay else ""
    return f"Good is from {low} to under {high} at the gauge.{later}"


def _row(window: Window, zone: ZoneInfo, at: datetime) -> WindowRow:
    *first, last = dict.fromkeys(window.parts)
    return WindowRow(
        when=_when(window, zone, at),
        parts=f"{', '.join(first)} and {last}" if first else last,
        chance=chance_words(window.chance),
    )


def _when(window: Window | PartAhead, zone: ZoneInfo, at: datetime | None = None) -> str:
    starts, ends = window.starts_at.astimezone(zone), window.ends_at.astimezone(zone)
    next_day = f" on {ends:%A}" if ends.date() != starts.date() else ""
    begins = "now" if window.starts_at == at else f"{starts:%H:%M}"
    return f"{starts:%A} {starts.day} {starts:%B}, {begins} to {ends:%H:%M}{next_day}"


def _says(
    found: WindowsAhead, parts: Sequence[PartAhead], water: Water, zone: ZoneInfo
) -> tuple[str, ...]:
    says = []
    known = len(parts) - len(found.unknown)
    if not parts:
        says.append("No part of the next five days is down to be fished on this water.")
    elif known and not found.windows:
        line = "No window: no part of a day is as likely as not to stay within the range."
        if found.best is not None:
            line += f" The best is {_when(found.best, zone)}: {chance_words(found.best.chance)}."
        says.append(line)
    elif found.windows and known > sum(len(window.parts) for window in found.windows):
        says.append("Parts not listed are less likely than not to stay within the range.")
    if found.unknown:
        says.append(f"{_unknown_words(found, parts, zone)}: the forecast does not reach there.")
    if parts and not water.part_hours.all():
        says.append("No hours are on file for this water: the usual ones are taken.")
    return tuple(says)


def _unknown_words(found: WindowsAhead, parts: Sequence[PartAhead], zone: ZoneInfo) -> str:
    last = tuple(parts)[-len(found.unknown) :]
    if found.unknown == last:
        starts = found.unknown[0].starts_at.astimezone(zone)
        return f"Not known from {starts:%A} {starts.day} {starts:%B}, {starts:%H:%M} on"
    named = "; ".join(_when(part, zone) for part in found.unknown[:3])
    more = f" and {len(found.unknown) - 3} more parts" if len(found.unknown) > 3 else ""
    return f"Not known for {named}{more}"
