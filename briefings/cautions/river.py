"""Cautions that come from the water: its height, rise, release, ice, cold and warmth."""

from __future__ import annotations

from collections.abc import Iterator

from briefings.cautions.shape import Caution, Ground, highest, lowest
from guiding.gauges.conditions.values import Condition, Conditions, Phase
from guiding.gauges.ice import MAY_ICE_UP_TO_C
from guiding.sources import COMMON_PRACTICE, Label, Source
from guiding.units import temperature_words

COLD_SHOCK_BELOW_C = 15.0
FISH_CARE_FROM_C = 18.0
FISH_STOP_FROM_C = 20.0
FAST_RISE_CM_H = 5.0
ICE_BELOW_AIR_C = 3.0  # common practice, no source: milder air brings no new ice
TOO_BIG = ("big", "over_bank")
LEAST_CHANCE_SAID = 0.05
RISING = (Phase.FIRST_RISE, Phase.RISING, Phase.PEAK)

COLD_SHOCK = Source(
    label=Label.PUBLISHED, title="RNLI, cold water shock and Float to Live (2018 and 2022)"
)
WARM_WATER = Source(
    label=Label.PUBLISHED, title="Natural Resources Wales, advice to anglers in warm weather"
)

RISE_TEXT = (
    "The river can rise without warning, from rain that nobody here sees. Watch a stone at the "
    "edge. Rising, colouring or carrying leaves: out at once, on your own bank, and uphill."
)

ICE_TEXT = (
    "Ice: stay off it and off frozen edges, and out of water that carries it. A jam can let go at "
    "once."
)


def cautions(conditions: Conditions | None, ground: Ground) -> Iterator[Caution]:
    """Yield what the water asks for; not known keeps a caution standing."""
    yield from _height(conditions)
    yield _rise(conditions)
    yield from _upstream(conditions)
    regimes = {ground.regime, conditions.regime if conditions else "natural"}
    for regime in sorted(regimes - {"natural"}):
        yield _release(regime)
    yield from _out_by(conditions)
    yield from _ice(conditions)
    yield from _cold(conditions)
    yield from _warm(conditions)


def _height(conditions: Conditions | None) -> Iterator[Caution]:
    height = conditions.level_class.value if conditions else None
    chances = conditions.class_chances if conditions else ()
    chance = sum(share for name, share in chances if name in TOO_BIG)
    if height in TOO_BIG:
        words = _big_words(conditions.level_class) if conditions else ""
        rank, short = 10, f"The river is {words}"
        because = f"the river is {words} in the fishing hours"
    elif chance >= LEAST_CHANCE_SAID:
        rank, short = 15, "The river may come up big"
        because = f"about {max(1, round(chance * 10))} in 10 that it is big in the fishing hours"
    elif height is not None and chances:
        return
    elif conditions is not None and conditions.class_now.value in TOO_BIG:
        words = _big_words(conditions.class_now)
        rank, short = 10, f"The river was {words} when last read"
        because = (
            f"{_ago(conditions.class_now)} it stood {words}, and what it does in the fishing "
            "hours is not known"
        )
    else:
        rank, short = 36, "How high the river will be is not known"
        because = "how high the river will be, or how surely, is not known"
    yield Caution.of(
        rank,
        short,
        "High water: stay out of a big river, and back from edges that it may have cut under.",
        because,
        COMMON_PRACTICE,
    )


def _big_words(height: Condition) -> str:
    return "over its bank" if height.value == "over_bank" else "big"


def _ago(condition: Condition) -> str:
    hours = round(condition.age_hours or 0)
    return f"{hours} h ago" if hours else "within the last hour"


def _rise(conditions: Conditions | None) -> Caution:
    rise_cm_h = highest(conditions.rise if conditions else None)
    phase = conditions.phase.value if conditions else None
    flagged = bool(conditions and conditions.rise_is_flagged)
    rank, short, because = (
        30,
        "The river can rise without warning",
        "no rise is expected, which is not a promise",
    )
    if flagged:
        rank, short = 12, "The gauge jumped and nobody has looked"
        because = "a jump in the record that nobody has looked at"
    elif rise_cm_h is not None and rise_cm_h >= FAST_RISE_CM_H:
        rank, short = 12, f"The river rises fast, up to {rise_cm_h:.0f} cm an hour"
        because = f"a rise of up to {rise_cm_h:.0f} cm an hour"
    elif phase in RISING or (rise_cm_h is not None and rise_cm_h > 0.5):
        rank, short, because = 16, "The river may rise", "the river is up or may come up"
    elif rise_cm_h is None:
        rank, short = 18, "The river may rise: how fast is not known"
        because = "how the river will move that day is not known"
    return Caution.of(rank, short, RISE_TEXT, because, COMMON_PRACTICE)


def _upstream(conditions: Conditions | None) -> Iterator[Caution]:
    """Yield the soonest rise that is on its way from upstream."""
    if conditions is None or not conditions.upstream:
        return
    rise = conditions.upstream[0]
    told = [line for line in conditions.says if line.startswith("The river upstream has risen")]
    words = told[0] if told else "The river upstream has risen, and it arrives here."
    yield Caution.of(
        9,
        f"The river upstream has risen {rise.rise_m * 100:.0f} cm",
        f"{words} Out of the water before it comes, on your own bank, and back from the edge.",
        f"the level read at {rise.gauge}",
        COMMON_PRACTICE,
    )


def _release(regime: str) -> Caution:
    if regime == "tidal":
        return Caution.of(
            11,
            "The tide lifts this water",
            "The tide lifts this water and turns its flow. Bank only, unless your guide has "
            "today's times and has looked at the water.",
            "tidal water",
            COMMON_PRACTICE,
        )
    return Caution.of(
        11,
        "Water may be let go from the dam at any time",
        "Water may be let go from the dam at any time, in dry weather too. Bank only, unless your "
        "guide has today's times and has looked at the water. A siren, a roar or a rise: out at "
        "once, and uphill.",
        "a dam or sluice upstream" if regime == "regulated" else f"the water is {regime}",
        COMMON_PRACTICE,
    )


def _out_by(conditions: Conditions | None) -> Iterator[Caution]:
    """Yield the time to be out where a wave is on record; it stands beside the standing caution."""
    if conditions is None or conditions.moved is None or not conditions.out_by_words:
        return
    words = conditions.out_by_words
    yield Caution.of(
        8,
        words,
        f"{words} Sooner if the water rises, colours or roars: it may come before its time.",
        conditions.moved.because(conditions.asked_at),
        COMMON_PRACTICE,
    )


def _ice(conditions: Conditions | None) -> Iterator[Caution]:
    water_c = lowest(conditions.water if conditions else None)
    if conditions is not None and conditions.ice.is_there:
        yield Caution.of(
            13, "Ice was seen on this water", ICE_TEXT, conditions.ice.words, COMMON_PRACTICE
        )
        return
    if conditions is not None and not conditions.may_ice:
        return
    is_warm = water_c is not None and water_c > MAY_ICE_UP_TO_C
    if is_warm and conditions is not None and conditions.has_ice is False:
        return
    known = conditions is not None
    # not known keeps the caution standing; it leads only where something speaks for ice
    air_c = lowest(conditions.air if conditions else None)
    is_mild = water_c is None and air_c is not None and air_c > ICE_BELOW_AIR_C
    is_near = known and not is_mild
    yield Caution.of(
        14 if is_near else 34,
        "Ice is possible" if known else "Ice where the river carries it",
        ICE_TEXT,
        f"water may be {temperature_words(water_c, 'metric')}"
        if water_c is not None
        else "this river can carry ice and the water is not measured"
        if known
        else "the day is too far off to know",
        COMMON_PRACTICE,
    )


def _cold(conditions: Conditions | None) -> Iterator[Caution]:
    water_c = lowest(conditions.water if conditions else None)
    if water_c is not None and water_c >= COLD_SHOCK_BELOW_C:
        return
    if water_c is None:
        short, because = "Take the water as cold", "the water temperature is not known"
    else:
        words = temperature_words(water_c, "metric")
        short = f"Cold water, {words}"
        because = f"the water may be {words}; under 15 \N{DEGREE SIGN}C it can take your breath"
    yield Caution.of(
        24 if water_c is not None and water_c < 10 else 26,
        short,
        "Cold water takes your breath and then your hands. If you go in: do not fight it; float on "
        "your back, toes up, until you can breathe, then shout and make for the edge.",
        because,
        COLD_SHOCK,
    )


def _warm(conditions: Conditions | None) -> Iterator[Caution]:
    water_c = highest(conditions.water if conditions else None)
    if water_c is not None and water_c < FISH_CARE_FROM_C:
        return
    both = (
        "Measure the water: from 18 \N{DEGREE SIGN}C take extra care with fish, at 20 "
        "\N{DEGREE SIGN}C stop fishing. The fishery may stop earlier."
    )
    if water_c is None:
        yield Caution.of(
            42, "Measure the water", both, "the water temperature is not known", WARM_WATER
        )
        return
    because = f"the water may be {temperature_words(water_c, 'metric')}"
    if water_c >= FISH_STOP_FROM_C:
        yield Caution.of(
            28,
            "Water too warm for fish: stop fishing",
            "Stop fishing: at 20 \N{DEGREE SIGN}C and over, released fish die.",
            because,
            WARM_WATER,
        )
        return
    yield Caution.of(
        40,
        "Warm water: fish need care",
        f"Warm water: early and late only, play fish hard, unhook them in the water. {both}",
        because,
        WARM_WATER,
    )
