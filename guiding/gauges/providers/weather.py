"""A weather run as it was issued, in our names and units, whoever sent it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherStep:
    """One step of a run, aware UTC; None: the run does not say, which is never nought."""

    starts_at: datetime
    ends_at: datetime
    rain_mm: float | None
    air_c: float | None
    wind_ms: float | None
    wind_from_deg: float | None
    cloud_percent: float | None

    def as_json(self) -> dict[str, Any]:
        """Return the seven keys that a kept run carries."""
        return {
            "starts_at": self.starts_at.isoformat(),
            "ends_at": self.ends_at.isoformat(),
            "rain_mm": self.rain_mm,
            "air_c": self.air_c,
            "wind_ms": self.wind_ms,
            "wind_from_deg": self.wind_from_deg,
            "cloud_percent": self.cloud_percent,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherRunRead:
    """A run as it was issued, in our names and units, with the document it came in."""

    issued_at: datetime
    latitude: float
    longitude: float
    steps: tuple[WeatherStep, ...]
    raw: dict[str, Any]
