"""Cautions that come from the sky: thunder, power lines, wind chill, frost, heat and the dark."""

from __future__ import annotations

from collections.abc import Iterator

from briefings.cautions.shape import Caution, Ground, highest, lowest
from briefings.cautions.windchill import WARMEST_C, WIND_CHILL_CHART, wind_chill
from guiding.gauges.conditions.values import Conditions
from guiding.sources import COMMON_PRACTICE, Label, Source
from guiding.units import temperature_words

HEAT_FROM_C = (80 - 32) * 5 / 9  # 80 degrees F, the first class of the heat index
SUN_ADDS_C = 15 * 5 / 9  # full sun adds up to 15 degrees F

SKIN_FREEZES_C = -25  # of wind chill: Environment Canada's bands
WRAP_UP = (
    "Wind chill: wind takes heat fast. A wind-proof layer, hat and gloves on you; dry clothes in "
    "the car."
)
COVER_SKIN = "In hard frost and wind bare skin can freeze: cover all of it."

THUNDER = Source(label=Label.PUBLISHED, title="US National Weather Service, lightning advice")
OVERHEAD_LINES = Source(
    label=Label.PUBLISHED,
    title="Energy Networks Association, fishing near overhead lines;"
    " Tukes, Carbon-fibre fishing rods",
)
HEAT = Source(
    label=Label.PUBLISHED,
    title="US National Weather Service, heat index classes (seen second-hand)",
)


def cautions(conditions: Conditions | None, ground: Ground) -> Iterator[Caution]:
    """Yield what the sky asks for; not known keeps a caution standing."""
    yield Caution.of(
        32,
        "At the first thunder we stop",
        "At the first thunder stop: lay the rod down, leave it, and go to a car or a house, away "
        "from water and lone trees. Not before 30 minutes after the last thunder do we go back.",
        "no forecast here speaks of thunder",
        THUNDER,
    )
    yield _power_lines(ground.power_lines)
    yield from _wind_chill(conditions)
    yield from _frost(conditions)
    yield from _heat(conditions)
    yield from _dark(conditions)


def _power_lines(places: tuple[str, ...]) -> Caution:
    known = "; ".join(place.rstrip(".") for place in places)
    return Caution.of(
        20 if known else 45,
        f"Power lines: {known}" if known else "Look up for power lines",
        "Power lines: stay 30 m away with rod and line. Every rod conducts, and electricity jumps "
        "to one that does not touch. Under lines carry the rod low and taken down.",
        f"lines on this beat: {known}" if known else "no line is on file, which proves nothing",
        OVERHEAD_LINES,
    )


def _wind_chill(conditions: Conditions | None) -> Iterator[Caution]:
    air_c = lowest(conditions.air if conditions else None)
    wind_ms = highest(conditions.wind if conditions else None)
    if air_c is not None and air_c > WARMEST_C:
        return
    if air_c is None or wind_ms is None:
        yield Caution.of(
            43,
            "Dress for wind",
            f"{WRAP_UP} {COVER_SKIN}",
            "air or wind is not known",
            WIND_CHILL_CHART,
        )
        return
    index = wind_chill(air_c, wind_ms)
    feels_c = air_c if index is None else index
    if feels_c > 0:
        return
    words = temperature_words(float(round(feels_c)), "metric")
    yield Caution.of(
        25 if feels_c <= -10 else 41,
        f"Wind chill {words}" if index is not None else f"Cold air, {words}",
        f"{WRAP_UP} {COVER_SKIN}" if feels_c <= SKIN_FREEZES_C else WRAP_UP,
        f"it may feel like {words}",
        WIND_CHILL_CHART,
    )


def _frost(conditions: Conditions | None) -> Iterator[Caution]:
    air_c = lowest(conditions.air if conditions else None)
    if air_c is not None and air_c > 0:
        return
    yield Caution.of(
        53,
        "Frost: no fish out of the water",
        "In frost no fish leaves the water: eyes and gills freeze at once.",
        "the air temperature is not known"
        if air_c is None
        else f"the air may be {temperature_words(air_c, 'metric')}",
        COMMON_PRACTICE,
    )


def _heat(conditions: Conditions | None) -> Iterator[Caution]:
    air_c = highest(conditions.air if conditions else None)
    shaded = conditions is not None and conditions.sky.value in ("cloud", "dark")
    if air_c is not None and air_c + (0 if shaded else SUN_ADDS_C) < HEAT_FROM_C:
        return
    hot = air_c is not None and air_c >= HEAT_FROM_C
    yield Caution.of(
        33 if hot else 56,
        "Heat" if air_c is None else f"Heat, {temperature_words(air_c, 'metric')}",
        "Heat: drink before you are thirsty, hat and sun cream, rest in the shade, waders down at "
        "lunch. Dizzy, sick or no longer sweating: stop and say so.",
        "the air temperature is not known"
        if air_c is None
        else f"the air may be {temperature_words(air_c, 'metric')}; full sun adds to it",
        HEAT,
    )


def _dark(conditions: Conditions | None) -> Iterator[Caution]:
    text = (
        "From dusk on wade only pools walked in daylight that day, the guide beside you. A lamp "
        "and a spare each; out of the water before you change a fly."
    )
    if conditions is None:
        yield Caution.of(
            49, "Bring a lamp", text, "the hours of light are not known yet", COMMON_PRACTICE
        )
        return
    light = conditions.light
    rises, sets = light.sunrise_at, light.sunset_at or light.civil_dusk_at
    after = sets is not None and conditions.ends_at > sets
    before = rises is not None and conditions.starts_at < rises
    if not after and not before and conditions.part != "night":
        return
    if after:
        because = "the sun sets before we end"
    else:
        because = "we start before sunrise" if before else "it is the night part of the day"
    yield Caution.of(31, "Part of this is in the dark", text, because, COMMON_PRACTICE)
