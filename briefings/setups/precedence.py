"""Rules that hold -> what is asked for, by whom, and which rule was overruled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefings.setups.rules import SUBJECTS, Held, Rule
from guiding.sources import COMMON_PRACTICE, Reason

NO_RULE_RANK = 99
UNSAID = {"how", "point_knot"}  # sentences of their own, too long for a list of what was asked

# what a box is asked for where no rule speaks: a middle set-up, said to be one
MIDDLE = Held(
    rule=Rule(
        name="No rule holds",
        rank=NO_RULE_RANK,
        asks={
            "line": ["floating", "intermediate"],
            "tip": "none",
            "hook_sizes": {"from": 8, "to": 10},
            "dressing": "medium",
            "leader_m": 3.66,
            "tippet_mm": 0.26,
            "dropper": False,
            "how": "Cast across and down and let the fly swing.",
        },
        says="No rule says otherwise: a middle set-up to start with; read the water first.",
        source=COMMON_PRACTICE,
    ),
    because="too little is known",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Overruled:
    """A rule that held but lost, to which rule, and what it would have asked for."""

    rule: str
    by: str
    asked: str
    reason: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the rules ask of the box. Each subject was decided by one rule; steps add up."""

    asks: Mapping[str, Any]
    by: Mapping[str, Held]  # subject -> the rule that decided it
    steps: int
    deeper: int
    not_over_mm: int | None
    also: tuple[str, ...]
    adding: tuple[Held, ...]  # rules that changed a size or a depth, or have something to say
    overruled: tuple[Overruled, ...]


def settle(held: tuple[Held, ...]) -> Wanted:
    """Let the first rule that asks for a subject decide it, and list who lost."""
    by: dict[str, Held] = {}
    asks: dict[str, Any] = {}
    for one in (*held, MIDDLE):
        for subject, keys in SUBJECTS.items():
            asked = {key: one.rule.asks[key] for key in keys if key in one.rule.asks}
            if asked and subject not in by:
                by[subject] = one
                asks |= asked
    sized = _counting(held, "steps", by["fly"])
    deepened = _counting(held, "deeper", by["depth"])
    caps = [one.rule.asks["not_over_mm"] for one in held if "not_over_mm" in one.rule.asks]
    lost = (_lost(one, by, asks) for one in held)
    notes = [one for one in held if one.rule.asks.get("note") or "also" in one.rule.asks]
    return Wanted(
        asks=asks,
        by=by,
        steps=sum(one.rule.asks["steps"] for one in sized),
        deeper=sum(one.rule.asks["deeper"] for one in deepened),
        not_over_mm=min(caps, default=None),
        also=tuple(dict.fromkeys(o.rule.asks["also"] for o in held if "also" in o.rule.asks)),
        adding=_in_order(held, (*sized, *deepened, *notes)),
        overruled=tuple(one for one in lost if one is not None),
    )


def _in_order(held: tuple[Held, ...], some: tuple[Held, ...]) -> tuple[Held, ...]:
    return tuple(one for one in held if any(one is other for other in some))


def _counting(held: tuple[Held, ...], key: str, decider: Held) -> tuple[Held, ...]:
    """Return the rules whose step counts: those that rank no lower than the rule they change."""
    return tuple(
        one for one in held if one.rule.asks.get(key) and one.rule.rank <= decider.rule.rank
    )


def _lost(one: Held, by: Mapping[str, Held], asks: Mapping[str, Any]) -> Overruled | None:
    """Return what a rule asked for in vain, or None where it got its way."""
    asked: dict[str, Any] = {}
    winners: list[str] = []
    for subject, keys in SUBJECTS.items():
        mine = {key: one.rule.asks[key] for key in keys if key in one.rule.asks}
        if mine and by[subject] is not one and any(asks.get(k) != v for k, v in mine.items()):
            asked |= mine
            winners.append(by[subject].rule.name)
    for key, subject in (("steps", "fly"), ("deeper", "depth")):
        if one.rule.asks.get(key) and one.rule.rank > by[subject].rule.rank:
            asked[key] = one.rule.asks[key]
            winners.append(by[subject].rule.name)
    if not set(asked) - UNSAID:
        return None
    return Overruled(
        rule=one.rule.name,
        by="; ".join(dict.fromkeys(winners)),
        asked=asked_words(asked),
        reason=Reason(text=one.rule.says, because=one.because, source=one.rule.source),
    )


def asked_words(asked: Mapping[str, Any]) -> str:
    """Return what a rule asks for, in words: "a fast tip, 40 to 75 mm, a tube"."""
    return ", ".join(_words(key, value) for key, value in asked.items() if key not in UNSAID)


def _words(key: str, value: Any) -> str:
    match key:
        case "line":
            return f"{' or '.join(value)} line"
        case "tip":
            return {"none": "no tip", "sinking leader": "a sinking leader"}.get(
                value, f"a {value} tip"
            )
        case "length_mm":
            return f"a fly of {_range(value)} mm"
        case "hook_sizes":
            return f"sizes {_range(value)}"
        case "not_over_mm":
            return f"no fly over {value} mm"
        case "tube":
            return "a tube" if value else "no tube"
        case "heavy":
            return "a heavy fly" if value else "a light fly"
        case "surface_lure":
            return "a surface lure" if value else "no surface lure"
        case "dressing":
            return f"a {value} dressing"
        case "colours":
            return f"colours: {', else '.join(value)}"
        case "leader_m":
            return f"a leader of {value:g} m"
        case "dropper_from_line_m":
            return f"the dropper {value:g} m from the line"
        case "tippet_mm":
            return f"a tippet of {value:.2f} mm"
        case "material":
            return f"a {value} tippet"
        case "dropper":
            return "a dropper" if value else "no dropper"
        case "hold_s":
            return f"a hold of {value:g} s"
        case "steps" | "deeper":
            return _step_words(key, value)
        case _:
            return str(value)


def _step_words(key: str, value: int) -> str:
    if key == "deeper":
        return "a faster tip"
    size = "larger" if value > 0 else "smaller"
    return f"{abs(value)} step{'' if abs(value) == 1 else 's'} {size}"


def _range(value: Mapping[str, float]) -> str:
    low, high = value["from"], value["to"]
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"
