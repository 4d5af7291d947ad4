"""What a reading can be: values outside a river's range are refused, never trimmed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

AHEAD = timedelta(minutes=10)  # a clock may be a little fast; a reading from the future is refused

# The largest rain on record, from memory: 305 mm in an hour, 1,825 mm in a day.
MOST_RAIN_MM = {60: 310.0, 1440: 1830.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The range of one quantity at one gauge, both ends allowed."""

    what: str
    unit: str
    low: float
    high: float
    where: str = ""

    def refusal(self, value: float) -> str:
        """Return why a value is refused, or nothing."""
        if math.isfinite(value) and self.low <= value <= self.high:
            return ""
        place = f"{self.where} reads " if self.where else "allowed is "
        top = "or more" if math.isinf(self.high) else f"to {self.high:g}"
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.what} is {value:g}{unit}; {place}{self.low:g} {top}{unit}"


def limits_of(
    quantity: str, *, name: str, lowest_m: float, highest_m: float, step_minutes: int
) -> Limits:
    """Return the range of a quantity at a gauge with this name, reach and step.

    Raises ValueError for a quantity that no series can hold.
    """
    where = f"gauge {name}"
    match quantity:
        case "level_m":
            low, high = max(-1.0, lowest_m), min(20.0, highest_m)
            return Limits(what="level", unit="m", low=low, high=high, where=where)
        case "flow_m3s":
            return Limits(what="flow", unit="m3/s", low=0.0, high=math.inf, where="a river")
        case "rain_mm":
            most = MOST_RAIN_MM[1440 if step_minutes >= 1440 else 60]
            return Limits(what="rain", unit="mm", low=0.0, high=most)
        case "water_c":
            return Limits(
                what="water temperature", unit="degrees C", low=-0.5, high=35, where="a river"
            )
        case "air_c":
            return Limits(what="air temperature", unit="degrees C", low=-40, high=45)
        case "visibility_cm":
            return Limits(what="visibility", unit="cm", low=0, high=1000, where="a river")
        case "turbidity_ntu":
            return Limits(what="turbidity", unit="NTU", low=0, high=10_000, where="a river")
    known = "level_m, flow_m3s, rain_mm, water_c, air_c, visibility_cm, turbidity_ntu"
    raise ValueError(f"quantity is {quantity!r}; a series holds one of {known}")


def moment_refusal(observed_at: datetime, at: datetime) -> str:
    """Return why the moment of a reading is refused, or nothing. Both are aware."""
    if observed_at - at > AHEAD:
        return (
            f"{observed_at:%Y-%m-%d %H:%M} UTC lies ahead of {at:%Y-%m-%d %H:%M} UTC; "
            "a reading may be 10 minutes ahead at most"
        )
    return ""
