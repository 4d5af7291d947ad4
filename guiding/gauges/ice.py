"""Whether a river that can ice may be iced now: common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass

WATER_ICE_C = 0.5
AIR_ICE_C = -5.0
# up to here a river that can carry ice may do so: nobody knows without a look
MAY_ICE_UP_TO_C = 3.0
HOURS = 48


@dataclass(frozen=True, slots=True, kw_only=True)
class Ice:
    """`may_be` True also where nothing is on file to tell by: unknown is not ice-free."""

    may_be: bool
    says: str


def ice_now(*, water_c: float | None, air_mean_c: float | None, air_is_forecast: bool) -> Ice:
    """Judge by the last water temperature and the mean air over 48 hours, None where unknown."""
    if water_c is None and air_mean_c is None:
        return Ice(
            may_be=True,
            says="Not known: this river can ice, and no water or air temperature of the last 48 "
            "hours is on file to tell by.",
        )
    if water_c is not None and water_c <= WATER_ICE_C:
        return Ice(
            may_be=True,
            says=f"Not known: the river may be iced, the water was {water_c:.1f} degrees C "
            f"(common practice: from {WATER_ICE_C:g} down).",
        )
    if air_mean_c is not None and air_mean_c <= AIR_ICE_C:
        which = "the next" if air_is_forecast else "the last"
        return Ice(
            may_be=True,
            says=f"Not known: the river may be iced, the air's mean over {which} {HOURS} hours is "
            f"{air_mean_c:.1f} degrees C (common practice: from {AIR_ICE_C:g} down).",
        )
    return Ice(may_be=False, says="")
