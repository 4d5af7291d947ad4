"""Everything on file about a beat and its gauge, read for the fishing hours of one day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.colour import (
    read_colour,
    read_turbid_visibility,
    read_unseen_visibility,
    read_visibility,
)
from guiding.gauges.conditions.measured import Measured
from guiding.gauges.conditions.moved import ice_says, moved_says, steady_phase, why_unread
from guiding.gauges.conditions.phases import Spate, read_phase
from guiding.gauges.conditions.rise import has_unseen_jump, read_rise
from guiding.gauges.conditions.sky import WeatherAhead, read_weather
from guiding.gauges.conditions.stage import (
    OLDEST_FORECAST_HOURS,
    GaugeHours,
    age_hours,
    joined,
    read_chances,
    read_class,
    read_class_now,
    read_level,
)
from guiding.gauges.conditions.values import Condition, Conditions, Given, Kind, Phase, may_have_ice
from guiding.gauges.conditions.water_temp import (
    read_water,
    read_water_two_days_ago,
    water_says,
)
from guiding.gauges.hydrology.clearing import Clearing
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.stuck import stuck_since, stuck_words
from guiding.regimes.ice_looks import IceSeen
from guiding.regimes.moved_water import MovedWater
from guiding.sun import light_on

OLD_FORECAST_HOURS = 24.0  # said in words; common practice, no source
TYPED = "typed in"
NO_GAUGE = "No gauge speaks for this beat: the level is not known."


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Which hours, on what water, asked when. Moments are aware."""

    day: date
    part: str
    starts_at: datetime
    ends_at: datetime
    asked_at: datetime
    latitude: float
    longitude: float
    zone: ZoneInfo
    regime: str = "natural"
    is_peaty: bool = False
    may_ice: bool = False
    delay_hours: float = 0.0  # water at the gauge now is here this later
    hours_are_usual: bool = False  # none on file for this part of the day

    def __post_init__(self) -> None:
        if self.starts_at >= self.ends_at:
            raise ValueError(
                f"The hours run from {self.starts_at:%Y-%m-%d %H:%M} to "
                f"{self.ends_at:%Y-%m-%d %H:%M}; they must begin before they end."
            )

    @property
    def gauge_hours(self) -> GaugeHours:
        """Return the hours as the gauge lives them: earlier by the water's way to the beat."""
        delay = timedelta(hours=self.delay_hours)
        return GaugeHours(
            starts_at=self.starts_at - delay,
            ends_at=self.ends_at - delay,
            asked_at=self.asked_at,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class OnFile:
    """What is on file by the moment of asking; the empty default is: nothing."""

    has_gauge: bool = True
    levels: Measured = field(default_factory=Measured)
    water: Measured = field(default_factory=Measured)
    air: Measured = field(default_factory=Measured)
    visibility: Measured = field(default_factory=Measured)
    turbidity: Measured = field(default_factory=Measured)
    clearing: Clearing = field(default_factory=Clearing)  # learned from notes of visibility
    rain: Measured = field(default_factory=Measured)
    record: ForecastRecord | None = None
    marks: tuple[MarkLevel, ...] = ()
    run: WeatherAhead | None = None
    moved: MovedWater | None = None  # on regulated or tidal water
    ice: IceSeen = field(default_factory=IceSeen)


@dataclass(frozen=True, slots=True, kw_only=True)
class _River:
    """What the gauge says of the river."""

    level: Condition
    level_class: Condition
    chances: tuple[tuple[str, float], ...]
    phase: Condition
    rise: Condition
    is_flagged: bool
    spate: Spate


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
    forecast = _usable(on_file.record, q.asked_at) if q.regime == "natural" else None
    water = _or_given(
        given.water_c, read_water(on_file.water, q.starts_at, q.ends_at, q.asked_at, forecast), q
    )
    may_be_ice = may_have_ice(q.may_ice, water, _or_given(given.air_c, weather.air, q))
    looked = on_file.ice.is_there
    # without a look, water known to be cold is taken as iced; unmeasured water stays a caution
    is_cold = may_be_ice is True or (may_be_ice is None and water.number is not None)
    river = _river(q, on_file, given, has_ice=is_cold if looked is None else looked)
    found, found_says = _visibility(q, on_file, river)
    visibility = _or_given(given.visibility_cm, found, q)
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
        rise=river.rise,
        rise_is_flagged=river.is_flagged,
        water=water,
        water_two_days_ago=_or_given(
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
        air=_or_given(given.air_c, weather.air, q),
        wind=_or_given(given.wind_ms, weather.wind, q),
        wind_from=_or_given(given.wind_from_deg, weather.wind_from, q),
        sky=_or_given(given.sky, weather.sky, q),
        rain=weather.rain,
        light=light,
        says=(
            *_hours_says(q),
            *_river_says(q, on_file, river, given),
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


def _visibility(q: Question, on_file: OnFile, river: _River) -> tuple[Condition, tuple[str, ...]]:
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


def _or_given(value: float | str | None, read: Condition, q: Question) -> Condition:
    """Return the given value in the place of the one read, or the one read."""
    if value is None:
        return read
    return Condition(
        what=read.what,
        value=value,
        unit=read.unit,
        kind=Kind.GIVEN,
        at=q.asked_at,
        age_hours=0.0,
        source=TYPED,
    )


def _river(q: Question, on_file: OnFile, given: Given, *, has_ice: bool) -> _River:
    hours, levels = q.gauge_hours, on_file.levels
    is_natural = q.regime == "natural"
    # what rain does is no forecast of water that a dam or the tide moves
    record = _usable(on_file.record, q.asked_at) if is_natural else None
    why = _why_unread(q, on_file, has_ice)
    if why:
        level = Condition(what="level", unit="m", source=why)
        rise = Condition(what="rise", unit="cm/h", source=why)
        spate = Spate(phase=Phase.NOT_KNOWN, why=why)
        phase = Condition(what="phase", source=why)
        record = None
    else:
        level = read_level(levels, record, hours)
        rise = read_rise(levels, record, hours)
        spate, phase = _phase(levels, record, hours, on_file.marks)
    if not is_natural:
        phase = steady_phase(phase, q.regime)
    level = _or_given(given.level_m, level, q)
    if given.phase is not None:
        is_known = given.phase is not Phase.NOT_KNOWN
        phase = _or_given(
            str(given.phase) if is_known else None, Condition(what="phase", source=TYPED), q
        )
    return _River(
        level=level,
        level_class=read_class(level, on_file.marks),
        chances=read_chances(level, levels, record, on_file.marks, hours),
        phase=phase,
        rise=rise,
        is_flagged=has_unseen_jump(levels, hours),
        spate=spate,
    )


def _why_unread(q: Question, on_file: OnFile, has_ice: bool) -> str:
    """Return why neither record nor forecast may speak for this water, or nothing."""
    if not on_file.has_gauge:
        return "no gauge speaks for this beat"
    if has_ice:
        return "ice may hold the level up"
    moved = ""
    if q.regime != "natural":
        moved = why_unread(q.regime, on_file.moved, on_file.levels, q.gauge_hours)
    return moved or _why_stuck(on_file.levels, on_file.rain)


def _why_stuck(levels: Measured, rain: Measured) -> str:
    """Return why the gauge is not believed; somebody's own reading settles it."""
    newest = levels.newest
    if newest is None or newest[0] in levels.typed_at:
        return ""
    since = stuck_since(levels.samples, rain.samples, is_daily=levels.is_daily)
    return stuck_words(since, newest[0]) if since else ""


def _usable(record: ForecastRecord | None, asked_at: datetime) -> ForecastRecord | None:
    if record is None or record.issued_at > asked_at:
        return None
    return record if age_hours(asked_at, record.issued_at) <= OLDEST_FORECAST_HOURS else None


def _phase(
    levels: Measured,
    record: ForecastRecord | None,
    hours: GaugeHours,
    marks: tuple[MarkLevel, ...],
) -> tuple[Spate, Condition]:
    """Return the phase in the middle of the hours; while they run, at the newest reading."""
    is_running = hours.has_begun and not hours.is_over
    newest = levels.newest
    if newest is None or not (hours.is_over or levels.is_fresh(hours.asked_at)):
        why = "the newest level is stale" if newest else "no level on file"
        return Spate(phase=Phase.NOT_KNOWN, why=why), Condition(what="phase", source=why)
    at = newest[0] if is_running else hours.middle_at
    is_ahead = not hours.has_begun and record is not None
    run = joined(levels, record if is_ahead else None, hours.asked_at)
    lowest_m = min((mark.level_m for mark in marks), default=None)
    spate = read_phase(run, at, timedelta(hours=levels.step_hours), lowest_m)
    if spate.phase is Phase.NOT_KNOWN:
        return spate, Condition(what="phase", source=spate.why)
    known_at = record.issued_at if record and is_ahead else max(t for t, _ in run if t <= at)
    return spate, Condition(
        what="phase",
        value=str(spate.phase),
        kind=Kind.FORECAST if is_ahead else Kind.INFERRED,
        at=known_at,
        age_hours=age_hours(hours.asked_at, known_at),
        source=f"the run of levels: {spate.why}",
    )


def _hours_says(q: Question) -> tuple[str, ...]:
    if not q.hours_are_usual:
        return ()
    starts, ends = q.starts_at.astimezone(q.zone), q.ends_at.astimezone(q.zone)
    usual = f"{starts:%H:%M} to {ends:%H:%M}"
    return (f"No hours are on file for the {q.part}: the usual {usual} are taken.",)


def _river_says(q: Question, on_file: OnFile, river: _River, given: Given) -> tuple[str, ...]:
    """Return what must be said in words of the level and where it comes from."""
    if q.regime != "natural":
        says = [*moved_says(q.regime, on_file.moved, river.level, q.asked_at)]
        says += [] if on_file.has_gauge else [NO_GAUGE]
    elif not on_file.has_gauge:
        return (NO_GAUGE,)
    else:
        says = _level_says(q, on_file, river, given)
    if not on_file.has_gauge:
        return tuple(says)
    if river.is_flagged:
        says.append(
            "The gauge shows a jump that nobody has looked at: "
            "take the river as risen until somebody has."
        )
    if not on_file.marks:
        says.append("No marks are on file for this gauge: what a level means here is not known.")
    return tuple(says)


def _level_says(q: Question, on_file: OnFile, river: _River, given: Given) -> list[str]:
    says = []
    newest = on_file.levels.newest
    if newest is None:
        says.append("The gauge has no reading: the level is not known.")
    elif not (q.gauge_hours.is_over or on_file.levels.is_fresh(q.asked_at)):
        since = newest[0].astimezone(q.zone)
        age = age_hours(q.asked_at, newest[0])
        says.append(f"The level is not known since {since:%H:%M on %-d %B} ({age:.0f} h ago).")
    record = on_file.record
    if record is not None:
        age = age_hours(q.asked_at, record.issued_at)
        if age > OLDEST_FORECAST_HOURS:
            says.append(f"The river forecast is {age:.0f} h old and is not used.")
        elif age > OLD_FORECAST_HOURS:
            says.append(f"The river forecast is {age:.0f} h old.")
        says += record.says
    if river.level.number is None:
        says.append("What the level will be in the fishing hours is not known.")
    if q.delay_hours and given.level_m is None:
        says.append(
            f"Water at the gauge is here about {q.delay_hours:g} h later; that is counted in."
        )
    return says
