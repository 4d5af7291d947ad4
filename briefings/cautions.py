"""What can hurt people or fish in these conditions. Nothing here can be switched off."""

from __future__ import annotations

from dataclasses import dataclass

from guiding.gauges.conditions import Conditions
from guiding.sources import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What a caution needs to know of the beats and the party."""

    regime: str
    power_lines: tuple[str, ...]
    hazards: tuple[str, ...]
    bottoms: tuple[str, ...]
    people_on_the_bank: int  # with the guide


def always() -> tuple[Reason, ...]:
    """Return the cautions that stand whatever the river does."""
    raise NotImplementedError


def for_day(conditions: Conditions | None, ground: Ground) -> tuple[Reason, ...]:
    """Return every caution for the day, the most urgent first, `always()` included.

    `conditions` None: the day is too far off to know, so each caution that depends on them stands.
    """
    raise NotImplementedError


def danger_line(conditions: Conditions | None, ground: Ground, wading_words: str) -> str:
    """Return the one line for the black bar of the day sheet."""
    raise NotImplementedError
