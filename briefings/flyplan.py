"""The few flies laid out for the day, and a different one for each rod."""

from __future__ import annotations

from dataclasses import dataclass

from briefings.rig import RigAdvice
from guiding.gauges.conditions import Conditions
from guiding.tackle.setup import Fly, TackleBox


@dataclass(frozen=True, slots=True, kw_only=True)
class DayBox:
    """Four or five point flies and two or three droppers where the box has them."""

    points: tuple[Fly, ...]
    droppers: tuple[Fly, ...]
    starts: tuple[tuple[Fly, Fly | None], ...]  # point and dropper each rod starts with
    says: tuple[str, ...]  # what the box lacks


def lay_out(conditions: Conditions, box: TackleBox, advice: RigAdvice, *, rods: int) -> DayBox:
    """Lay out the day's flies: the chosen ones first, then the ones a change would ask for."""
    raise NotImplementedError
