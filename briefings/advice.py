"""Everything the house advises for one beat and one part of one day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from briefings import gather
from briefings.cautions import day as cautions
from briefings.cautions.shape import Ground
from briefings.setups import flyplan, rig
from briefings.setups.flyplan import DayBox
from briefings.setups.rig import RigAdvice
from briefings.setups.rules import Rule
from guiding.gauges.conditions.values import (
    Condition,
    Conditions,
    Given,
    Kind,
    condition_as_json,
)
from guiding.gauges.outlook import Outlook, outlook_for
from guiding.rivers.models import Beat
from guiding.sources import Reason
from guiding.tackle.setup import TackleBox, fly_as_json, setup_as_json
from guiding.tackle.stock import tackle_box

NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What to do on one beat in one part of one day, and why. Two answers stand apart in it."""

    outlook: Outlook
    rig: RigAdvice
    day_box: DayBox
    permitted: str  # "yes", "conditions", "no" or "not_known"
    permitted_because: Reason
    cautions: tuple[Reason, ...]

    @property
    def conditions(self) -> Conditions:
        """Return the conditions that the advice was made for."""
        return self.outlook.conditions


def advise_on(
    beat: Beat,
    day: date,
    part: str,
    *,
    at: datetime,
    given: Given,
    fish: str,
    method: str = "fly",
    casting: str | None = None,
    rods: int = 1,
    people: int | None = None,
) -> Advice:
    """Read the river and the box, and advise. `people` on the bank: the rods and the guide."""
    return advise(
        outlook_for(beat, day, part, at=at, given=given),
        tackle_box(),
        gather.rules_on_file(),
        gather.ground_of(beat, people=rods + 1 if people is None else people),
        at=at,
        fish=fish,
        method=method,
        casting=casting,
        rods=rods,
    )


def advise(
    outlook: Outlook,
    box: TackleBox,
    rules: tuple[Rule, ...],
    ground: Ground,
    *,
    at: datetime,
    fish: str,
    method: str = "fly",
    casting: str | None = None,
    rods: int = 1,
) -> Advice:
    """Advise from what was read already; nothing is asked of the database."""
    chosen = rig.choose(
        outlook.conditions, box, rules, fish=fish, method=method, casting=casting, rods=rods
    )
    return Advice(
        outlook=outlook,
        rig=chosen,
        day_box=flyplan.lay_out(outlook.conditions, box, chosen, rods=rods),
        permitted=NOT_KNOWN,
        permitted_because=gather.permitted_reason(at),
        cautions=cautions.for_day(outlook.conditions, ground),
    )


def light_and_chances(conditions: Conditions) -> tuple[Condition, ...]:
    """Return sun, moon and the chance of each class as conditions; what does not come has no value.

    The moments are ISO 8601 in UTC, worked out from the date and the place.
    """
    light = conditions.light
    moments = (
        ("sunrise", light.sunrise_at),
        ("sunset", light.sunset_at),
        ("civil dawn", light.civil_dawn_at),
        ("civil dusk", light.civil_dusk_at),
        ("full dark", light.full_dark_at),
    )
    sun = tuple(
        Condition(
            what=what,
            value=at.isoformat() if at else None,
            unit="UTC",
            kind=Kind.INFERRED if at else Kind.NOT_KNOWN,
            at=at,
            source="the sun's place" if at else "it does not come on this day",
        )
        for what, at in moments
    )
    moon = Condition(
        what="moon",
        value=round(light.moon_lit_share, 2),
        unit="share lit",
        kind=Kind.INFERRED,
        source="the moon's place",
    )
    chances = tuple(
        Condition(
            what=f"share of the fishing hours likely in class {name}",
            value=round(share, 3),
            unit="share",
            kind=Kind.FORECAST,
            source=conditions.level.source,
        )
        for name, share in conditions.class_chances
    )
    return (*sun, moon, *chances)


def advice_as_json(advice: Advice) -> dict[str, Any]:
    """Return the whole advice as plain JSON values."""
    chosen = advice.rig
    reasons = (*chosen.reasons, advice.permitted_because)
    return {
        "worth_going": chosen.worth_going,
        "permitted": advice.permitted,
        "why": [*chosen.why, advice.permitted_because.text, *advice.conditions.says],
        "setup": None if chosen.setup is None else setup_as_json(chosen.setup),
        "box": {
            "points": [fly_as_json(fly) for fly in advice.day_box.points],
            "droppers": [fly_as_json(fly) for fly in advice.day_box.droppers],
        },
        "alternatives": [
            {"setup": setup_as_json(other.setup), "switch_when": other.switch_when}
            for other in chosen.alternatives
        ],
        "overruled": [
            {"rule": lost.rule, "by": lost.by, "asked": lost.asked, **lost.reason.as_json()}
            for lost in chosen.overruled
        ],
        "reasons": [reason.as_json() for reason in reasons],
        "conditions": [
            condition_as_json(value)
            for value in (*advice.conditions.all(), *light_and_chances(advice.conditions))
        ],
        "cautions": [caution.as_json() for caution in advice.cautions],
    }
