"""Whether a rule that somebody typed can be read: every fault in words, before it is stored."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefings.setups.rules import Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A number between two bounds, both included."""

    low: float
    high: float
    unit: str = ""
    is_whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One of these words; `is_many` takes a list of them."""

    allowed: tuple[str, ...]
    is_many: bool = False


YES_OR_NO = "true or false"
TEXT = "a sentence"
COLOURS = "a list of colours"

FACTS: dict[str, Number | Words | str] = {
    "level_m": Number(low=-1, high=20, unit="m"),
    "water_c": Number(low=-0.5, high=35, unit="degrees C"),
    "water_drop_c": Number(low=-36, high=36, unit="degrees C"),
    "air_c": Number(low=-40, high=45, unit="degrees C"),
    "air_minus_water_c": Number(low=-80, high=80, unit="degrees C"),
    "visibility_cm": Number(low=0, high=1000, unit="cm"),
    "wind_ms": Number(low=0, high=60, unit="m/s"),
    "rise_cm_h": Number(low=-500, high=500, unit="cm an hour"),
    "rain_mm": Number(low=0, high=1000, unit="mm"),
    "month": Number(low=1, high=12, is_whole=True),
    "rods": Number(low=1, high=50, is_whole=True),
    "passes": Number(low=0, high=2, is_whole=True),
    "part": Words(allowed=("morning", "afternoon", "evening", "night")),
    "regime": Words(allowed=("natural", "regulated", "tidal")),
    "fish": Words(allowed=("salmon", "sea_trout")),
    "casting": Words(allowed=("novice", "used", "strong")),
    "level_class": Words(allowed=("low", "summer", "good", "high", "big", "over_bank")),
    "phase": Words(
        allowed=(
            *("first_rise", "rising", "peak", "coloured_falling"),
            *("fining_down", "settled", "stale"),
        )
    ),
    "colour": Words(allowed=("clear", "tea-coloured", "coloured", "dirty")),
    "clarity": Words(allowed=("clear", "stained", "coloured", "dirty")),
    "sky": Words(allowed=("bright", "cloud", "dark")),
    "water_known": YES_OR_NO,  # whether there is a water_c at all: always known itself
    "peat_stained": YES_OR_NO,
    "night": YES_OR_NO,
    "dark": YES_OR_NO,
    "dark_comes": YES_OR_NO,
    # known only once line, tip and point fly are chosen; see CHOSEN
    "tube": YES_OR_NO,
    "tip": Words(allowed=("none", "slow", "medium", "fast")),
    "material": Words(allowed=("nylon", "fluorocarbon")),
}
CHOSEN = ("tube", "tip", "material")

ASKS: dict[str, Number | Words | str] = {
    "stop": YES_OR_NO,
    "worth_going": Words(allowed=("yes", "no")),
    "note": YES_OR_NO,
    "also": TEXT,
    "line": Words(allowed=("floating", "intermediate", "sinking"), is_many=True),
    "tip": Words(allowed=("none", "sinking leader", "slow", "medium", "fast")),
    "length_mm": Number(low=5, high=150, unit="mm"),
    "hook_sizes": Number(low=1, high=24, is_whole=True),
    "not_over_mm": Number(low=5, high=150, unit="mm"),
    "steps": Number(low=-4, high=4, is_whole=True),
    "deeper": Number(low=0, high=2, is_whole=True),
    "tube": YES_OR_NO,
    "heavy": YES_OR_NO,
    "surface_lure": YES_OR_NO,
    "dressing": Words(allowed=("full", "medium", "sparse")),
    "colours": COLOURS,
    "leader_m": Number(low=0.6, high=8, unit="m"),
    "dropper_from_line_m": Number(low=0.3, high=7.5, unit="m"),
    "tippet_mm": Number(low=0.08, high=0.8, unit="mm"),
    "material": Words(allowed=("nylon", "fluorocarbon")),
    "dropper": YES_OR_NO,
    "hold_s": Number(low=0, high=60, unit="s"),
    "how": TEXT,
    "point_knot": TEXT,
}
SPANS = ("length_mm", "hook_sizes")  # asked as {"from": low, "to": high}
# what may still be asked once the fly and the tip are known; anything else would go in a circle
LATE_ASKS = (
    *("dropper", "leader_m", "dropper_from_line_m", "tippet_mm"),
    *("how", "hold_s", "point_knot", "also", "note"),
)
BOUNDS = ("from", "above", "to", "below")
FORBIDDEN_WORD = re.compile(r"\b(un)?safe\w*", re.IGNORECASE)


def problems(rule: Rule) -> tuple[str, ...]:
    """Return every fault of a rule in words; none: it can be read and cannot hurt."""
    found = [*_when_faults(rule.when, "when"), *_asks_faults(rule.asks)]
    if not found:
        found += _together_faults(rule)
    asked = rule.asks.values() if isinstance(rule.asks, Mapping) else ()
    for text in (rule.name, rule.says, *asked):
        if isinstance(text, str) and (match := FORBIDDEN_WORD.search(text)):
            found.append(
                f'"{match.group()}" is not a word for advice: say what is there and who decides.'
            )
    return tuple(found)


def _when_faults(when: Any, where: str) -> list[str]:
    if not isinstance(when, Mapping):
        return [f"{where} is {when!r}; it must be a table of conditions."]
    found: list[str] = []
    for name, wanted in when.items():
        if name == "any":
            if not isinstance(wanted, list) or not wanted:
                found.append(f"{where}.any is {wanted!r}; it must be a list of tables.")
                continue
            for branch in wanted:
                found += _when_faults(branch, f"{where}.any")
        elif name not in FACTS:
            found.append(f"{where}.{name}: no such fact; known are {', '.join(sorted(FACTS))}.")
        else:
            found += _fact_faults(f"{where}.{name}", wanted, FACTS[name])
    return found


def _fact_faults(where: str, wanted: Any, kind: Number | Words | str) -> list[str]:
    if isinstance(kind, Words):
        many = wanted if isinstance(wanted, list) else [wanted]
        return _word_faults(where, many, kind)
    if isinstance(kind, Number):
        if isinstance(wanted, Mapping):
            return _range_faults(where, wanted, kind, BOUNDS)
        many = wanted if isinstance(wanted, list) else [wanted]
        return [fault for one in many for fault in _number_faults(where, one, kind)] or (
            [] if many else [f"{where} is an empty list; it would never hold."]
        )
    return [] if isinstance(wanted, bool) else [f"{where} is {wanted!r}; it must be {kind}."]


def _asks_faults(asks: Any) -> list[str]:
    if not isinstance(asks, Mapping):
        return [f"asks is {asks!r}; it must be a table."]
    if not asks:
        return ["asks is empty: the rule asks for nothing."]
    found: list[str] = []
    for name, value in asks.items():
        where = f"asks.{name}"
        kind = ASKS.get(name)
        if kind is None:
            more = " No rule can change a caution." if "caution" in name else ""
            found.append(f"{where}: nothing of that name can be asked for.{more}")
            found[-1] += f" Known are {', '.join(sorted(ASKS))}."
        elif isinstance(kind, Words):
            many = value if kind.is_many and isinstance(value, list) else [value]
            if kind.is_many and not isinstance(value, list):
                found.append(f"{where} is {value!r}; it must be a list, the one liked best first.")
            else:
                found += _word_faults(where, many, kind)
        elif isinstance(kind, Number):
            found += _asked_number_faults(name, where, value, kind)
        elif kind == YES_OR_NO:
            found += (
                [] if isinstance(value, bool) else [f"{where} is {value!r}; it must be {kind}."]
            )
        elif kind == COLOURS:
            found += _colour_faults(where, value)
        elif not isinstance(value, str) or not value.strip():
            found.append(f"{where} is {value!r}; it must be {kind}.")
    return found


def _asked_number_faults(name: str, where: str, value: Any, kind: Number) -> list[str]:
    if name not in SPANS:
        return _number_faults(where, value, kind)
    if not isinstance(value, Mapping) or set(value) != {"from", "to"}:
        return [f'{where} is {value!r}; write it as {{"from": 10, "to": 12}}.']
    return _range_faults(where, value, kind, ("from", "to"))


def _colour_faults(where: str, value: Any) -> list[str]:
    if isinstance(value, list) and value and all(isinstance(v, str) and v.strip() for v in value):
        return []
    return [f'{where} is {value!r}; it must be a list such as ["red", "black and yellow"].']


def _word_faults(where: str, many: list[Any], kind: Words) -> list[str]:
    if not many:
        return [f"{where} is an empty list; it would never hold."]
    allowed = ", ".join(kind.allowed)
    return [
        f"{where} is {one!r}; allowed are {allowed}." for one in many if one not in kind.allowed
    ]


def _number_faults(where: str, value: Any, kind: Number) -> list[str]:
    # bool is an int in Python, and NaN lies in no bounds
    if isinstance(value, bool) or not isinstance(value, int | float):
        return [f"{where} is {value!r}; it must be a number."]
    if not kind.low <= value <= kind.high:
        unit = f" {kind.unit}" if kind.unit else ""
        return [f"{where} is {value!r}; allowed is {kind.low:g} to {kind.high:g}{unit}."]
    if kind.is_whole and value != int(value):
        return [f"{where} is {value!r}; it must be a whole number."]
    return []


def _range_faults(
    where: str, wanted: Mapping[str, Any], kind: Number, bounds: tuple[str, ...]
) -> list[str]:
    unknown = [key for key in wanted if key not in bounds]
    if unknown or not wanted:
        return [f"{where} has {unknown or 'no bounds'}; allowed are {', '.join(bounds)}."]
    found = [f for k, v in wanted.items() for f in _number_faults(f"{where}.{k}", v, kind)]
    if found:
        return found
    lows = [wanted[key] for key in ("from", "above") if key in wanted]
    highs = [wanted[key] for key in ("to", "below") if key in wanted]
    is_open = "above" in wanted or "below" in wanted
    if lows and highs and (max(lows) > min(highs) or (is_open and max(lows) == min(highs))):
        return [f"{where} goes from {max(lows):g} to {min(highs):g}: nothing lies between."]
    return []


def _together_faults(rule: Rule) -> list[str]:
    found = []
    asks = rule.asks
    if "steps" in asks and asks["steps"] == 0:
        found.append("asks.steps is 0; a step is up (1) or down (-1).")
    leader_m, dropper_m = asks.get("leader_m"), asks.get("dropper_from_line_m")
    if dropper_m is not None and leader_m is None:
        found.append("asks.dropper_from_line_m needs asks.leader_m beside it.")
    elif dropper_m is not None and dropper_m >= leader_m:
        found.append(
            f"asks.dropper_from_line_m is {dropper_m:g}; it must be less than the leader,"
            f" {leader_m:g} m."
        )
    uses = {*rule.when, *(name for branch in rule.when.get("any", ()) for name in branch)}
    if uses.intersection(CHOSEN):
        early = [name for name in asks if name not in LATE_ASKS]
        if early:
            found.append(
                f"A rule on {', '.join(sorted(uses.intersection(CHOSEN)))} cannot ask for"
                f" {', '.join(early)}: these are chosen before it is known."
            )
    return found
