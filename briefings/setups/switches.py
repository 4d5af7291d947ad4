"""What the river could do instead: changed conditions to put to the same chooser."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from guiding.gauges.conditions.values import Condition, Conditions, Kind

CLASSES = ("low", "summer", "good", "high", "big")
CLASS_WORDS = {
    "low": "low water",
    "summer": "summer level",
    "good": "a good height",
    "high": "high water",
    "big": "big water",
}
NUDGE_C = 2.0
MIDDLE_C = 9.0
FAR_C = (4.0, 7.0, 10.0, 14.0)  # one in each band of the temperature table that is not warm


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """One change, in words that follow "switch when", and what would then be asked."""

    when: str
    conditions: Conditions
    passes: int = 0


def switches(conditions: Conditions, *, fish: str) -> Iterator[Switch]:
    """Yield the changes that could call for another set-up, the likeliest to matter first."""
    unanswered = (
        Switch(
            when="the pool was fished through without response: worth one pass",
            conditions=conditions,
            passes=1,
        ),
        Switch(
            when="the pool was fished through twice without response: worth one more pass",
            conditions=conditions,
            passes=2,
        ),
    )
    # a night's sea trout change with the hour more than with the river
    if fish == "sea_trout":
        yield from unanswered
    yield from _of_level(conditions)
    yield from _of_temperature(conditions)
    if fish != "sea_trout":
        yield from unanswered
    yield from _of_colour(conditions)
    if fish == "sea_trout" and conditions.sky.value != "dark":
        yield Switch(
            when="it is fully dark, well after civil dusk",
            conditions=replace(conditions, sky=_supposed(conditions.sky, "dark")),
        )
    yield from _of_another_temperature(conditions)


def _supposed(condition: Condition, value: float | str) -> Condition:
    number = float(value) if isinstance(value, float | int) else None
    return Condition(
        what=condition.what,
        value=value,
        low=number,
        high=number,
        unit=condition.unit,
        kind=Kind.GIVEN,
        source="supposed",
    )


def _of_level(conditions: Conditions) -> Iterator[Switch]:
    now = conditions.level_class.value
    if now in CLASSES:
        place = CLASSES.index(str(now))
        turns = [("comes up to", place + 1), ("falls to", place - 1)]
    else:
        turns = [("turns out at", CLASSES.index("good")), ("turns out at", CLASSES.index("low"))]
    for words, other in turns:
        if 0 <= other < len(CLASSES):
            name = CLASSES[other]
            yield Switch(
                when=f"the river {words} {CLASS_WORDS[name]}",
                conditions=replace(conditions, level_class=_supposed(conditions.level_class, name)),
            )


def _of_temperature(conditions: Conditions) -> Iterator[Switch]:
    now = conditions.water.number
    if now is None:
        turns = [("measures", 7.0), ("measures", 14.0)]
    else:
        turns = [("falls to", now - NUDGE_C), ("warms to", now + NUDGE_C)]
    for words, other in turns:
        if 0 <= other < 20:
            yield Switch(
                when=f"the water {words} {other:.0f} °C",
                conditions=replace(conditions, water=_supposed(conditions.water, other)),
            )


def _of_another_temperature(conditions: Conditions) -> Iterator[Switch]:
    """Yield further temperatures, the nearest first: in sudden cold two degrees change nothing."""
    now = conditions.water.number
    for other in sorted(FAR_C, key=lambda far: abs(far - (MIDDLE_C if now is None else now))):
        if now is None:
            words = "measures"
        elif abs(other - now) <= NUDGE_C:
            continue
        else:
            words = "warms to" if other > now else "falls to"
        yield Switch(
            when=f"the water {words} {other:.0f} \N{DEGREE SIGN}C",
            conditions=replace(conditions, water=_supposed(conditions.water, other)),
        )


def _of_colour(conditions: Conditions) -> Iterator[Switch]:
    for words, centimetres in (("colours to about half a metre", 50.0), ("clears", 150.0)):
        yield Switch(
            when=f"the water {words}",
            conditions=replace(
                conditions,
                visibility=_supposed(conditions.visibility, centimetres),
                colour=_supposed(conditions.colour, "clear" if centimetres >= 100 else "coloured"),
            ),
        )
