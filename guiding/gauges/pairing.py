"""What a beat's further gauges tell of its first one: learned from both records, and kept.

A delay or ratio that a person typed is never overwritten: then only how well it does is learned.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from guiding.gauges.hydrology.pairs import Pair, TooLittleTogether, learn_pair
from guiding.gauges.hydrology.record import DAY_MINUTES
from guiding.gauges.known import KEPT_YEARS
from guiding.gauges.levels import levels_of
from guiding.gauges.models import BeatGauge, Gauge
from guiding.gauges.steps import Steps, days_begin
from guiding.history.models import record
from guiding.rivers.models import Beat

NOT_SAID: dict[str, float] = {"delay_hours": 0.0, "ratio": 1.0}  # as a new row has them

Readings = list[tuple[datetime, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What became of one further gauge of one beat. `pair` None: refused, and `says` why."""

    beat: str
    gauge: str
    first: str  # the beat's first gauge
    pair: Pair | None
    says: str


def is_typed(link: BeatGauge, name: str) -> bool:
    """Say whether a person gave this delay_hours or ratio: it is not as new, nor as learned.

    A nought or a one of a new row counts as not said; set back to it later, it counts as typed.
    """
    if name in link.learned.get("typed", ()):
        return True
    return float(getattr(link, name)) != link.learned.get(name, NOT_SAID[name])


def is_said(link: BeatGauge, name: str) -> bool:
    """Say whether this delay_hours or ratio is known at all: typed by a person, or learned."""
    return is_typed(link, name) or name in link.learned


def note_typed(link: BeatGauge, names: frozenset[str]) -> None:
    """Keep that these of delay_hours and ratio were given by a person, whatever their value."""
    typed = set(link.learned.get("typed", ())) | (names & NOT_SAID.keys())
    if typed != set(link.learned.get("typed", ())):
        link.learned = link.learned | {"typed": sorted(typed)}
        link.save(update_fields=["learned"])


def learn_pairs(whose: Gauge | Beat, *, at: datetime) -> tuple[Learned, ...]:
    """Learn delay and ratio of every further gauge of a beat, or of each beat a gauge speaks for.

    Only readings observed by `at` are looked at. Where it is refused, what is on file stays.
    """
    beats = [whose] if isinstance(whose, Beat) else Beat.objects.filter(gauge_links__gauge=whose)
    found: list[Learned] = []
    records: dict[int, Readings] = {}
    for beat in beats:
        links = links_of(beat)
        found += [_learn(links[0], other, records, at) for other in links[1:]]
    return tuple(found)


def links_of(beat: Beat) -> list[BeatGauge]:
    """Return which gauges speak for a beat, the first one first, in one question."""
    links = beat.gauge_links.select_related("gauge__river").order_by("order", "pk")
    return list(links)


def lag_hours(first: BeatGauge, other: BeatGauge) -> float:
    """Return how much later [h] what is at the further gauge now is at the first one."""
    if not is_typed(other, "delay_hours") and "lag_hours" in other.learned:
        return float(other.learned["lag_hours"])
    return other.delay_hours - first.delay_hours


def _learn(
    first: BeatGauge, other: BeatGauge, records: dict[int, Readings], at: datetime
) -> Learned:
    """Learn one pair outside any transaction, then keep it."""
    try:
        pair = _pair(first, other, records, at)
    except TooLittleTogether as refusal:
        kept = " What is on file stays." if "at" in other.learned else ""
        return _learned(first, other, None, f"not learned: {refusal}.{kept}")
    if not _keep(first, other, pair, at):
        return _learned(first, other, None, "changed by somebody meanwhile: what they said stays.")
    return _learned(first, other, pair, learned_words(other))


def _learned(first: BeatGauge, other: BeatGauge, pair: Pair | None, says: str) -> Learned:
    return Learned(
        beat=str(other.beat),
        gauge=str(other.gauge),
        first=str(first.gauge),
        pair=pair,
        says=f"{other.gauge} for {first.gauge}, {other.beat}: {says}",
    )


def _pair(first: BeatGauge, other: BeatGauge, records: dict[int, Readings], at: datetime) -> Pair:
    here, there = first.gauge, other.gauge
    if here.step_minutes != there.step_minutes:
        raise TooLittleTogether("one is read by the hour, the other by the day")
    for gauge in (here, there):
        if gauge.pk not in records:
            records[gauge.pk] = _record(gauge, at)
    mine, theirs = records[here.pk], records[there.pk]
    if not mine or not theirs:
        raise TooLittleTogether(f"{here if not mine else there} has no level on file")
    grids = [_steps(gauge, records[gauge.pk]) for gauge in (here, there)]
    begin = max(grids[0].of(mine[0][0]), grids[1].of(theirs[0][0]))
    end = min(grids[0].of(mine[-1][0]), grids[1].of(theirs[-1][0]))
    if end <= begin:
        raise TooLittleTogether("their records do not overlap")
    step_hours = here.step_minutes / 60
    typed_lag = round((other.delay_hours - first.delay_hours) / step_hours)
    return learn_pair(
        grids[0].laid_out([row for row in mine if grids[0].of(row[0]) <= end], begin, end),
        grids[1].laid_out([row for row in theirs if grids[1].of(row[0]) <= end], begin, end),
        here.step_minutes,
        lag_steps=typed_lag if is_typed(other, "delay_hours") else None,
        ratio=other.ratio if is_typed(other, "ratio") else None,
    )


def _record(gauge: Gauge, at: datetime) -> Readings:
    """Return the levels that were known at a moment: of a daily record, days that were over."""
    since = at - timedelta(days=366 * KEPT_YEARS[gauge.step_minutes])
    whole = timedelta(minutes=gauge.step_minutes if gauge.step_minutes == DAY_MINUTES else 0)
    return levels_of(gauge, since, at - whole)


def _steps(gauge: Gauge, readings: Readings) -> Steps:
    zone = gauge.river.zoneinfo
    return Steps(
        step_minutes=gauge.step_minutes,
        zone=zone,
        day_begins=days_begin((moment for moment, _ in readings[-60:]), zone),
    )


@transaction.atomic
def _keep(first: BeatGauge, other: BeatGauge, pair: Pair, at: datetime) -> bool:
    """Store what was learned, unless somebody changed the row since it was read."""
    row = BeatGauge.objects.select_for_update().get(pk=other.pk)
    if (row.delay_hours, row.ratio) != (other.delay_hours, other.ratio):
        return False
    before = {name: getattr(row, name) for name in NOT_SAID}
    lag = pair.lag_steps * pair.step_minutes / 60
    news = {"delay_hours": first.delay_hours + lag, "ratio": round(pair.ratio, 4)}
    typed = sorted(name for name in NOT_SAID if is_typed(other, name))
    learned = {name: value for name, value in news.items() if name not in typed}
    if "delay_hours" in learned:
        learned["lag_hours"] = lag
    for name in set(news) - set(typed):
        setattr(row, name, news[name])
    row.learned = learned | _kept(pair, at) | ({"typed": typed} if typed else {})
    row.save(update_fields=["delay_hours", "ratio", "learned"])
    record(
        "gauge pair learned",
        f"beat {row.beat.key}",
        at=at,
        before=before,
        after={name: getattr(row, name) for name in NOT_SAID} | {"gauge": str(other.gauge)},
    )
    other.delay_hours, other.ratio, other.learned = row.delay_hours, row.ratio, row.learned
    return True


def _kept(pair: Pair, at: datetime) -> dict[str, Any]:
    """Return how well the pair does, as a row keeps it: lengths of time in hours."""
    step_hours = pair.step_minutes / 60
    return {
        "at": at.isoformat(),
        "hours": pair.n * step_hours,
        "r2": round(pair.r2, 3),
        "spread_m": [[steps * step_hours, round(spread, 3)] for steps, spread in pair.spread_m],
        "spread_share": round(pair.spread_share, 3),
        "lowest_m": pair.lowest_m,
        "highest_m": pair.highest_m,
    }


def learned_words(link: BeatGauge) -> str:
    """Return in words what is known of how a further gauge tells of the first one."""
    if "at" not in link.learned:
        typed = [name for name in NOT_SAID if is_typed(link, name)]
        return "typed in; how well it does is not known" if typed else "not learned"
    kept = link.learned
    after, spread_m = next((row for row in kept["spread_m"] if row[0] >= 24), kept["spread_m"][-1])
    said = {name: "typed in" if is_typed(link, name) else "learned" for name in NOT_SAID}
    return (
        f"{link.delay_hours:g} h to the beat ({said['delay_hours']}), {link.ratio:.2f} m for a "
        f"metre ({said['ratio']}); from {kept['hours']:,.0f} h of both, explains "
        f"{kept['r2']:.0%}; nine in ten within {spread_m * 100:.0f} cm after {after:g} h"
    )
