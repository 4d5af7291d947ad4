"""What the river and the sky will be in the fishing hours, each value with spread, age, source."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """Sun and moon of a fishing day, aware UTC; None: it does not come that day."""

    sunrise_at: datetime | None
    sunset_at: datetime | None
    civil_dawn_at: datetime | None
    civil_dusk_at: datetime | None
    full_dark_at: datetime | None
    moon_lit_share: float
    moon_words: str


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
