"""A seeded river of our own: showers, a quick and a slow store, a level. Nobody's record."""

import numpy as np

from guiding.gauges.hydrology.bands import RiverRecord


def invented_river(years: float, step_minutes: int = 60, seed: int = 7):
    """Return level [m] and rain [mm a step] of `years` years.

    Rain comes in showers whose gaps and amounts are exponential, more of them in winter. Half of
    it fills a quick store (e-folding 12 h), half a slow one (20 d); level = 0.2 + 0.35 sqrt(flow).
    """
    a_day = 1440 // step_minutes
    count = int(years * 365.25 * a_day)
    draw = np.random.default_rng(seed)
    season = 1 + 0.4 * np.cos(2 * np.pi * np.arange(count) / (365.25 * a_day))
    falls = draw.random(count) < 0.35 / a_day * season
    burst = falls * draw.exponential(9.0, count)
    lasting = max(1, a_day // 4)
    rain = np.convolve(burst, np.full(lasting, 1 / lasting))[:count]
    quick, slow = np.exp(-2 / a_day), np.exp(-1 / (20 * a_day))
    flow = np.empty(count)
    fast, base = 0.0, 40.0
    for step in range(count):
        flow[step] = fast * (1 - quick) + base * (1 - slow)
        fast = fast * quick + rain[step] / 2
        base = base * slow + rain[step] / 2
    level = 0.2 + 0.35 * np.sqrt(flow * a_day / 3)
    return np.round(level + draw.normal(0, 0.002, count), 3), rain


def record_to(level, rain, until: int, step_minutes: int = 60, late: int = 0) -> RiverRecord:
    """Return the record as it stood with its last level at `until` - late."""
    a_day = 1440 // step_minutes
    known = level[: until + 1].copy()
    known[until + 1 - late :] = np.nan
    share = np.arange(until + 1) / (365.25 * a_day) % 1
    return RiverRecord(
        step_minutes=step_minutes,
        level_m=known,
        rain_mm=None if rain is None else rain[: until + 1],
        year_share=share,
    )
