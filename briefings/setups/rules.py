"""A set-up rule as a plain value, and how its conditions are read against the river.

The small language of a rule, as stored in `SetUpRule.when` and `SetUpRule.asks`:

`when` names facts (see FACTS); all of them must hold. A number is met by a number or by a range of
`from` (included), `above` (not included), `to` (included) and `below` (not included); a word by a
word or a list of words; yes or no by true or false. `any` holds a list of such tables, of which one
must hold. `{}` always holds. What is not known never holds.

    {"month": [9, 10, 11], "any": [{"water_c": {"to": 5}}, {"water_drop_c": {"from": 4}}]}

`asks` names what the rule wants (see ASKS in rulecheck.py). Where two rules that hold ask for
different things, the lower rank wins, then the lower order. What belongs together is claimed
together (see SUBJECTS): a rule that asks for a line also decides the tip. `steps`, `deeper`,
`not_over_mm`, `also` and `note` add up. No rule can reach a caution.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from briefings.setups.facts import Fact, Facts
from guiding.sources import Label, Source

# what is decided together, by the first rule that asks for any of it
SUBJECTS: dict[str, tuple[str, ...]] = {
    "depth": ("line", "tip"),
    "fly": ("length_mm", "hook_sizes", "tube", "heavy", "surface_lure"),
    "dressing": ("dressing",),
    "colours": ("colours",),
    "leader": ("leader_m", "dropper_from_line_m"),
    "tippet": ("tippet_mm", "material"),
    "dropper": ("dropper",),
    "movement": ("how", "hold_s"),
    "knot": ("point_knot",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule: the lower rank wins where two disagree; see SetUpRule.Rank."""

    name: str
    rank: int
    order: int = 0
    when: dict[str, Any] = field(default_factory=dict)
    asks: dict[str, Any] = field(default_factory=dict)
    says: str
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A rule that holds, and the conditions that made it hold, in words."""

    rule: Rule
    because: str


def read_rules(text: str) -> tuple[Rule, ...]:
    """Return the rules of a TOML text with one [[rule]] table each."""
    return tuple(
        Rule(
            name=table["name"],
            rank=table["rank"],
            order=table.get("order", 0),
            when=table.get("when", {}),
            asks=table.get("asks", {}),
            says=table["says"],
            source=Source(label=Label(table["label"]), title=table.get("source", "")),
        )
        for table in tomllib.loads(text)["rule"]
    )


def holding(rules: tuple[Rule, ...], facts: Facts) -> tuple[Held, ...]:
    """Return the rules that hold, the one that wins first."""
    found = []
    for rule in sorted(rules, key=lambda rule: (rule.rank, rule.order, rule.name)):
        words = _met(rule.when, facts)
        if words is not None:
            found.append(Held(rule=rule, because=", ".join(words) or "always"))
    return tuple(found)


def _met(when: Mapping[str, Any], facts: Facts) -> tuple[str, ...] | None:
    """Return the words of the facts that met every condition, or None."""
    words: list[str] = []
    for name, wanted in when.items():
        if name == "any":
            branches = [met for branch in wanted if (met := _met(branch, facts)) is not None]
            if not branches:
                return None
            words.extend(branches[0])
            continue
        fact = facts.get(name)
        if fact is None or not _matches(fact, wanted):
            return None
        words.append(fact.words)
    return tuple(dict.fromkeys(words))


def _matches(fact: Fact, wanted: Any) -> bool:
    if isinstance(wanted, dict):
        return isinstance(fact.value, float | int) and _in_range(float(fact.value), wanted)
    if isinstance(wanted, list | tuple):
        return fact.value in wanted
    if isinstance(wanted, bool) or isinstance(fact.value, bool):
        return fact.value is wanted
    return bool(fact.value == wanted)


def _in_range(value: float, wanted: Mapping[str, float]) -> bool:
    return (
        value >= wanted.get("from", float("-inf"))
        and value > wanted.get("above", float("-inf"))
        and value <= wanted.get("to", float("inf"))
        and value < wanted.get("below", float("inf"))
    )
