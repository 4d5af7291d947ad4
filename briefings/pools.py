"""Wading for each person in each pool of a beat: the guide's levels, and the client's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from briefings import gather
from briefings.cautions.shape import highest
from briefings.pack.words import listed
from briefings.wading import judge as wading
from briefings.wading.judge import Sounding, Wading
from guiding.clients.models import Person
from guiding.gauges.models import Gauge
from guiding.gauges.outlook import Outlook
from guiding.rivers.models import Beat, Pool

BANK_ONLY = "bank only"


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolWading:
    """One person in one pool. `chance` that the river passes the stop level; None: not known."""

    person: Person
    pool: Pool
    wading: Wading
    chance: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPool:
    """A pool with what was measured in it against the beat's gauge."""

    pool: Pool
    soundings: tuple[Sounding, ...]
    ratio: float


def measured_pools(beat: Beat, gauge: Gauge | None) -> tuple[MeasuredPool, ...]:
    """Read the pools of a beat; without a gauge no sounding can be read at a level.

    Nor can it where the gauge's levels became others and nobody has confirmed what they mean.
    """
    is_read = gauge is not None and gauge.marks_suspended_since is None
    return tuple(
        MeasuredPool(
            pool=pool,
            soundings=gather.soundings_of(pool, gauge) if gauge and is_read else (),
            ratio=gather.ratio_of(pool, gauge) if gauge else 1.0,
        )
        for pool in beat.pools.all()
    )


def wading_on(
    beat: Beat, people: Sequence[Person], outlook: Outlook, day: date
) -> tuple[PoolWading, ...]:
    """Read the pools of a beat and judge each for every person."""
    gauge = outlook.gauge
    return judge_pools(
        measured_pools(beat, gauge),
        people,
        outlook,
        day,
        over_bank_on=gather.last_over_bank(gauge, outlook.marks, outlook.worked_out)
        if gauge
        else None,
    )


def judge_pools(
    pools: Sequence[MeasuredPool],
    people: Sequence[Person],
    outlook: Outlook,
    day: date,
    *,
    over_bank_on: date | None,
) -> tuple[PoolWading, ...]:
    """Judge every pool for every person, at the high side of the forecast band.

    The high side is taken on purpose: a client's words must hold for the river that may come, and
    the guide sees the stop level and its chance beside them.
    """
    level_m = highest(outlook.conditions.level)
    circumstances = gather.circumstances_of(outlook.conditions)
    judged = []
    for measured in pools:
        for person in people:
            answer = wading.judge_pool(
                soundings=measured.soundings,
                level_m=level_m,
                ratio=measured.ratio,
                over_bank_since=over_bank_on,
                today=day,
                wader=gather.wader_of(person, day),
                circumstances=circumstances,
            )
            stop_m = answer.stop_level_m
            judged.append(
                PoolWading(
                    person=person,
                    pool=measured.pool,
                    wading=answer,
                    chance=None if stop_m is None else outlook.chance_above(stop_m),
                )
            )
    return tuple(judged)


def client_words(judged: Sequence[PoolWading], *, comes_to_fish: bool) -> str:
    """Return what a person reads under the word Wading: words only, never a level or a criterion.

    Where the pools differ, those that are not bank only are named, and no other place is opened.
    """
    if not comes_to_fish:
        return "Bank only."
    if not judged:
        return "Bank only: no pool of this beat has been measured."
    bank = [row.pool.name for row in judged if row.wading.client_text == BANK_ONLY]
    others = sorted({row.wading.client_text for row in judged} - {BANK_ONLY})
    if not others:
        return "Bank only."
    # should two answers ever stand side by side for one person: "to the knee" is the careful one
    answer = f"{others[0][0].upper()}{others[0][1:]}"
    if not bank:
        return f"{answer}."
    named = [row.pool.name for row in judged if row.wading.client_text != BANK_ONLY]
    return f"{answer}, in {listed(named)} only. Bank only everywhere else."
