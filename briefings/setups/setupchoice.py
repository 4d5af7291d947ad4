"""One set-up from the box for one set of facts, with the reason for each part of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefings.setups.boxchoice import (
    FlyWanted,
    colour_gap,
    depth_fits,
    depth_wanted,
    dressing_gap,
    flies_by_fit,
    fly_wanted,
    length_of_steps,
    line_and_tip,
    size_gap,
    tip_class,
)
from briefings.setups.facts import Fact
from briefings.setups.leader import Leader, LeaderWanted, knots_for, make_up
from briefings.setups.precedence import Wanted, asked_words, settle
from briefings.setups.rules import SUBJECTS, Held, Rule, holding
from guiding.sources import COMMON_PRACTICE, Reason
from guiding.tackle.setup import Fly, Line, SetUp, TackleBox, Tip
from guiding.units import length_words, thickness_words

PLAIN_KNOT = "tucked half blood knot"
DROPPER_SHARE = 2 / 3  # of the leader, where a dropper is asked for without a place
SPOOL_NEAR_MM = 0.021  # a spool this near to the tippet asked for is that tippet


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What came out: the set-up or None, what the box lacks, and everything that led to it."""

    setup: SetUp | None
    held: tuple[Held, ...]
    wanted: Wanted
    reasons: tuple[Reason, ...]
    lacks: tuple[str, ...]
    points_by_fit: tuple[Fly, ...]
    droppers_by_fit: tuple[Fly, ...]


def set_up_for(facts: Mapping[str, Fact], box: TackleBox, rules: tuple[Rule, ...]) -> Choice:
    """Choose line, tip and point fly, then ask the rules again, now knowing them, for the rest."""
    first = settle(holding(rules, facts))
    want = fly_wanted(first)
    points = flies_by_fit(tuple(fly for fly in box.flies if fly.role == "point"), want)
    droppers = flies_by_fit(
        tuple(fly for fly in box.flies if fly.role == "dropper"), _smaller(want)
    )
    pair = line_and_tip(box, depth_wanted(first))
    lacks: list[str] = []
    # with no point fly owned, a fly tied as a dropper is still a fly
    candidates = points or droppers
    if not candidates:
        lacks.append("The box has no fly: nothing can be laid out until one is added.")
    elif not points:
        lacks.append(f"The box has no point fly; the nearest is {fly_words(candidates[0])}.")
    if pair is None:
        lacks.append("The box has no line: add one to get a set-up.")
    if not candidates or pair is None:
        held = holding(rules, facts)
        return Choice(
            setup=None,
            held=held,
            wanted=first,
            reasons=_reasons(first, ()),
            lacks=tuple(lacks),
            points_by_fit=points,
            droppers_by_fit=droppers,
        )
    return _finished(dict(facts), box, rules, points, droppers, candidates[0], pair, lacks)


def _finished(
    facts: dict[str, Fact],
    box: TackleBox,
    rules: tuple[Rule, ...],
    points: tuple[Fly, ...],
    droppers: tuple[Fly, ...],
    point: Fly,
    pair: tuple[Line, Tip | None],
    lacks: list[str],
) -> Choice:
    line, tip = pair
    facts["tube"] = Fact(value=point.is_tube, words="a tube" if point.is_tube else "no tube")
    tip_word = "none" if tip is None else tip_class(tip)
    facts["tip"] = Fact(value=tip_word, words=f"a {tip_word} tip" if tip else "no tip")
    leader = make_up(_leader_wanted(settle(holding(rules, facts)), None), tip, box.materials)
    if leader.tippet is not None:
        material = leader.tippet.material
        facts["material"] = Fact(value=material, words=f"a {material} tippet")
    held = holding(rules, facts)
    wanted = settle(held)
    dropper = None
    if wanted.asks["dropper"]:
        others = tuple(fly for fly in droppers if fly.pattern != point.pattern and fly != point)
        dropper = others[0] if others else None
        if dropper is None:
            lacks.append("The box has no dropper to go with the point fly: one fly it is.")
    leader = make_up(_leader_wanted(wanted, dropper), tip, box.materials)
    lacks += _what_lacks(wanted, point, line, tip, leader)
    setup = SetUp(
        line=line,
        tip=tip,
        leader=leader.sections,
        point=point,
        dropper=dropper,
        dropper_from_line_m=leader.dropper_from_line_m,
        hold_s=None if wanted.asks.get("hold_s") is None else float(wanted.asks["hold_s"]),
        how=" ".join((wanted.asks["how"], *wanted.also)),
        knots=knots_for(leader, wanted.asks.get("point_knot", PLAIN_KNOT)),
    )
    return Choice(
        setup=setup,
        held=held,
        wanted=wanted,
        reasons=_reasons(wanted, tuple(lacks)),
        lacks=tuple(lacks),
        points_by_fit=points,
        droppers_by_fit=droppers,
    )


def _smaller(want: FlyWanted) -> FlyWanted:
    """A dropper is no larger than the point fly, on a hook, whatever the point is."""
    return FlyWanted(
        low=min(want.low, 2.0) - 1,
        high=min(want.high, 2.0),
        by_hook=want.by_hook,
        is_tube=False,
        is_heavy=False,
        is_surface_lure=False,
        dressing=want.dressing,
        colours=want.colours,
    )


def _leader_wanted(wanted: Wanted, dropper: Fly | None) -> LeaderWanted:
    leader_m = float(wanted.asks["leader_m"])
    place = wanted.asks.get("dropper_from_line_m", round(leader_m * DROPPER_SHARE, 3))
    return LeaderWanted(
        leader_m=leader_m,
        tippet_mm=float(wanted.asks["tippet_mm"]),
        material=wanted.asks.get("material", "nylon"),
        dropper_from_line_m=None if dropper is None else float(place),
    )


# --- words ----------------------------------------------------------------------------------------


def fly_words(fly: Fly) -> str:
    """Return a fly in a few words: "Black Shrimp, size 10, 19 mm, sparse"."""
    made = f"size {fly.hook_size}" if fly.hook_size is not None else "no hook size"
    made = "tube" if fly.is_tube else made
    return f"{fly.pattern}, {made}, {fly.length_mm} mm, {fly.dressing}"


def _what_lacks(
    wanted: Wanted, point: Fly, line: Line, tip: Tip | None, leader: Leader
) -> list[str]:
    """Return what was asked for and is not owned, with the nearest that is."""
    lacks = []
    depth = depth_wanted(wanted)
    if not depth_fits(line, tip, depth):
        asked = asked_words({"line": depth.kinds, "tip": depth.tip})
        has = line.name if tip is None else f"{line.name} with {tip.name}"
        lacks.append(f"Asked for: {asked}. The box has none such; the nearest is {has}.")
    misses = _fly_misses(point, fly_wanted(wanted))
    if misses:
        lacks.append(
            f"The box has no fly that is all that was asked for ({'; '.join(misses)});"
            f" the nearest is {fly_words(point)}."
        )
    aim = float(wanted.asks["tippet_mm"])
    if leader.tippet is None:
        lacks.append("The box has no leader material on file: diameters are not known.")
    elif abs(leader.tippet.diameter_mm - aim) > SPOOL_NEAR_MM or leader.tippet.material != (
        wanted.asks.get("material", leader.tippet.material)
    ):
        asked = wanted.asks.get("material", "leader material")
        lacks.append(
            f"The box has no spool of {asked} near {aim:.2f} mm; the nearest is"
            f" {leader.tippet.diameter_mm:.2f} mm {leader.tippet.material}."
        )
    return lacks


def _fly_misses(fly: Fly, want: FlyWanted) -> list[str]:
    misses = []
    if size_gap(fly, want):
        low, high = length_of_steps(want.low), length_of_steps(want.high)
        misses.append(f"about {low:.0f} to {high:.0f} mm long")
    if want.is_tube is not None and fly.is_tube is not want.is_tube:
        misses.append("a tube" if want.is_tube else "not a tube")
    if want.is_heavy and not fly.weight_g:
        misses.append("weighted")
    if fly.is_surface_lure is not want.is_surface_lure:
        misses.append("a surface lure" if want.is_surface_lure else "not a surface lure")
    if dressing_gap(fly, want):
        misses.append(f"{want.dressing} dressing")
    if colour_gap(fly, want) >= 1:
        misses.append(f"colours {' or '.join(want.colours)}")
    return misses


SUBJECT_WORDS = {
    "depth": "Line and tip",
    "fly": "Fly",
    "dressing": "Dressing",
    "colours": "Colours",
    "leader": "Leader",
    "tippet": "Tippet",
    "dropper": "Dropper",
    "movement": "Movement",
    "knot": "Knot",
}


def _reasons(wanted: Wanted, lacks: tuple[str, ...]) -> tuple[Reason, ...]:
    """Return one reason a rule, headed by the parts it decided; then notes and what is lacking."""
    deciders: dict[str, tuple[Held, list[str]]] = {}
    for subject in SUBJECT_WORDS:
        if subject in wanted.by:
            held = wanted.by[subject]
            _, decided = deciders.setdefault(held.rule.name, (held, []))
            decided.append(subject)
    reasons = [
        Reason(
            text=_decided_words(held, decided, adds=held in wanted.adding),
            because=held.because,
            source=held.rule.source,
        )
        for held, decided in deciders.values()
    ]
    reasons += [
        Reason(
            text=_decided_words(held, [], adds=True),
            because=held.because,
            source=held.rule.source,
        )
        for held in wanted.adding
        if held.rule.name not in deciders
    ]
    reasons += [
        Reason(text=text, because="what the box holds", source=COMMON_PRACTICE) for text in lacks
    ]
    return tuple(reasons)


def _decided_words(held: Held, decided: list[str], *, adds: bool) -> str:
    """Return what a rule decided, and no more: its own sentence only where all of it came about."""
    asks = held.rule.asks
    heads = [SUBJECT_WORDS[subject] for subject in decided]
    parts = ", ".join((*heads[:1], *(word.lower() for word in heads[1:])))
    claimed = {name for name, keys in SUBJECTS.items() if any(key in asks for key in keys)}
    has_note = adds and (asks.get("note") or "also" in asks)
    if claimed == set(decided) or has_note:
        return f"{parts}. {held.rule.says}" if parts else held.rule.says
    keys = [key for name in decided for key in SUBJECTS[name]]
    keys += ["steps", "deeper"] if adds else []
    said = ", ".join(dict.fromkeys(_asked_of(key, asks[key]) for key in keys if key in asks))
    return f"{parts}: {said}." if parts else f"{_opened(said)}."


def _opened(text: str) -> str:
    """Return a text that opens with a capital."""
    return text[:1].upper() + text[1:]


def _asked_of(key: str, value: Any) -> str:
    """Return one thing that was asked for; lengths of the leader in both units."""
    match key:
        case "leader_m":
            return f"{length_words(value, 'metric')} of leader"
        case "dropper_from_line_m":
            return f"the dropper {length_words(value, 'metric')} from the line"
        case "tippet_mm":
            return f"a tippet of {thickness_words(value, 'metric')}"
        case "how" | "point_knot":
            return "as said in the set-up"
    return asked_words({key: value})
