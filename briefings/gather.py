"""Rows -> the plain values that the advice looks at."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from briefings.cautions.shape import Ground, highest, lowest
from briefings.kit.person import Guest, LoanStock
from briefings.models import SetUpRule
from briefings.setups.rules import Rule
from briefings.wading.judge import Circumstances, Sounding, Wader
from guiding.accounts.models import User
from guiding.clients.models import Person
from guiding.gauges.conditions.colour import was_seen
from guiding.gauges.conditions.values import Conditions
from guiding.gauges.hydrology.record import MarkLevel
from guiding.gauges.levels import last_at_or_above
from guiding.gauges.models import Gauge
from guiding.regimes.moved_water import MovedWater
from guiding.rivers.models import Beat, Pool
from guiding.sources import COMMON_PRACTICE, Reason
from guiding.tackle.models import LoanItem


def rules_on_file() -> tuple[Rule, ...]:
    """Return the set-up rules that are switched on, in the order in which they win."""
    return tuple(row.as_rule() for row in SetUpRule.objects.filter(is_on=True))


def ground_of(beat: Beat, *, people: int) -> Ground:
    """Return what the cautions need to know of a beat and of how many stand on it."""
    return Ground(
        regime=beat.regime,
        power_lines=tuple(line for line in beat.power_lines.splitlines() if line.strip()),
        hazards=tuple(line for line in beat.hazards.splitlines() if line.strip()),
        bottoms=tuple(sorted({pool.bottom for pool in beat.pools.all() if pool.bottom})),
        people_on_the_bank=people,
    )


def wader_of(person: Person, day: date) -> Wader:
    """Return what decides for a person on a day; a junior of unknown age counts as under 16."""
    age = person.age_on(day)
    if age is None and person.is_junior:
        age = 15
    return Wader(
        height_m=person.height_m,
        mass_kg=person.mass_kg,
        age=age,
        is_frail=person.is_frail,
        is_nervous=person.is_nervous,
        confidence=person.wading or None,
    )


def guide_on_file() -> User | None:
    """Return the guide whose name and telephone stand on the packs."""
    return User.objects.filter(role=User.Role.GUIDE, is_active=True).order_by("id").first()


def soundings_of(pool: Pool, gauge: Gauge) -> tuple[Sounding, ...]:
    """Return a pool's soundings against this gauge."""
    return tuple(
        Sounding(
            level_m=row.level_m,
            depth_m=row.depth_m,
            speed_ms=row.speed_ms,
            spot=row.spot,
            measured_on=row.measured_on,
        )
        for row in pool.soundings.all()
        if row.gauge_id == gauge.pk
    )


def ratio_of(pool: Pool, gauge: Gauge) -> float:
    """Return metres of depth for each metre on the gauge: 1 until it has been learned."""
    learned = [row.ratio for row in pool.gauge_ratios.all() if row.gauge_id == gauge.pk]
    return learned[0] if learned else 1.0


def last_over_bank(
    gauge: Gauge, marks: Iterable[MarkLevel], worked_out: Iterable[tuple[datetime, float]] = ()
) -> date | None:
    """Return the last day on which the river stood over the bank, as far as anything tells.

    `worked_out`: levels [m] that a further gauge gives while this one fails.
    """
    banks = [mark.level_m for mark in marks if mark.kind == "over_bank"]
    if not banks:
        return None
    moments = [moment for moment, level_m in worked_out if level_m >= min(banks)]
    measured_at = last_at_or_above(gauge, min(banks))
    last = max([*moments, *([measured_at] if measured_at else [])], default=None)
    return gauge.river.day_of(last) if last else None


def circumstances_of(conditions: Conditions) -> Circumstances:
    """Return what the water and the light do besides depth and speed; not known stays None.

    Where a value has a spread, its careful end counts.
    """
    colour = conditions.colour.value
    dark_at = conditions.light.full_dark_at
    moved = conditions.moved
    why = _why_moved(moved)
    return Circumstances(
        rise_cm_h=highest(conditions.rise),
        rise_is_flagged=conditions.rise_is_flagged,
        is_coloured=None if colour is None else colour in {"coloured", "dirty"},
        # a depth is not judged by water that nobody looked into
        visibility_cm=lowest(conditions.visibility) if was_seen(conditions.visibility) else None,
        has_ice=conditions.has_ice,
        is_night=conditions.part == "night"
        or (dark_at is not None and conditions.ends_at > dark_at),
        was_walked_today=None,
        regime=conditions.regime,
        may_be_moved=moved.may_be_here(conditions.asked_at) if moved and not why else None,
        why_moved=why,
    )


def _why_moved(moved: MovedWater | None) -> str:
    """Return why soundings may not be asked of moved water, or nothing where they may.

    No schedule clears anybody: without a wave the soundings and the measured level are asked. A
    gauge that does not feel this water gives neither a level nor a level to stop at.
    """
    if moved is None:
        return "no schedule or table is on file"
    if moved.missing:
        return "; ".join(moved.missing)
    return "" if moved.gauge_is_there else "no gauge on file feels what moves this water"


def guest_of(person: Person, role: str, day: date) -> Guest:
    """Return what a person's kit depends on."""
    age = person.age_on(day)
    return Guest(
        role=role,
        foot_eu=person.foot_eu,
        height_m=person.height_m,
        hand=person.hand,
        brings=tuple(line.strip() for line in person.brings.splitlines() if line.strip()),
        is_junior=person.is_junior if age is None else age < 16,
        is_nervous=person.is_nervous,
        units=person.units,
    )


def loan_stock() -> tuple[LoanStock, ...]:
    """Return all the loan kit we own, as if none of it were out."""
    return tuple(
        LoanStock(
            kind=row.kind,
            size=row.size,
            smallest_foot_eu=row.smallest_foot_eu,
            largest_foot_eu=row.largest_foot_eu,
            smallest_height_m=row.smallest_height_m,
            largest_height_m=row.largest_height_m,
            left=row.count,
        )
        for row in LoanItem.objects.all()
    )


def permitted_reason(asked_at: datetime) -> Reason:
    """Return why the answer to "is it permitted" is not known."""
    return Reason(
        text="No rule on file: ask the fishery before anybody fishes.",
        because=f"no season, method or permit is on file on {asked_at:%d %B %Y}",
        source=COMMON_PRACTICE,
    )
