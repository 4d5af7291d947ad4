"""Clothes and small things for a day: by its air and light, or by the sun of its season."""

from __future__ import annotations

from guiding.gauges.conditions.values import Conditions

COLD_AIR_C = 10.0
WARM_AIR_C = 18.0
# Common practice, no source: from this height of the sun at noon it burns, whatever the air is.
BURNING_SUN_DEG = 30.0
SUMMER_SUN_DEG = 45.0  # and from this one no gloves are asked for on a day that is not known yet


def clothes(conditions: Conditions | None, noon_sun_deg: float | None) -> list[str]:
    """Return clothes and small things; where the air is not known, for that time of the year.

    Where the sun is not known either, for any day.
    """
    air_low = air_high = None
    may_be_dark = True
    if conditions is not None:
        air = conditions.air
        air_low = air.number if air.low is None else air.low
        air_high = air.number if air.high is None else air.high
        sunset = conditions.light.sunset_at or conditions.light.civil_dusk_at
        late = sunset is not None and conditions.ends_at > sunset
        may_be_dark = late or conditions.part in ("evening", "night")
        if conditions.light.sun_at_noon_deg is not None:
            noon_sun_deg = conditions.light.sun_at_noon_deg
    things = ["Warm layers that dry fast, no cotton", "A full change of clothes and a towel"]
    things += _against_cold(air_low, noon_sun_deg)
    things += _against_sun(air_high, noon_sun_deg)
    if may_be_dark:
        things.append("Head lamp and a spare")
    things += ["Food, and more to drink than you think", "Your own medicines", "Phone in a dry bag"]
    return things


def _against_cold(air_low: float | None, noon_sun_deg: float | None) -> list[str]:
    if air_low is None:
        may_be_cold = noon_sun_deg is None or noon_sun_deg < SUMMER_SUN_DEG
    else:
        may_be_cold = air_low < COLD_AIR_C
    return ["Gloves and a warm hat"] if may_be_cold else []


def _against_sun(air_high: float | None, noon_sun_deg: float | None) -> list[str]:
    burns = noon_sun_deg is not None and noon_sun_deg >= BURNING_SUN_DEG
    for_season = burns or noon_sun_deg is None
    is_warm = for_season if air_high is None else air_high >= WARM_AIR_C
    cream = ["Sun cream"] if burns or is_warm else []
    return [*cream, "Insect repellent"] if is_warm else cream
