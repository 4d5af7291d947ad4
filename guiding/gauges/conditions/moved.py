"""Level and words on water that a dam or the tide moves: what a schedule lets the gauge say.

The reasoning, from the careful side. A forecast from rain never speaks here. A schedule or table
never gives a level. All it can do is to let what the gauge measures now stand, and only where

- everything that moves the water is on file for the hours,
- the gauge feels what moves it (the guide says so when writing the beat down),
- the hours have begun: a level read the evening before says nothing of a morning below a dam,
- no wave is due or here, so that "now" lies before the time to be out,
- the gauge does not rise: a rise that nobody planned says that the plan is wrong.

Otherwise the level is not known and the answer is bank only; the time to be out is said all the
same. After the hours what was measured is told, for then it is no advice.
"""

from __future__ import annotations

from datetime import datetime

from guiding.gauges.conditions.measured import Measured
from guiding.gauges.conditions.rise import read_rise
from guiding.gauges.conditions.stage import GaugeHours
from guiding.gauges.conditions.values import Condition, Kind, Phase
from guiding.regimes.ice_looks import IceSeen
from guiding.regimes.moved_water import MovedWater
from guiding.regimes.riverclock import clock_words

# Common practice, no source: a gauge flutters by a centimetre; from here on it rises.
UNPLANNED_RISE_CM_H = 2.0
UNREAD = {
    "regulated": "regulated water: a release is not in the record",
    "tidal": "tidal water: the tide is not in the record",
}
MAY_CHANGE = {
    "regulated": "This water is below a dam or sluice: the level may change at any time, "
    "and what it will do is not known.",
    "tidal": "This water is tidal: what the level will do is not known.",
}
COLD = {
    True: "The water is cold enough for ice: the level is not known, and ice may hold or break.",
    None: "This river can ice, and that it has none is not known: look before anybody wades.",
    False: "",
}
LOOK_AGAIN = "It is cold enough for ice: look again before anybody wades."


def why_unread(regime: str, moved: MovedWater | None, levels: Measured, hours: GaugeHours) -> str:
    """Return why the gauge may not speak for this water, or nothing where it may."""
    if moved is None:
        return UNREAD[regime]
    begins_at = moved.from_at(hours.asked_at)
    if moved.missing:
        why = moved.missing[0]
    elif not moved.gauge_is_there:
        why = "no gauge on file feels what moves it"
    elif hours.is_over and hours.asked_at >= moved.ends_at:
        return ""
    elif wave := moved.here(begins_at):
        why = f"{wave.what} may be here"
    elif hours.asked_at < moved.starts_at or not hours.has_begun:
        why = "its level is read once the hours have begun"
    elif (read_rise(levels, None, hours).number or 0) >= UNPLANNED_RISE_CM_H:
        why = "the gauge rises and nothing on file says why"
    else:
        return ""
    return f"{regime} water: {why}"


def steady_phase(phase: Condition, regime: str) -> Condition:
    """Return a phase only where it says that the water is steady: a dam's wave is no spate."""
    if phase.value in (Phase.SETTLED, Phase.STALE):
        return phase
    return Condition(what="phase", source=f"{regime} water: its run of levels is no spate")


def moved_says(
    regime: str, moved: MovedWater | None, level: Condition, at: datetime
) -> tuple[str, ...]:
    """Return what must be said of moved water: the danger first, then what is on record."""
    if moved is None:
        return (MAY_CHANGE[regime],)
    says = [MAY_CHANGE[regime]]
    if moved.missing:
        says.append(f"Not known, bank only: {'; '.join(moved.missing)}.")
    out_by = moved.out_by_words(at)
    if out_by:
        says.append(f"{out_by} {_opened(moved.because(at))}.")
    says += moved.says
    if not moved.missing and not moved.gauge_is_there:
        says.append("No gauge on file feels what moves this water: its level is not known.")
    if level.kind is Kind.OBSERVED and level.at is not None:
        says.append(_spoken_for(moved, level.at, at))
    elif level.number is None and moved.is_known and moved.gauge_is_there:
        says.append("What the level will be in the fishing hours is not known: bank only.")
    return tuple(says)


def _spoken_for(moved: MovedWater, measured_at: datetime, at: datetime) -> str:
    read = clock_words(measured_at, moved.zone, moved.day)
    until = moved.out_by_at(at)
    if until is None:
        return f"The level is what the gauge read at {read}; nothing says that it stays."
    return (
        f"The level is what the gauge read at {read}; it speaks until "
        f"{clock_words(until, moved.zone, moved.day)} at the latest, and not after."
    )


def ice_says(ice: IceSeen, may_be: bool | None) -> tuple[str, ...]:
    """Return what must be said of ice: what was seen that day, and what the cold may bring.

    `may_be`: cold enough for it; None: this river can ice, and nothing on file rules it out.
    """
    cold = COLD[may_be]
    if ice.is_there:
        return (f"Ice was seen: {ice.words}. The level is not known, and ice may hold or break.",)
    if ice.is_there is None:
        return (cold,) if cold else ()
    seen = f"Looked at: {ice.words}. That speaks for this day alone."
    return (
        (seen, "It is cold enough for ice: look again before anybody wades.") if cold else (seen,)
    )


def _opened(text: str) -> str:
    return text[:1].upper() + text[1:]
