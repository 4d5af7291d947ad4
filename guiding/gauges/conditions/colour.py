"""How far one sees into the water: seen, or inferred from turbidity or the spate; its colour."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from guiding.gauges.conditions.measured import HOUR, Measured
from guiding.gauges.conditions.phases import Spate
from guiding.gauges.conditions.stage import age_hours
from guiding.gauges.conditions.values import Condition, Kind, Phase
from guiding.gauges.hydrology.clearing import Clearing

# Every number here is common practice, no source.
DIRTY_BELOW_CM, COLOURED_BELOW_CM = 30, 75
DIRTY_CLIMB_M = 0.3  # a spate of this size brings the fields with it
DIRTY_RISE_CM_H = 5.0
CLEARING_HOURS = 48  # after the crest, before fining down counts as clear
SPEAKS_FOR = timedelta(hours=12)  # a visibility is read by eye, once or twice a day
CARRIED_FOR = timedelta(hours=36)  # from this evening's look to tomorrow night
CARRIED_FACTOR = 2.0  # a visibility carried to the next hours: from half to twice of it

NOT_SEEN = "not seen"  # in the source of every visibility that nobody looked at
# Visibility [cm] = 400 / (turbidity [NTU] + 0.4), from memory of black disk readings in rivers: it
# halves when the turbidity doubles. Between rivers it is a poor guide, hence the wide band: Smith,
# Davies-Colley, Knoef & Slot 1997, Optical characteristics of New Zealand rivers in relation to
# flow, J. Am. Water Resour. Assoc. 33:301 (its abstract; volume and page from memory).
TURBID_CM_NTU, TURBID_OFFSET_NTU, TURBID_FACTOR = 400.0, 0.4, 2.5

CLIMBING = (Phase.FIRST_RISE, Phase.RISING)
STEADY = (Phase.FINING_DOWN, Phase.SETTLED, Phase.STALE)


def read_visibility(
    visibility: Measured, phase: Condition, starts_at: datetime, asked_at: datetime
) -> Condition:
    """Return the visibility [cm]: a fresh reading, observed, once the hours have begun.

    Else, from a reading of the last half day, inferred for hours that begin within a day and a
    half of it: from half to twice the value, and only on a river that settles or fines down. On
    any other it says nothing of the hours to come.
    """
    newest = visibility.newest
    if newest is None:
        return _unseen("not measured")
    seen_at, value = newest
    seen = Condition(
        what="visibility",
        value=value,
        unit="cm",
        kind=Kind.OBSERVED,
        at=seen_at,
        age_hours=age_hours(asked_at, seen_at),
        source=visibility.source,
    )
    if asked_at >= starts_at and visibility.is_fresh(asked_at):
        return seen
    if asked_at - seen_at > SPEAKS_FOR:
        return _unseen("the newest reading is stale")
    if starts_at - seen_at > CARRIED_FOR or phase.value not in STEADY:
        return _unseen("not measured for these hours")
    return replace(
        seen,
        low=value / CARRIED_FACTOR,
        high=value * CARRIED_FACTOR,
        kind=Kind.INFERRED,
        source=f"{visibility.source}, carried forward".lstrip(", "),
    )


def was_seen(visibility: Condition) -> bool:
    """Say whether somebody looked: read, given, or carried forward from a look."""
    return visibility.number is not None and NOT_SEEN not in visibility.source


def read_turbid_visibility(
    turbidity: Measured, phase: Condition, starts_at: datetime, asked_at: datetime
) -> Condition:
    """Return the visibility [cm] inferred from a fresh turbidity [NTU or FNU], with a wide band.

    For hours that have begun, or that begin within a day and a half on a river that settles or
    fines down, as a look is carried.
    """
    newest = turbidity.newest
    if newest is None or not turbidity.is_fresh(asked_at):
        return _unseen("not measured")
    seen_at, ntu = newest
    is_carried = asked_at < starts_at
    if is_carried and (starts_at - seen_at > CARRIED_FOR or phase.value not in STEADY):
        return _unseen("not measured for these hours")
    value = TURBID_CM_NTU / (max(ntu, 0.0) + TURBID_OFFSET_NTU)
    factor = TURBID_FACTOR * (CARRIED_FACTOR if is_carried else 1.0)
    return Condition(
        what="visibility",
        value=round(value),
        low=round(value / factor),
        high=round(value * factor),
        unit="cm",
        kind=Kind.INFERRED,
        at=seen_at,
        age_hours=age_hours(asked_at, seen_at),
        source=f"from a turbidity of {ntu:g} NTU, {NOT_SEEN}",
    )


def read_unseen_visibility(
    phase: Condition, spate: Spate, clearing: Clearing, at: datetime
) -> tuple[Condition, tuple[str, ...]]:
    """Return the visibility [cm] inferred from the spate at a moment, and what must be said of it.

    Not known where the phase is not, where somebody gave another than the record shows, or where
    the size of the last climb is not on file.
    """
    if phase.value is None or str(phase.value) != str(spate.phase):
        return _unseen("not measured"), ()
    is_climbing = spate.phase in CLIMBING
    if spate.phase in (Phase.SETTLED, Phase.STALE):
        climbed_m, hours = 0.0, 0.0
    elif spate.climbed_m is None or (spate.crest_at is None and not is_climbing):
        return _unseen("not measured, and the size of the last rise is not on file"), ()
    else:
        climbed_m = spate.climbed_m
        hours = 0.0 if spate.crest_at is None else max(0.0, (at - spate.crest_at) / HOUR)
    seen = clearing.seen(climbed_m=climbed_m, hours=hours, is_climbing=is_climbing)
    return Condition(
        what="visibility",
        value=round(seen.middle_cm),
        low=round(seen.low_cm),
        high=round(seen.high_cm),
        unit="cm",
        kind=Kind.INFERRED,
        at=phase.at,
        age_hours=phase.age_hours,
        source=f"from the rise and the time since, {NOT_SEEN}, {seen.learned_from}",
    ), seen.says


def read_colour(
    visibility: Condition,
    phase: Condition,
    spate: Spate,
    rise: Condition,
    *,
    at: datetime,
    is_peaty: bool,
) -> Condition:
    """Return the colour in words: clear (tea-coloured where it is peaty), coloured or dirty.

    Parameters
    ----------
    visibility : used where it was seen: dirty below 30 cm, coloured below 75 cm. Where it is
        inferred, the dirtier of what it says and what the phase says.
    phase : as it is to be taken, given or read
    spate : what the phase was read from: crest and climb
    at : the middle of the fishing hours

    Notes
    -----
    Common practice, no source. Rising, or at its peak: coloured; dirty where it climbed 0.3 m or
    rises 5 cm an hour. Falling and coloured: coloured. Fining down: coloured until 48 h after the
    crest, or while the crest is not on file. Settled or stale: clear.
    """
    clear = "tea-coloured" if is_peaty else "clear"
    if visibility.number is not None and was_seen(visibility):
        return _inferred(_word_of(visibility.number, clear), visibility, "from the visibility")
    if phase.value is None:
        if visibility.number is None:
            return Condition(what="colour", source="neither visibility nor phase is known")
        return _inferred(_word_of(visibility.number, clear), visibility, visibility.source)
    word = _word_of_phase(Phase(str(phase.value)), spate, rise, at, clear)
    if visibility.number is not None:
        word = max(word, _word_of(visibility.number, clear), key=(clear, "coloured", "dirty").index)
    return _inferred(word, phase, f"from the rise and the time since, {NOT_SEEN}")


def _word_of(seen_cm: float, clear: str) -> str:
    if seen_cm < DIRTY_BELOW_CM:
        return "dirty"
    return "coloured" if seen_cm < COLOURED_BELOW_CM else clear


def _word_of_phase(phase: Phase, spate: Spate, rise: Condition, at: datetime, clear: str) -> str:
    if phase in (Phase.SETTLED, Phase.STALE):
        return clear
    if phase is Phase.FINING_DOWN:
        has_cleared = spate.crest_at is not None and at - spate.crest_at >= timedelta(
            hours=CLEARING_HOURS
        )
        return clear if has_cleared and spate.phase is phase else "coloured"
    if phase is Phase.COLOURED_FALLING:
        return "coloured"
    is_big = spate.climbed_m is not None and spate.climbed_m >= DIRTY_CLIMB_M
    is_fast = rise.number is not None and rise.number >= DIRTY_RISE_CM_H
    return "dirty" if is_big or is_fast else "coloured"


def _inferred(word: str, origin: Condition, source: str) -> Condition:
    return Condition(
        what="colour",
        value=word,
        kind=Kind.INFERRED,
        at=origin.at,
        age_hours=origin.age_hours,
        source=source,
    )


def _unseen(why: str) -> Condition:
    return Condition(what="visibility", unit="cm", source=why)
