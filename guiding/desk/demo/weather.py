"""The weather ahead of an invented season, in the shape of MET Norway's compact forecast."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from guiding.desk.demo.season import Season

HOURLY_H = 60
LAST_H = 126
UNITS = {
    "air_temperature": "celsius",
    "cloud_area_fraction": "%",
    "precipitation_amount": "mm",
    "wind_from_direction": "degrees",
    "wind_speed": "m/s",
}


def weather_document(
    season: Season, *, latitude: float, longitude: float, altitude_m: float
) -> dict[str, Any]:
    """Return five days of weather from the anchor: hourly for 60 hours, then every six hours.

    The moment, the last instant apart, carries what falls until the next one.
    """
    steps = [*range(HOURLY_H), *range(HOURLY_H, LAST_H + 1, 6)]
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [longitude, latitude, altitude_m]},
        "properties": {
            "meta": {"updated_at": _iso(season, 0, minutes=-20), "units": UNITS},
            "timeseries": [_step(season, hour) for hour in steps],
        },
    }


def _step(season: Season, hour: int) -> dict[str, Any]:
    here = season.hours + hour
    data: dict[str, Any] = {
        "instant": {
            "details": {
                "air_temperature": float(season.air_c[here]),
                "cloud_area_fraction": float(season.cloud_percent[here]),
                "wind_from_direction": float(season.wind_from_deg[here]),
                "wind_speed": float(season.wind_ms[here]),
            }
        }
    }
    if hour < HOURLY_H:
        data["next_1_hours"] = _falls(season, here, 1)
    elif hour < LAST_H:
        data["next_6_hours"] = _falls(season, here, 6)
    return {"time": _iso(season, hour), "data": data}


def _falls(season: Season, here: int, hours: int) -> dict[str, Any]:
    rain_mm = round(float(season.rain_mm[here : here + hours].sum()), 1)
    cloud = float(season.cloud_percent[here : here + hours].mean())
    symbol = "rain" if rain_mm else "cloudy" if cloud > 70 else "partlycloudy_day"
    return {"summary": {"symbol_code": symbol}, "details": {"precipitation_amount": rain_mm}}


def _iso(season: Season, hour: int, *, minutes: int = 0) -> str:
    moment = season.until + timedelta(hours=hour, minutes=minutes)
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}"
