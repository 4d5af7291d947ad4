"""Whether it is worth going: yes, no or not known. Whether it is permitted is another answer."""

from __future__ import annotations

from dataclasses import dataclass

from briefings.setups.facts import rounded
from briefings.setups.rules import Held, Rule
from guiding.gauges.conditions.values import Condition, Conditions, Kind, Phase
from guiding.gauges.outlook_words import percent_words
from guiding.sources import COMMON_PRACTICE, Label, Reason, Source

WHO_DECIDES = (
    "The fishery's own rules, local regulations and the judgement of whoever stands on the bank"
    " come first."
)
NRW = Source(label=Label.PUBLISHED, title="Natural Resources Wales, warm-weather advice to anglers")
STOP_FROM_C = 20.0  # NRW, as above

RISE_TOLD_CM_H = 2.0  # common practice, no source
MAY_BE_UP = 1 / 3  # from this share of the paths on there is no yes; common practice, no source
# the silence of the rules is no yes on such a river
UNSETTLED = (Phase.FIRST_RISE, Phase.RISING, Phase.PEAK, Phase.COLOURED_FALLING)

# these two stand whatever rules the guide keeps: a setting cannot remove a caution
STOP_IN_WARM_WATER = Rule(
    name="Fish care: stop at 20 °C",
    rank=10,
    asks={"stop": True},
    says="Water at 20 °C or more: do not fish. A played fish may not live.",
    source=NRW,
)
OVER_THE_BANK = Rule(
    name="Over the bank",
    rank=30,
    asks={"worth_going": "no"},
    says="Over the bank: nothing to fish, and the edges cannot be seen.",
    source=COMMON_PRACTICE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """The answer, why, and the stop that forbids a set-up, if there is one."""

    answer: str
    why: tuple[str, ...]
    reasons: tuple[Reason, ...]
    stop: Held | None


def worth_of(conditions: Conditions, held: tuple[Held, ...]) -> Worth:
    """Return whether it is worth going; yes only where height, phase and temperature are known."""
    stop = _stop(conditions, held)
    against = [one for one in held if one.rule.asks.get("worth_going") == "no"]
    if conditions.level_class.value == "over_bank" and not against:
        against.append(Held(rule=OVER_THE_BANK, because="level over the bank"))
    if stop is not None:
        against.insert(0, stop)
    unknown = _unknown(conditions)
    speaking_for = [one for one in held if one.rule.asks.get("worth_going") == "yes"]
    if against:
        answer, decided = "no", against
        why = [_said(one) for one in against]
    elif unknown:
        answer, decided = "not_known", []
        why = unknown
    elif risen := _may_be_up(conditions):
        answer, decided = "not_known", []
        why = [risen]
    elif not speaking_for and conditions.phase.value in UNSETTLED:
        answer, decided = "not_known", []
        why = ["No rule speaks for it while the river is at its peak or still coloured."]
    else:
        answer, decided = "yes", speaking_for
        why = [_said(one) for one in speaking_for]
        why = why or ["No rule speaks against it in this water."]
    why += [*_may_rise(conditions), *_near_the_stop(conditions)]
    reasons = tuple(
        Reason(text=one.rule.says, because=one.because, source=one.rule.source) for one in decided
    )
    return Worth(answer=answer, why=(*why, WHO_DECIDES), reasons=reasons, stop=stop)


def _said(held: Held) -> str:
    return f"{held.rule.says} Here: {held.because}."


def _stop(conditions: Conditions, held: tuple[Held, ...]) -> Held | None:
    for one in held:
        if one.rule.asks.get("stop"):
            return one
    water_c = conditions.water.number
    if water_c is not None and water_c >= STOP_FROM_C:
        return Held(rule=STOP_IN_WARM_WATER, because=f"water {rounded(water_c)} °C")
    return None


def _unknown(conditions: Conditions) -> list[str]:
    """Return what has to be known before anybody may say yes."""
    said = []
    if _is_unknown(conditions.level_class):
        said.append("The height of the river is not known.")
    if _is_unknown(conditions.phase):
        few = ": no phase has most of the forecast's paths" if conditions.phase_chances else ""
        said.append(f"Whether it is rising, fining down or settled is not known{few}.")
    if conditions.water.number is None:
        said.append(
            "The water's temperature is not known, so a stop for the fish is not ruled out."
        )
    if conditions.regime != "natural" and not _was_seen(conditions.level_class):
        is_on_file = conditions.moved is not None and conditions.moved.is_known
        missing = (
            "a look at the water" if is_on_file else "that day's schedule or a look at the water"
        )
        said.append(
            f"This is {conditions.regime} water: it can change without rain; not known without"
            f" {missing}."
        )
    if conditions.ice.is_there:
        said.append(f"Ice was seen: {conditions.ice.words}.")
    elif conditions.has_ice is not False and conditions.water.number is not None:
        said.append("This river can carry ice at this temperature: not known without a look.")
    return said


def _may_be_up(conditions: Conditions) -> str:
    """Return why there is no yes where too many paths of the forecast are up, or nothing."""
    risen = conditions.risen
    if risen is None or risen < MAY_BE_UP - 1e-9:
        return ""
    return (
        f"On {percent_words(risen)} of the forecast's paths the river is on a first rise, at its "
        "peak or over the good range in these hours: too many for a yes."
    )


def _is_unknown(condition: Condition) -> bool:
    return condition.value is None or condition.value == "not_known"


def _may_rise(conditions: Conditions) -> list[str]:
    """Return a word on a rise that the forecast allows, whatever phase its middle is in."""
    rise = conditions.rise
    if rise.kind is not Kind.FORECAST or rise.number is None or rise.number < RISE_TOLD_CM_H:
        return []
    fastest = f"{rise.number:.0f} cm an hour"
    return [f"In these hours it may rise up to {fastest}: read the newest forecast before you go."]


def _was_seen(condition: Condition) -> bool:
    return condition.kind in (Kind.OBSERVED, Kind.GIVEN)


def _near_the_stop(conditions: Conditions) -> list[str]:
    water = conditions.water
    if water.number is None or water.number >= STOP_FROM_C:
        return []
    if water.high is not None and water.high >= STOP_FROM_C:
        return ["The water may reach 20 °C in these hours: measure it, and stop there."]
    if water.number >= 18:
        return ["Only if the river's own rules allow fishing at this temperature; stop at 20 °C."]
    return []
