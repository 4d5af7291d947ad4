"""Ask a beat's further gauges: to stand in for the first one, and whether a rise is on its way.

Nothing stands in on water that a dam or the tide moves, nor by a ratio that nobody learned or
typed. A level worked out is never measured, and is said to be so wherever it is shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.further_gauges import as_worked_out, with_upstream
from guiding.gauges.conditions.measured import Measured, Sample
from guiding.gauges.conditions.question import OnFile, Question
from guiding.gauges.conditions.stand_in import Follows, StandIn, work_out
from guiding.gauges.conditions.upstream import WITHIN, UpstreamRise, read_upstream
from guiding.gauges.conditions.values import Conditions
from guiding.gauges.levels import levels_of
from guiding.gauges.models import BeatGauge, Gauge, Quantity, Reading
from guiding.gauges.pairing import is_said, lag_hours
from guiding.gauges.stuck import stuck_since

LEVELS_BEHIND = timedelta(days=21)


@dataclass(frozen=True, slots=True, kw_only=True)
class FurtherGauges:
    """What the further gauges of a beat tell for some fishing hours. Without any: nothing."""

    stand_in: StandIn | None = None
    upstream: tuple[UpstreamRise, ...] = ()
    says: tuple[str, ...] = ()  # why none stands in, where one is wanted

    def on(self, on_file: OnFile) -> OnFile:
        """Return what is on file with the levels that were worked out after those measured."""
        if self.stand_in is None:
            return on_file
        record = on_file.record if self.stand_in.is_forecast_sound else None
        return replace(on_file, levels=self.stand_in.measured, record=record)

    def told(self, conditions: Conditions, zone: ZoneInfo) -> Conditions:
        """Return the conditions read from that, with what must be said of it."""
        if self.stand_in is not None:
            conditions = as_worked_out(conditions, self.stand_in)
        if self.says:
            conditions = replace(conditions, says=(*self.says, *conditions.says))
        return with_upstream(conditions, self.upstream, zone)


def ask_further_gauges(
    links: Sequence[BeatGauge], question: Question, on_file: OnFile, *, until: datetime
) -> FurtherGauges:
    """Read every further gauge of a beat, as known at the moment of asking.

    `until`: the moment up to which `on_file` was read; nothing later is looked at.
    """
    if len(links) < 2:
        return FurtherGauges()
    first, *others = links
    rises = [_upstream(first, other, question) for other in others]
    told = FurtherGauges(upstream=tuple(rise for rise in rises if rise))
    wrong = _what_is_wrong(first.gauge, on_file, until, question.zone)
    if question.regime != "natural" or wrong is None:
        return told
    refused = []
    for other in others:
        found = _stand_in(first, other, wrong, until, question.zone, on_file)
        if isinstance(found, StandIn):
            return replace(told, stand_in=found)
        refused.append(f"{other.gauge} cannot stand in for {first.gauge}: {found}.")
    return replace(told, says=tuple(refused))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wrong:
    """What is wrong with the first gauge, and the levels of it that are still believed."""

    why: str
    believed: Measured
    is_stuck: bool = False


def _what_is_wrong(gauge: Gauge, on_file: OnFile, until: datetime, zone: ZoneInfo) -> _Wrong | None:
    """Return why a gauge does not speak for itself any more, or None where it does."""
    levels = on_file.levels
    newest = levels.newest
    if newest is None:
        return _Wrong(why="has no level on file", believed=levels)
    if newest[0] not in levels.typed_at:
        stuck = stuck_since(levels.samples, on_file.rain.samples, is_daily=levels.is_daily)
        if stuck is not None:
            why = f"has not moved since {_moment(stuck, zone)} although it rained, and may be stuck"
            return _Wrong(why=why, believed=_up_to(levels, stuck), is_stuck=True)
    broken = _broken_since(gauge, until)
    if broken is not None:
        why = f"is marked broken since {_moment(broken, zone)}"
        return _Wrong(why=why, believed=_up_to(levels, broken))
    if not levels.is_fresh(until):
        return _Wrong(why=f"is silent since {_moment(newest[0], zone)}", believed=levels)
    return None


def _up_to(levels: Measured, moment: datetime) -> Measured:
    there = tuple(row for row in levels.samples if row[0] <= moment or row[0] in levels.typed_at)
    return replace(levels, samples=there)


def _broken_since(gauge: Gauge, until: datetime) -> datetime | None:
    """Return since when the source of a gauge's levels is marked as broken, if it is."""
    since = [
        row.trouble_since
        for row in gauge.series.all()
        if row.quantity in (Quantity.LEVEL, Quantity.FLOW) and row.trouble and row.trouble_since
    ]
    return min((moment for moment in since if moment <= until), default=None)


def _stand_in(
    first: BeatGauge,
    other: BeatGauge,
    wrong: _Wrong,
    until: datetime,
    zone: ZoneInfo,
    on_file: OnFile,
) -> StandIn | str:
    """Return the levels that one further gauge gives, or why it gives none."""
    if not is_said(other, "ratio"):
        return "how much the river rises there for a metre here was neither learned nor typed in"
    gauge = other.gauge
    suspended = gauge.marks_suspended_since
    if suspended is not None and suspended <= until:
        return "its levels became others, and nobody has confirmed what they mean"
    there = _measured(gauge, until)
    rain = on_file.rain.samples
    if stuck_since(there.samples, rain, is_daily=there.is_daily) is not None:
        return "it has not moved itself although it rained"
    broken = _broken_since(gauge, until)
    if broken is not None:
        return f"it is marked broken itself since {_moment(broken, zone)}"
    follows = follows_of(first, other)
    found = work_out(
        wrong.believed,
        there,
        follows,
        name=first.gauge.name,
        why=wrong.why,
        until=until,
        zone=zone,
    )
    if isinstance(found, str):
        return found
    suspect = tuple(moment + follows.lag for moment in there.suspect_at)
    measured = replace(found.measured, suspect_at=(*found.measured.suspect_at, *suspect))
    return replace(found, measured=measured, is_forecast_sound=not wrong.is_stuck)


def follows_of(first: BeatGauge, other: BeatGauge) -> Follows:
    """Return how the first gauge follows a further one, by what was learned or typed in."""
    kept = other.learned
    typed = Follows(gauge=other.gauge.name, lag_hours=lag_hours(first, other), ratio=other.ratio)
    if "spread_m" not in kept:
        return typed
    return replace(
        typed,
        spreads_m=tuple((float(hours), float(spread)) for hours, spread in kept["spread_m"]),
        share=float(kept["spread_share"]),
        lowest_m=float(kept["lowest_m"]),
        highest_m=float(kept["highest_m"]),
    )


def _measured(gauge: Gauge, until: datetime) -> Measured:
    """Return the levels of a further gauge as they were known at a moment."""
    since = until - LEVELS_BEHIND
    measured = Measured(
        samples=tuple(levels_of(gauge, since, until)),
        step_hours=gauge.step_minutes / 60,
        suspect_at=tuple(moment for moment, _ in _suspects(gauge, since, until)),
    )
    return measured.known_at(until)


def _suspects(gauge: Gauge, since: datetime, until: datetime) -> list[Sample]:
    rows = Reading.objects.filter(
        series__gauge=gauge,
        series__quantity=Quantity.LEVEL,
        quality=Reading.Quality.SUSPECT,
        observed_at__range=(since, until),
    )
    return list(rows.order_by("observed_at").values_list("observed_at", "value"))


def _upstream(first: BeatGauge, other: BeatGauge, question: Question) -> UpstreamRise | None:
    """Return a sharp rise at a gauge that is known to lie upstream of the first, if it had one."""
    if not is_said(other, "delay_hours") or lag_hours(first, other) <= 0 or other.delay_hours <= 0:
        return None
    asked_at, gauge = question.asked_at, other.gauge
    delay, step = timedelta(hours=other.delay_hours), timedelta(minutes=gauge.step_minutes)
    since = asked_at - delay - max(WITHIN, step)
    whole = step if step >= timedelta(days=1) else timedelta(0)  # a day's mean is known late
    rows = [*levels_of(gauge, since, asked_at), *_suspects(gauge, since, asked_at)]
    return read_upstream(
        gauge.name,
        sorted(row for row in rows if row[0] + whole <= asked_at),
        delay=delay,
        ratio=other.ratio if is_said(other, "ratio") else 1.0,
        step=step,
        asked_at=asked_at,
        ends_at=question.ends_at,
    )


def _moment(moment: datetime, zone: ZoneInfo) -> str:
    here = moment.astimezone(zone)
    return f"{here:%H:%M on} {here.day} {here:%B}"
