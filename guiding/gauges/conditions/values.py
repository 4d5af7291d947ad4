"""What the river and the sky will be in the fishing hours, each value with spread, age, source."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from guiding.gauges.conditions.upstream import UpstreamRise
from guiding.gauges.ice import AIR_ICE_C, MAY_ICE_UP_TO_C, WATER_ICE_C
from guiding.regimes.ice_looks import IceSeen
from guiding.regimes.moved_water import MovedWater
from guiding.sun import Light as Light  # Conditions carry it; callers find it here too


class Kind(StrEnum):
    """How a value is known."""

    OBSERVED = "observed"
    FORECAST = "forecast"
    INFERRED = "inferred"
    GIVEN = "given"
    NOT_KNOWN = "not_known"


class Phase(StrEnum):
    """Where the river stands in a spate; the same height is another river in another phase."""

    FIRST_RISE = "first_rise"
    RISING = "rising"
    PEAK = "peak"
    COLOURED_FALLING = "coloured_falling"
    FINING_DOWN = "fining_down"
    SETTLED = "settled"
    STALE = "stale"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One value with its spread, unit, origin and age. Not known: value, low and high are None."""

    what: str
    value: float | str | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    kind: Kind = Kind.NOT_KNOWN
    at: datetime | None = None
    age_hours: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        if (self.value is None) != (self.kind is Kind.NOT_KNOWN):
            raise ValueError(f"{self.what}: a value is there exactly when it is known.")

    @property
    def number(self) -> float | None:
        """Return the value where it is a number."""
        return self.value if isinstance(self.value, float | int) else None


def condition_as_json(condition: Condition) -> dict[str, Any]:
    """Return the nine keys that commands print; a moment as ISO 8601 in UTC."""
    return {
        "what": condition.what,
        "value": condition.value,
        "low": condition.low,
        "high": condition.high,
        "unit": condition.unit,
        "kind": str(condition.kind),
        "at": condition.at.isoformat() if condition.at else None,
        "age_hours": condition.age_hours,
        "source": condition.source,
    }


# What a river, or the air over it, can be: name -> lowest, highest, in words.
RANGES: dict[str, tuple[float, float, str]] = {
    "level_m": (-1, 20, "a river's level here is -1 to 20 m"),
    "water_c": (-0.5, 35, "a river's water here is -0.5 to 35 degrees C"),
    "water_c_two_days_ago": (-0.5, 35, "a river's water here is -0.5 to 35 degrees C"),
    "visibility_cm": (0, 1000, "visibility here is 0 to 1000 cm"),
    "air_c": (-40, 45, "the air here is -40 to 45 degrees C"),
    "wind_ms": (0, 60, "the wind here is 0 to 60 m/s"),
    "wind_from_deg": (0, 360, "the wind comes from 0 to 360 degrees"),
}
SKIES = ("bright", "cloud", "dark")


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """Values typed by somebody, which override the record and the forecast; None: not given."""

    level_m: float | None = None
    phase: Phase | None = None
    water_c: float | None = None
    water_c_two_days_ago: float | None = None
    visibility_cm: float | None = None
    air_c: float | None = None
    wind_ms: float | None = None
    wind_from_deg: float | None = None
    sky: str | None = None

    def __post_init__(self) -> None:
        """Refuse what no river can be; a ValueError names the value met and what is allowed."""
        for name, (low, high, words) in RANGES.items():
            value = getattr(self, name)
            if value is None:
                continue
            is_number = isinstance(value, float | int) and not isinstance(value, bool)
            if not is_number or not math.isfinite(value) or not low <= value <= high:
                raise ValueError(f"{name} is {value}; {words}.")
        if self.phase is not None:
            if self.phase not in tuple(Phase):
                raise ValueError(f"phase is {self.phase}; it is one of {', '.join(Phase)}.")
            object.__setattr__(self, "phase", Phase(self.phase))
        if self.sky is not None and self.sky not in SKIES:
            raise ValueError(f"sky is {self.sky}; it is one of {', '.join(SKIES)}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """Everything the advice may look at, and nothing else."""

    day: date
    part: str
    starts_at: datetime
    ends_at: datetime
    asked_at: datetime
    regime: str  # "natural", "regulated" or "tidal"
    is_peaty: bool
    may_ice: bool
    level: Condition  # m
    level_class: Condition  # low, summer, good, high, big, over_bank
    class_chances: tuple[
        tuple[str, float], ...
    ]  # of each class in the fishing hours; empty: unknown
    phase: Condition
    rise: Condition  # cm an hour, the fastest expected in the fishing hours or seen just before
    rise_is_flagged: bool  # a jump in the record that nobody has looked at
    water: Condition  # degrees C
    water_two_days_ago: Condition  # degrees C
    visibility: Condition  # cm
    colour: Condition  # clear, tea-coloured, coloured, dirty
    air: Condition  # degrees C
    wind: Condition  # m/s
    wind_from: Condition  # degrees
    sky: Condition  # bright, cloud, dark
    rain: Condition  # mm in the fishing hours
    light: Light
    says: tuple[str, ...] = ()  # what must be said in words: stale, missing, northern night
    moved: MovedWater | None = None  # what is on record of releases and tide
    ice: IceSeen = field(default_factory=IceSeen)  # what was seen of ice that day
    # of the newest level on file, whatever the fishing hours bring
    class_now: Condition = Condition(what="level class now")
    # of each phase, the likeliest first; empty: not read from the paths of a forecast
    phase_chances: tuple[tuple[str, float], ...] = ()
    # the share of paths on a first rise, at a peak or over the good range; None: not known
    risen: float | None = None
    upstream: tuple[UpstreamRise, ...] = ()  # sharp rises on their way here, the soonest first

    def all(self) -> tuple[Condition, ...]:
        """Return every single value in the order a reader wants them."""
        return (
            self.level,
            self.level_class,
            self.phase,
            self.rise,
            self.water,
            self.water_two_days_ago,
            self.visibility,
            self.colour,
            self.air,
            self.wind,
            self.wind_from,
            self.sky,
            self.rain,
        )

    @property
    def has_ice(self) -> bool | None:
        """Say whether there may be ice; None where the river can ice and nobody knows.

        A look of that day speaks first; without one, True is "cold enough for it".
        """
        if self.ice.is_there is not None:
            return self.ice.is_there
        return may_have_ice(self.may_ice, self.water, self.air)

    @property
    def out_by_at(self) -> datetime | None:
        """Return when everybody must be out of moved water; None: no wave is on record."""
        return self.moved.out_by_at(self.asked_at) if self.moved else None

    @property
    def out_by_words(self) -> str:
        """Return the order to be out in words, or nothing where no wave is on record."""
        return self.moved.out_by_words(self.asked_at) if self.moved else ""


def may_have_ice(may_ice: bool, water: Condition, air: Condition) -> bool | None:
    """Say whether water that can ice is cold enough for it.

    None: nobody can tell without a look. That is so where the water is not known, where it may be
    3 degrees C or less, and in hard frost whatever the water is said to be.
    """
    if not may_ice:
        return False
    if water.number is None:
        return None
    coldest = water.number if water.low is None else min(water.low, water.number)
    if water.number <= WATER_ICE_C:
        return True
    frost = [c for c in (air.number, air.low) if c is not None and c <= AIR_ICE_C]
    return None if frost or coldest <= MAY_ICE_UP_TO_C else False
