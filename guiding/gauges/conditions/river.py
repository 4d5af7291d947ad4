"""What the gauge says of the river in the hours: level, class, phase and rise; and its words."""

from __future__ import annotations

from dataclasses import dataclass, replace

from guiding.gauges.conditions.measured import Measured
from guiding.gauges.conditions.moved import moved_says, steady_phase, why_unread
from guiding.gauges.conditions.phase_of_hours import (
    PhaseRead,
    read_phase_of_hours,
    share_risen,
)
from guiding.gauges.conditions.phases import Spate
from guiding.gauges.conditions.question import TYPED, OnFile, Question, or_given, usable
from guiding.gauges.conditions.rise import has_unseen_jump, read_rise
from guiding.gauges.conditions.stage import (
    OLDEST_FORECAST_HOURS,
    age_hours,
    read_chances,
    read_class,
    read_level,
)
from guiding.gauges.conditions.values import Condition, Given, Phase
from guiding.gauges.stuck import stuck_since, stuck_words

OLD_FORECAST_HOURS = 24.0  # said in words; common practice, no source
NO_GAUGE = "No gauge speaks for this beat: the level is not known."


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverRead:
    """What the gauge says of the river."""

    level: Condition
    level_class: Condition
    chances: tuple[tuple[str, float], ...]
    phase: Condition
    rise: Condition
    is_flagged: bool
    spate: Spate
    phase_chances: tuple[tuple[str, float], ...]
    phase_says: str
    risen: float | None  # share of paths on a first rise, at a peak or over the good range


def read_river(q: Question, on_file: OnFile, given: Given, *, has_ice: bool) -> RiverRead:
    """Return what record, forecast and what was given tell of the river in the hours."""
    hours, levels = q.gauge_hours, on_file.levels
    is_natural = q.regime == "natural"
    # what rain does is no forecast of water that a dam or the tide moves
    record = usable(on_file.record, q.asked_at) if is_natural else None
    why = _why_unread(q, on_file, has_ice)
    if why:
        level = Condition(what="level", unit="m", source=why)
        rise = Condition(what="rise", unit="cm/h", source=why)
        read = PhaseRead(
            phase=Condition(what="phase", source=why),
            spate=Spate(phase=Phase.NOT_KNOWN, why=why),
        )
        record = None
    else:
        level = read_level(levels, record, hours)
        rise = read_rise(levels, record, hours)
        read = read_phase_of_hours(levels, record, hours, on_file.marks)
    phase = read.phase if is_natural else steady_phase(read.phase, q.regime)
    level = or_given(given.level_m, level, q)
    if given.phase is not None:
        is_known = given.phase is not Phase.NOT_KNOWN
        phase = or_given(
            str(given.phase) if is_known else None, Condition(what="phase", source=TYPED), q
        )
        read = replace(read, chances=(), of_paths=None)  # somebody knows better than the paths
    return RiverRead(
        level=level,
        level_class=read_class(level, on_file.marks),
        chances=read_chances(level, levels, record, on_file.marks, hours),
        phase=phase,
        rise=rise,
        is_flagged=has_unseen_jump(levels, hours),
        spate=read.spate,
        phase_chances=read.chances,
        phase_says=read.says,
        risen=share_risen(
            read.of_paths, record if given.level_m is None else None, hours, on_file.marks
        ),
    )


def _why_unread(q: Question, on_file: OnFile, has_ice: bool) -> str:
    """Return why neither record nor forecast may speak for this water, or nothing."""
    if not on_file.has_gauge:
        return "no gauge speaks for this beat"
    if has_ice:
        return "ice may hold the level up"
    moved = ""
    if q.regime != "natural":
        moved = why_unread(q.regime, on_file.moved, on_file.levels, q.gauge_hours)
    return moved or _why_stuck(on_file.levels, on_file.rain)


def _why_stuck(levels: Measured, rain: Measured) -> str:
    """Return why the gauge is not believed; somebody's own reading settles it."""
    newest = levels.newest
    if newest is None or newest[0] in levels.typed_at:
        return ""
    since = stuck_since(levels.samples, rain.samples, is_daily=levels.is_daily)
    return stuck_words(since, newest[0]) if since else ""


def river_says(q: Question, on_file: OnFile, river: RiverRead, given: Given) -> tuple[str, ...]:
    """Return what must be said in words of the level and where it comes from."""
    if q.regime != "natural":
        says = [*moved_says(q.regime, on_file.moved, river.level, q.asked_at)]
        says += [] if on_file.has_gauge else [NO_GAUGE]
    elif not on_file.has_gauge:
        return (NO_GAUGE,)
    else:
        says = _level_says(q, on_file, river, given)
    if not on_file.has_gauge:
        return tuple(says)
    if river.is_flagged:
        says.append(
            "The gauge shows a jump that nobody has looked at: "
            "take the river as risen until somebody has."
        )
    if river.phase_says:
        says.append(river.phase_says)
    if not on_file.marks:
        says.append("No marks are on file for this gauge: what a level means here is not known.")
    return tuple(says)


def _level_says(q: Question, on_file: OnFile, river: RiverRead, given: Given) -> list[str]:
    says = []
    newest = on_file.levels.newest
    if newest is None:
        says.append("The gauge has no reading: the level is not known.")
    elif not (q.gauge_hours.is_over or on_file.levels.is_fresh(q.asked_at)):
        since = newest[0].astimezone(q.zone)
        age = age_hours(q.asked_at, newest[0])
        says.append(f"The level is not known since {since:%H:%M on %-d %B} ({age:.0f} h ago).")
    record = on_file.record
    if record is not None:
        age = age_hours(q.asked_at, record.issued_at)
        if age > OLDEST_FORECAST_HOURS:
            says.append(f"The river forecast is {age:.0f} h old and is not used.")
        elif age > OLD_FORECAST_HOURS:
            says.append(f"The river forecast is {age:.0f} h old.")
        says += record.says
    if river.level.number is None:
        says.append("What the level will be in the fishing hours is not known.")
    if q.delay_hours and given.level_m is None:
        says.append(
            f"Water at the gauge is here about {q.delay_hours:g} h later; that is counted in."
        )
    return says
