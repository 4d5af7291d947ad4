"""Line, tip, leader and flies for the conditions, from what the guide owns, with reasons."""

from __future__ import annotations

from dataclasses import dataclass

from briefings.setups.facts import facts_from
from briefings.setups.precedence import Overruled as Overruled
from briefings.setups.precedence import asked_words
from briefings.setups.rules import SUBJECTS, Held, Rule
from briefings.setups.setupchoice import Choice, set_up_for
from briefings.setups.switches import switches
from briefings.setups.worth import WHO_DECIDES, worth_of
from guiding.gauges.conditions.values import Conditions
from guiding.sources import Reason
from guiding.tackle.setup import Fly, SetUp, TackleBox

FISH = ("salmon", "sea_trout")
CASTING = ("novice", "used", "strong")
MOST_ALTERNATIVES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """The next best set-up, and what would switch to it."""

    setup: SetUp
    switch_when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RigAdvice:
    """The answer. `worth_going`: yes, no, not_known; `setup` None: nothing fits, or a stop.

    `points_by_fit` and `droppers_by_fit` are every fly owned, the best for these conditions first;
    empty at a stop.
    """

    worth_going: str
    why: tuple[str, ...]
    setup: SetUp | None
    alternatives: tuple[Alternative, ...]
    overruled: tuple[Overruled, ...]
    reasons: tuple[Reason, ...]
    points_by_fit: tuple[Fly, ...] = ()
    droppers_by_fit: tuple[Fly, ...] = ()


def choose(
    conditions: Conditions,
    box: TackleBox,
    rules: tuple[Rule, ...],
    *,
    fish: str,
    method: str = "fly",
    casting: str | None = None,
    rods: int = 1,
) -> RigAdvice:
    """Choose the set-up. `fish`: salmon or sea_trout; `casting`: novice, used, strong or None.

    Raises ValueError for a fish, a way of casting or a number of rods that cannot be.
    """
    if fish not in FISH:
        raise ValueError(f"fish is {fish!r}; allowed are {', '.join(FISH)}.")
    if casting is not None and casting not in CASTING:
        raise ValueError(f"casting is {casting!r}; allowed are {', '.join(CASTING)}, or not known.")
    if rods < 1:
        raise ValueError(f"rods is {rods}; at least 1.")
    facts = facts_from(conditions, fish=fish, casting=casting, rods=rods)
    choice = set_up_for(facts, box, rules)
    worth = worth_of(conditions, choice.held)
    if worth.stop is not None:
        return RigAdvice(
            worth_going=worth.answer,
            why=worth.why,
            setup=None,
            alternatives=(),
            overruled=_stopped(worth.stop, choice.held),
            reasons=worth.reasons,
        )
    if method != "fly":
        says = f"No set-up for {method}: only the fly is advised here."
        return RigAdvice(
            worth_going=worth.answer,
            why=(says, *worth.why),
            setup=None,
            alternatives=(),
            overruled=(),
            reasons=worth.reasons,
        )
    lacking = () if choice.setup is not None else choice.lacks
    return RigAdvice(
        worth_going=worth.answer,
        why=(*worth.why[:-1], *lacking, WHO_DECIDES),
        setup=choice.setup,
        alternatives=_alternatives(
            conditions, box, rules, choice, fish=fish, casting=casting, rods=rods
        ),
        overruled=choice.wanted.overruled,
        reasons=tuple(dict.fromkeys((*worth.reasons, *choice.reasons))),
        points_by_fit=choice.points_by_fit,
        droppers_by_fit=choice.droppers_by_fit,
    )


def _stopped(stop: Held, held: tuple[Held, ...]) -> tuple[Overruled, ...]:
    """Return every rule that would have asked for tackle had there been no stop."""
    keys = [key for subject in SUBJECTS.values() for key in subject]
    found = []
    for one in held:
        asked = {key: one.rule.asks[key] for key in keys if key in one.rule.asks}
        if asked_words(asked) and one is not stop:
            found.append(
                Overruled(
                    rule=one.rule.name,
                    by=stop.rule.name,
                    asked=asked_words(asked),
                    reason=Reason(text=one.rule.says, because=one.because, source=one.rule.source),
                )
            )
    return tuple(found)


def _alternatives(
    conditions: Conditions,
    box: TackleBox,
    rules: tuple[Rule, ...],
    choice: Choice,
    *,
    fish: str,
    casting: str | None,
    rods: int,
) -> tuple[Alternative, ...]:
    """Ask the same chooser under changed conditions, and keep what differs."""
    if choice.setup is None:
        return ()
    found: list[Alternative] = []
    seen = [_heart(choice.setup)]
    for switch in switches(conditions, fish=fish):
        facts = facts_from(
            switch.conditions, fish=fish, casting=casting, rods=rods, passes=switch.passes
        )
        setup = set_up_for(facts, box, rules).setup
        if setup is None or _heart(setup) in seen:
            continue
        seen.append(_heart(setup))
        found.append(Alternative(setup=setup, switch_when=switch.when))
        if len(found) == MOST_ALTERNATIVES:
            break
    return tuple(found)


def _heart(setup: SetUp) -> tuple[object, ...]:
    """Return what makes two set-ups different to a fish."""
    return (setup.line, setup.tip, setup.point, setup.dropper is None, setup.hold_s)
