"""A seeded river of our own with air, water and flow: heat goes in and out. Nobody's record."""

import numpy as np

from guiding.gauges.hydrology.water_temperature import WaterRecord

YEAR_DAYS = 365.2425


def invented_water(years: float, step_minutes: int = 1440, seed: int = 3, **changes) -> WaterRecord:
    """Return the record of so many years from 1 January on.

    Air is a season, in an hourly record a day, and a departure that is forgotten in four days.
    Water runs after 4 + 0.8 air, faster when the river is low, and never below 0.
    """
    a_day = 1440 // step_minutes
    count = int(years * YEAR_DAYS * a_day)
    draw = np.random.default_rng(seed)
    days = np.arange(count) / a_day
    season = -np.cos(2 * np.pi * (days - 20) / YEAR_DAYS)
    kept = np.exp(-1 / (4 * a_day))
    noise = draw.normal(0, 3.0 * np.sqrt(1 - kept**2), count)
    rain = (draw.random(count) < 0.15 / a_day) * draw.exponential(6, count)
    departure, flow, water = np.empty(count), np.empty(count), np.empty(count)
    off, store, heat = 0.0, 4.0, 4.0
    for step in range(count):
        off = kept * off + noise[step]
        store = store * np.exp(-1 / (8 * a_day)) + rain[step] + 0.2 / a_day
        departure[step], flow[step] = off, store
    air = 9 + 8 * season + departure
    if a_day > 1:
        air += 4 * (1.2 + season) * np.sin(2 * np.pi * (days - 0.35))
    speed = 1 - np.exp(-1 / (a_day * (0.8 + 0.4 * np.sqrt(flow))))
    for step in range(count):
        heat += speed[step] * (4 + 0.8 * air[step] - heat)
        water[step] = max(heat, 0.0)
    fields = {
        "step_minutes": step_minutes,
        "water_c": np.round(water + draw.normal(0, 0.15, count), 2),
        "year_share": days / YEAR_DAYS % 1,
        "air_c": np.round(air, 1),
        "flow": flow,
        **changes,
    }
    return WaterRecord(**fields)
