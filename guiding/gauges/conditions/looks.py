"""Looks into the water, each beside its spate: what a clearing time is learned from."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from guiding.gauges.conditions.measured import HOUR, Sample
from guiding.gauges.conditions.phases import Spate, read_phase
from guiding.gauges.conditions.values import Phase
from guiding.gauges.hydrology.clearing import Note

BEHIND = timedelta(days=21)  # how far back a spate is looked for, as in the conditions


def note_of(seen_cm: float, at: datetime, levels: Sequence[Sample], step: timedelta) -> Note | None:
    """Return a look [cm] at a moment as a note; None where the levels do not tell its spate.

    `levels` are moments and levels [m] of the three weeks up to it; what comes after the look is
    not looked at.
    """
    run = [sample for sample in levels if at - BEHIND <= sample[0] <= at]
    spate = read_phase(run, at, step, None)
    climb = _climb(spate, at)
    if climb is None:
        return None
    climbed_m, hours = climb
    began = spate.began_at.timestamp() if spate.began_at and climbed_m > 0 else 0.0
    return Note(visibility_cm=seen_cm, climbed_m=climbed_m, hours=hours, spate=int(began))


def _climb(spate: Spate, at: datetime) -> tuple[float, float] | None:
    """Return how far the river climbed [m] and how many hours ago its crest was."""
    if spate.phase in (Phase.SETTLED, Phase.STALE):
        return 0.0, 0.0
    if spate.climbed_m is None or spate.phase is Phase.NOT_KNOWN:
        return None
    if spate.crest_at is None:
        return spate.climbed_m, 0.0
    return spate.climbed_m, max(0.0, (at - spate.crest_at) / HOUR)
