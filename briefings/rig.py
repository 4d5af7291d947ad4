"""Line, tip, leader and flies for the conditions, from what the guide owns, with reasons."""

from __future__ import annotations

from dataclasses import dataclass

from briefings.rules import Rule
from guiding.gauges.conditions import Conditions
from guiding.sources import Reason
from guiding.tackle.setup import SetUp, TackleBox


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """The next best set-up, and what would switch to it."""

    setup: SetUp
    switch_when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Overruled:
    """A rule that held but lost, to which rule, and what it would have asked for."""

    rule: str
    by: str
    asked: str
    reason: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class RigAdvice:
    """The answer. `worth_going`: yes, no, not_known; `setup` None: nothing fits, or a stop."""

    worth_going: str
    why: tuple[str, ...]
    setup: SetUp | None
    alternatives: tuple[Alternative, ...]
    overruled: tuple[Overruled, ...]
    reasons: tuple[Reason, ...]


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
    """Choose the set-up. `fish`: salmon or sea_trout; `casting`: novice, used, strong or None."""
    raise NotImplementedError
