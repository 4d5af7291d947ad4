"""What is asked of a day's fishing hours, and what is on file to answer it from."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.measured import Measured
from guiding.gauges.conditions.sky import WeatherAhead
from guiding.gauges.conditions.stage import OLDEST_FORECAST_HOURS, GaugeHours, age_hours
from guiding.gauges.conditions.values import Condition, Kind
from guiding.gauges.hydrology.clearing import Clearing
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.regimes.ice_looks import IceSeen
from guiding.regimes.moved_water import MovedWater

TYPED = "typed in"


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


def or_given(value: float | str | None, read: Condition, q: Question) -> Condition:
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


def usable(record: ForecastRecord | None, asked_at: datetime) -> ForecastRecord | None:
    """Return the forecast where it was issued by the moment of asking and is young enough."""
    if record is None or record.issued_at > asked_at:
        return None
    return record if age_hours(asked_at, record.issued_at) <= OLDEST_FORECAST_HOURS else None
