"""Everything on file about a beat and its gauge, read for the fishing hours of one day."""

from __future__ import annotations

from guiding.gauges.conditions.colour import (
    read_colour,
    read_turbid_visibility,
    read_unseen_visibility,
    read_visibility,
)
from guiding.gauges.conditions.moved import ice_says
from guiding.gauges.conditions.question import OnFile, Question, or_given, usable
from guiding.gauges.conditions.river import RiverRead, read_river, river_says
from guiding.gauges.conditions.sky import read_weather
from guiding.gauges.conditions.stage import read_class_now
from guiding.gauges.conditions.values import Condition, Conditions, Given, may_have_ice
from guiding.gauges.conditions.water_temp import (
    read_water,
    read_water_two_days_ago,
    water_says,
)
from guiding.sun import light_on


def read_conditions(question: Question, on_file: OnFile, given: Given | None = None) -> Conditions:
    """Return the conditions of the fishing hours, as they were known at the moment of asking.

    What is given overrides record and forecast. Nothing that was measured after the moment of
    asking may be handed in; what is not on file comes out as not known, with the reason as its
    source, and what must be said of it in `says`.
    """
    given = given or Given()
    q = question
    light = light_on(q.day, q.latitude, q.longitude, q.zone)
    place = (q.latitude, q.longitude)
    weather = read_weather(on_file.run, on_file.air, q.starts_at, q.ends_at, q.asked_at, place)
    # what air and rain do is no forecast of the temperature of water that a dam lets out
    forecast = usable(on_file.record, q.asked_at) if q.regime == "natural" else None
    water = or_given(
        given.water_c, read_water(on_file.water, q.starts_at, q.ends_at, q.asked_at, forecast), q
    )
    may_be_ice = may_have_ice(q.may_ice, water, or_given(given.air_c, weather.air, q))
    looked = on_file.ice.is_there
    # without a look, water known to be cold is taken as iced; unmeasured water stays a caution
    is_cold = may_be_ice is True or (may_be_ice is None and water.number is not None)
    river = read_river(q, on_file, given, has_ice=is_cold if looked is None else looked)
    found, found_says = _visibility(q, on_file, river)
    visibility = or_given(given.visibility_cm, found, q)
    middle_at = q.gauge_hours.middle_at
    return Conditions(
        day=q.day,
        part=q.part,
        starts_at=q.starts_at,
        ends_at=q.ends_at,
        asked_at=q.asked_at,
        regime=q.regime,
        is_peaty=q.is_peaty,
        may_ice=q.may_ice,
        level=river.level,
        level_class=river.level_class,
        class_chances=river.chances,
        phase=river.phase,
        phase_chances=river.phase_chances,
        risen=river.risen,
        rise=river.rise,
        rise_is_flagged=river.is_flagged,
        water=water,
        water_two_days_ago=or_given(
            given.water_c_two_days_ago,
            read_water_two_days_ago(on_file.water, q.starts_at, q.ends_at, q.asked_at),
            q,
        ),
        visibility=visibility,
        colour=read_colour(
            visibility,
            river.phase,
            river.spate,
            river.rise,
            at=middle_at,
            is_peaty=q.is_peaty,
        ),
        air=or_given(given.air_c, weather.air, q),
        wind=or_given(given.wind_ms, weather.wind, q),
        wind_from=or_given(given.wind_from_deg, weather.wind_from, q),
        sky=or_given(given.sky, weather.sky, q),
        rain=weather.rain,
        light=light,
        says=(
            *_hours_says(q),
            *river_says(q, on_file, river, given),
            *ice_says(on_file.ice, may_be_ice),
            *water_says(water, forecast),
            *(found_says if visibility is found else ()),
            *weather.says,
            *light.says(),
        ),
        moved=on_file.moved,
        ice=on_file.ice,
        class_now=read_class_now(on_file.levels, on_file.marks, q.asked_at),
    )


def _visibility(
    q: Question, on_file: OnFile, river: RiverRead
) -> tuple[Condition, tuple[str, ...]]:
    """Return the visibility from the best that is there, and what must be said of it."""
    looked = read_visibility(on_file.visibility, river.phase, q.starts_at, q.asked_at)
    if looked.number is not None:
        return looked, ()
    turbid = read_turbid_visibility(on_file.turbidity, river.phase, q.starts_at, q.asked_at)
    if turbid.number is not None:
        return turbid, ()
    at = q.gauge_hours.middle_at
    unseen, says = read_unseen_visibility(river.phase, river.spate, on_file.clearing, at)
    return (looked, ()) if unseen.number is None else (unseen, says)


def _hours_says(q: Question) -> tuple[str, ...]:
    if not q.hours_are_usual:
        return ()
    starts, ends = q.starts_at.astimezone(q.zone), q.ends_at.astimezone(q.zone)
    usual = f"{starts:%H:%M} to {ends:%H:%M}"
    return (f"No hours are on file for the {q.part}: the usual {usual} are taken.",)
