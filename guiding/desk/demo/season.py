"""Three invented years of one river, hour by hour, from a seed: the same seed, the same bytes.

Weather first: storms come as a Poisson process, more often in winter; air temperature is a yearly
and a daily wave with a slowly wandering anomaly. Then the river: a soil store decides how much of
the rain runs off, two quick stores in series make a sharp rise and a fall of days, a slow store
carries the dry weather, and a rating turns the flow into level. Water temperature follows an
S-shaped curve of air temperature with a lag. All constants are invented for this river; none was
fitted to a real one.

The last eight days are staged so that every demo opens on the same scene: dry, then a spate that
peaked two days ago, now fining down, with rain forecast on the fourth day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SEED = 20_260_301
THREE_YEARS_H = 3 * 365 * 24 + 24
AHEAD_H = 127  # five days of weather ahead, and the last six-hour step whole
HOURS_A_YEAR = 365.25 * 24

# staging, in hours from the anchor
DRY_FROM_H, STORM_FROM_H, STORM_TO_H = -192, -66, -56
RAIN_AHEAD_FROM_H, RAIN_AHEAD_TO_H, RAIN_AHEAD_MM = 78, 95, 17.0
STAGED_PEAK_M = 1.22

BIG_STORM_SHARE = 1 / 50

# the river: stores in mm over the catchment, times in hours, flow in mm an hour
SOIL_MM = 70.0
RISE_H, FALL_H, SLOW_H = 2.5, 17.0, 520.0
SEEPAGE_MM_H = 0.075
LEVEL_OF_NO_FLOW_M, LEVEL_AT_1MM_H, RATING_POWER = 0.20, 1.06, 0.54
# above this the river spreads over its meadows and can never pass MEADOW_M + MEADOW_ROOM_M
MEADOW_M, MEADOW_ROOM_M = 1.5, 0.85


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """The record up to `until`, and the weather of the hours after it.

    Every array is hourly from `starts_at`. `rain_mm` [mm] falls in the hour that begins at its
    time; the others are values at their time: `level_m` [m], `water_c` and `air_c` [degrees C],
    `wind_ms` [m/s], `wind_from_deg` [degrees], `cloud_percent` [%], `visibility_cm` [cm].
    `level_m`, `water_c` and `visibility_cm` end at `until`; the weather runs on AHEAD_H hours.
    """

    starts_at: datetime
    until: datetime
    level_m: Array
    water_c: Array
    visibility_cm: Array
    rain_mm: Array
    air_c: Array
    wind_ms: Array
    wind_from_deg: Array
    cloud_percent: Array

    @property
    def hours(self) -> int:
        """Return the number of hours that lie before `until`."""
        return len(self.level_m) - 1

    def moment(self, hour: int) -> datetime:
        """Return the aware UTC moment of a position in the arrays."""
        return self.starts_at + timedelta(hours=hour)

    def rows(self, quantity: str) -> list[tuple[datetime, float]]:
        """Return (moment, value) for every observed hour, without a gap.

        Rain ends an hour before the others: the hour that begins at `until` has yet to fall.
        """
        values = getattr(self, quantity)[: self.hours + (quantity != "rain_mm")]
        return [(self.moment(i), float(value)) for i, value in enumerate(values)]

    def visibility_rows(self) -> list[tuple[datetime, float]]:
        """Return the looks at a disc in the water: every fourth day, oftener in the last two."""
        looked = []
        for hour in range(self.hours + 1):
            moment, is_late = self.moment(hour), hour > self.hours - 48
            if (moment.hour == 9 and (is_late or moment.toordinal() % 4 == 0)) or (
                moment.hour == 15 and is_late
            ):
                looked.append(hour)
        return [(self.moment(i), float(5 * round(self.visibility_cm[i] / 5))) for i in looked]


def make_season(*, until: datetime, hours: int = THREE_YEARS_H, seed: int = SEED) -> Season:
    """Return the invented season that ends at a full hour.

    Parameters
    ----------
    until : aware datetime
        the anchor: minutes and below must be nought.
    hours : int
        length of the record [h], at least 30 days.
    seed : int
        the same seed, moment and length give the same bytes.

    Raises
    ------
    ValueError
        if `until` is not an aware full hour, or the record is shorter than 30 days.
    """
    if until.tzinfo is None or (until.minute, until.second, until.microsecond) != (0, 0, 0):
        raise ValueError(f"until is {until}; an aware full hour is needed.")
    if hours < 30 * 24:
        raise ValueError(f"hours is {hours}; at least {30 * 24} are needed.")
    until = until.astimezone(UTC)
    starts_at = until - timedelta(hours=hours)
    count = hours + 1 + AHEAD_H
    rng = np.random.Generator(np.random.PCG64(seed))
    year_start = datetime(starts_at.year, 1, 1, tzinfo=UTC)
    hour: Array = np.arange(count, dtype=np.float64)
    hour_of_year = (starts_at - year_start).total_seconds() / 3600 + hour
    year: Array = np.asarray(2 * np.pi * hour_of_year / HOURS_A_YEAR, dtype=np.float64)
    clock: Array = (starts_at.hour + hour) % 24

    rain = _storms(rng, year, clear_from=hours + DRY_FROM_H)
    air = _air(rng, year, clock, rain)
    rain = _stage(rain, year, hours)
    flow_rain = rain[:hours]
    level, _ = _river(flow_rain, year, _start_of_river())
    level += _wander(rng, hours + 1, sd=0.0015, memory_h=3)
    return Season(
        starts_at=starts_at,
        until=until,
        level_m=np.round(level, 3),
        water_c=np.round(_water(air[: hours + 1]), 1),
        visibility_cm=_visibility(level),
        rain_mm=rain,
        air_c=np.round(air, 1),
        wind_ms=np.round(_wind(rng, year), 1),
        wind_from_deg=np.round((235 + _wander(rng, count, sd=55, memory_h=20)) % 360, 0) % 360,
        cloud_percent=_cloud(rng, rain),
    )


def _wander(rng: np.random.Generator, count: int, *, sd: float, memory_h: float) -> Array:
    """Return a first-order autoregressive wander with mean nought."""
    keep = np.exp(-1 / memory_h)
    shocks = rng.normal(0, sd * np.sqrt(1 - keep**2), count)
    out = np.empty(count)
    now = 0.0
    for i, shock in enumerate(shocks):
        now = keep * now + shock
        out[i] = now
    return out


def _hump(rng: np.random.Generator, total_mm: float, length_h: int) -> Array:
    """Return one storm: more in its middle, ragged, in the 0.2 mm tips of a rain gauge."""
    shape = np.sin(np.pi * (np.arange(length_h) + 0.5) / length_h) * rng.gamma(3, 1 / 3, length_h)
    return np.round(total_mm * shape / shape.sum() / 0.2) * 0.2


def _storms(rng: np.random.Generator, year: Array, *, clear_from: int) -> Array:
    """Return hourly rain [mm]; nothing falls from `clear_from` on, which is staged later."""
    count = len(year)
    rain = np.zeros(count + 48)
    storms_a_day = 0.35 + 0.10 * np.cos(year - 2 * np.pi * 345 / 365)
    starts = np.flatnonzero(rng.random(count) < storms_a_day / 24)
    for start in starts:
        length_h = int(rng.integers(3, 22))
        total_mm = rng.gamma(0.66, 13.5) * (3 if rng.random() < BIG_STORM_SHARE else 1)
        rain[start : start + length_h] += _hump(rng, total_mm, length_h)
    rain[clear_from:] = 0
    return np.round(rain[:count], 1)


def _air(rng: np.random.Generator, year: Array, clock: Array, rain: Array) -> Array:
    """Return air temperature [degrees C]: coldest in late January, warmest in mid-afternoon."""
    warmth = -np.cos(year - 2 * np.pi * 24 / 365)
    day = (2.4 + 1.3 * warmth) * -np.cos(2 * np.pi * (clock - 3) / 24)
    return (
        8.4
        + 5.9 * warmth
        + day * np.where(rain > 0, 0.5, 1)
        + _wander(rng, len(year), sd=2.5, memory_h=70)
    )


def _water(air: Array) -> Array:
    """Return water temperature [degrees C]: an S-curve of air that has been smoothed by a lag.

    Notes
    -----
    The S-curve has the form of Mohseni, Stefan & Erickson 1998, Water Resour. Res. 34:2685
    (quoted from memory), with invented constants; it keeps the water between 0.6 and 22.6.
    """
    lag_h = 30.0
    out = np.empty(len(air))
    now = float(air[: 7 * 24].mean())
    for i, warmth in enumerate(air):
        now += (warmth - now) / lag_h
        out[i] = 0.6 + 22 / (1 + np.exp(0.18 * (12.4 - now)))
    return out


def _wind(rng: np.random.Generator, year: Array) -> Array:
    """Return wind [m/s], stronger in winter."""
    middle = np.log(3.6 + 1.1 * np.cos(year - 2 * np.pi * 15 / 365))
    gusty: Array = np.exp(middle + _wander(rng, len(year), sd=0.45, memory_h=14))
    return gusty


def _cloud(rng: np.random.Generator, rain: Array) -> Array:
    """Return cloud [%]: nearly whole in rain."""
    mood = _wander(rng, len(rain), sd=1.4, memory_h=10) + 0.5 + 3 * (rain > 0)
    return np.round(100 / (1 + np.exp(-mood)))


def _start_of_river() -> tuple[float, float, float, float]:
    """Return the stores at the start: soil [mm], two quick flows and a slow flow [mm/h]."""
    return 0.6 * SOIL_MM, 0.0, 0.0, 0.028


def _river(
    rain: Array, year: Array, state: tuple[float, float, float, float]
) -> tuple[Array, list[tuple[float, float, float, float]]]:
    """Return level [m] at every hour, one more than `rain` [mm], and the stores at every hour."""
    soil, rising, falling, slow = state
    states = [state]
    thirst_mm_h = 0.075 - 0.062 * np.cos(year[: len(rain)] - 2 * np.pi * 15 / 365)
    for fall, thirst in zip(rain.tolist(), thirst_mm_h.tolist(), strict=True):
        wet = soil / SOIL_MM
        running = fall * (0.06 + 0.80 * wet * wet)
        seeping = SEEPAGE_MM_H * wet * wet
        soil = min(SOIL_MM, max(0.0, soil + fall - running - seeping - thirst * wet))
        rising += (running - rising) / RISE_H
        falling += (rising - falling) / FALL_H
        slow += (seeping - slow) / SLOW_H
        states.append((soil, rising, falling, slow))
    flow = np.array([falling + slow for _, _, falling, slow in states])
    return _level(flow), states


def _level(flow_mm_h: Array) -> Array:
    """Return level [m] from flow [mm/h]; it flattens out once the meadows are wet."""
    free = LEVEL_OF_NO_FLOW_M + LEVEL_AT_1MM_H * flow_mm_h**RATING_POWER
    over = np.maximum(free - MEADOW_M, 0)
    return np.minimum(free, MEADOW_M) + MEADOW_ROOM_M * (1 - np.exp(-over / MEADOW_ROOM_M))


def _stage(rain: Array, year: Array, hours: int) -> Array:
    """Return the rain with the last spate put in, as large as its peak asks for."""
    storm, ahead = slice(hours + STORM_FROM_H, hours + STORM_TO_H), rain.copy()
    shape = np.sin(np.pi * (np.arange(STORM_TO_H - STORM_FROM_H) + 0.5) / 10) ** 2
    _, states = _river(rain[: storm.start], year, _start_of_river())
    low_mm, high_mm = 0.0, 300.0
    for _ in range(24):
        total_mm = (low_mm + high_mm) / 2
        ahead[storm] = total_mm * shape / shape.sum()
        level, _ = _river(ahead[storm.start : hours], year[storm.start : hours], states[-1])
        low_mm, high_mm = (low_mm, total_mm) if level.max() > STAGED_PEAK_M else (total_mm, high_mm)
    ahead[storm] = np.round(ahead[storm] / 0.2) * 0.2
    coming = slice(hours + RAIN_AHEAD_FROM_H, hours + RAIN_AHEAD_TO_H)
    hump = np.sin(np.pi * (np.arange(RAIN_AHEAD_TO_H - RAIN_AHEAD_FROM_H) + 0.5) / 17)
    ahead[coming] = RAIN_AHEAD_MM * hump / hump.sum()
    return np.round(ahead, 1)


def _visibility(level: Array) -> Array:
    """Return how far a white disc is seen [cm]: a rise stirs the bed, days let it settle."""
    stirred = 0.0
    out = np.empty(len(level))
    rises = np.diff(level, prepend=level[0])
    for i, rise in enumerate(rises):
        stirred += max(0.0, float(rise) - 0.004) * 6 - stirred / 20
        out[i] = 15 + 165 / (1 + 2.2 * stirred + 1.4 * max(0.0, float(level[i]) - 0.35))
    return out
