"""Wading for each person in each pool of a beat: the guide's levels, and the client's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from briefings import gather, wading
from briefings.wading import Wading
from guiding.clients.models import Person
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


def wading_on(
    beat: Beat, people: Sequence[Person], outlook: Outlook, day: date
) -> tuple[PoolWading, ...]:
    """Judge every pool of a beat for every person, at the high side of the forecast band.

    The high side is taken on purpose: a client's words must hold for the river that may come, and
    the guide sees the stop level and its chance beside them.
    """
    gauge = outlook.gauge
    conditions = outlook.conditions
    level_m = (
        conditions.level.high if conditions.level.high is not None else conditions.level.number
    )
    circumstances = gather.circumstances_of(conditions)
    over_bank_on = gather.last_over_bank(gauge, outlook.marks) if gauge else None
    judged = []
    for pool in beat.pools.prefetch_related("soundings"):
        soundings = gather.soundings_of(pool, gauge) if gauge else ()
        ratio = gather.ratio_of(pool, gauge) if gauge else 1.0
        for person in people:
            answer = wading.judge_pool(
                soundings=soundings,
                level_m=level_m,
                ratio=ratio,
                over_bank_since=over_bank_on,
                today=day,
                wader=gather.wader_of(person, day),
                circumstances=circumstances,
            )
            stop_m = answer.stop_level_m
            judged.append(
                PoolWading(
                    person=person,
                    pool=pool,
                    wading=answer,
                    chance=None if stop_m is None else outlook.chance_above(stop_m),
                )
            )
    return tuple(judged)


def client_words(judged: Sequence[PoolWading], *, comes_to_fish: bool) -> str:
    """Return what a person reads under the word Wading: words only, never a level or a criterion.

    Where the pools differ, the pools to stay out of come first, by name.
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
    elsewhere = others[0]
    if not bank:
        return f"{elsewhere[0].upper()}{elsewhere[1:]}."
    return f"Bank only in {_listed(bank)}. Elsewhere: {elsewhere}."


def _listed(names: Sequence[str]) -> str:
    if len(names) == 1:
        return names[0]
    return f"{', '.join(names[:-1])} and {names[-1]}"
