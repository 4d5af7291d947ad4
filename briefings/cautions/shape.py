"""One caution with its urgency, and what a caution needs to know of the ground."""

from __future__ import annotations

from dataclasses import dataclass

from guiding.gauges.conditions.values import Condition
from guiding.sources import Reason, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What a caution needs to know of the beats and the party."""

    regime: str
    power_lines: tuple[str, ...]
    hazards: tuple[str, ...]
    bottoms: tuple[str, ...]
    people_on_the_bank: int  # with the guide


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A caution to be sorted: the lower rank is the more urgent. `short` is for the black bar."""

    rank: int
    short: str
    reason: Reason

    @classmethod
    def of(cls, rank: int, short: str, text: str, because: str, source: Source) -> Caution:
        """Return a caution with its reason."""
        return cls(rank=rank, short=short, reason=Reason(text=text, because=because, source=source))


def lowest(condition: Condition | None) -> float | None:
    """Return the low end of what a value may be, or None where it is not known."""
    if condition is None:
        return None
    return condition.number if condition.low is None else condition.low


def highest(condition: Condition | None) -> float | None:
    """Return the high end of what a value may be, or None where it is not known."""
    if condition is None:
        return None
    return condition.number if condition.high is None else condition.high
