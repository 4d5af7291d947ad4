"""What only the guide's copy shows: stop levels, chances of classes, the people."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from briefings.pack import words
from briefings.pack.content import PoolStop
from briefings.pools import PoolWading
from briefings.wading.judge import Wading
from guiding.bookings.models import PartyMember
from guiding.gauges.outlook import Outlook
from guiding.units import level_words


def stop_rows(named: Sequence[tuple[str, Sequence[PoolWading]]]) -> tuple[PoolStop, ...]:
    """Return the guide's table: the level at which wading stops, for each person and pool.

    `named`: the name of each part of the day ("" where there is one) with its judgements. Parts in
    which a pool is told the very same share a row.
    """
    whens: dict[PoolStop, list[str]] = {}
    for when, judged in named:
        for row in judged:
            whens.setdefault(_stop_row(row), []).append(when)
    return tuple(
        replace(row, pool=f"{row.pool} ({'; '.join(dict.fromkeys(of))})") if any(of) else row
        for row, of in whens.items()
    )


def _stop_row(row: PoolWading) -> PoolStop:
    return PoolStop(
        person=row.person.name,
        pool=row.pool.name,
        spot=row.wading.stop_spot or row.wading.spot,
        stop_level=_stop_words(row.wading),
        decider=row.wading.stop_by or row.wading.decider or "",
        chance=words.chance_words(row.chance),
        text=row.wading.text,
    )


def _stop_words(wading: Wading) -> str:
    """Return the level that stops. Where all that a gauge shows stops, no level below it helps."""
    if wading.stop_level_m is None:
        return "not known"
    if wading.stop_level_m < 0 and wading.verdict == "stop":
        return "at every level"
    return level_words(wading.stop_level_m)


def class_rows(named: Sequence[tuple[str, Outlook]]) -> tuple[tuple[str, str], ...]:
    """Return each class with its levels and its chance in the hours, parts alike in one row."""
    whens: dict[tuple[str, str], list[str]] = {}
    for when, outlook in named:
        for row in _class_rows(outlook):
            whens.setdefault(row, []).append(when)
    return tuple(
        (f"{'; '.join(dict.fromkeys(of))}: {name}" if any(of) else name, chance)
        for (name, chance), of in whens.items()
    )


def _class_rows(outlook: Outlook) -> list[tuple[str, str]]:
    marks = sorted(outlook.marks, key=lambda mark: mark.level_m)
    edges = {mark.kind: place for place, mark in enumerate(marks)}
    rows = []
    for kind, chance in outlook.conditions.class_chances:
        name, place = kind.replace("_", " "), edges.get(kind)
        if place is not None:
            levels = f"from {level_words(marks[place].level_m)}"
        else:
            levels = f"below {level_words(marks[0].level_m)}" if marks else ""
        rows.append((f"{name}, {levels}".rstrip(", "), words.chance_words(chance)))
    return rows


def person_line(member: PartyMember, day: date) -> str:
    """Return one of the party as the guide needs to know them; what is not known is said."""
    person = member.person
    age = person.age_on(day)
    facts = [
        member.get_role_display(),
        f"{age} years" if age is not None else "age not known",
        f"{person.height_m:.2f} m" if person.height_m else "height not known",
        f"{person.mass_kg:.0f} kg" if person.mass_kg else "weight not known",
        f"wading: {person.get_wading_display() or 'not known'}",
        f"casting: {person.get_casting_display() or 'not known'}",
        f"{person.hand}-handed" if person.hand else "hand not known",
    ]
    if person.is_nervous:
        facts.append("nervous in moving water")
    if person.is_frail:
        facts.append("bank only, whatever the water does")
    if person.can_swim is False:
        facts.append("does not swim")
    return f"{person.name}: {', '.join(facts)}."


def each_once(named: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Return each line once, with the parts of the day it holds for where they are named."""
    names: dict[str, list[str]] = {}
    for name, line in named:
        names.setdefault(line, []).append(name)
    return tuple(
        f"{line} ({'; '.join(dict.fromkeys(of))})" if any(of) else line
        for line, of in names.items()
    )
