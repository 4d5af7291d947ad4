"""What water temperature is explained by: the season, the air's departure from it, the river."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.pseudo_flow import pseudo_flow_of
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

RIDGE = 1e-4  # of each term's own variance: enough to keep like terms apart
RIVER_OFFSET = 0.01  # keeps the logarithm of a dry river finite
LOWEST_DEPTH_M = 0.01  # a level under the lowest on file less 0.15 m is taken as this much over it
HARMONICS = 4  # sine and cosine of the year and of half of it


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterRecord:
    """One gauge on its own step, gaps NaN; every array has shape (steps,).

    `flow` may be in any unit: only its ratio to its own mean counts. Where it is None, `level_m`
    stands for it. `begins_hour` is the hour of the day of the first step, by a clock without clock
    changes (UTC); a daily record does not look at it.
    """

    step_minutes: int  # 60 or 1440
    water_c: Array
    year_share: Array  # [0, 1)
    air_c: Array | None = None
    flow: Array | None = None
    level_m: Array | None = None
    begins_hour: float = 0.0

    def __post_init__(self) -> None:
        if self.step_minutes not in (60, DAY_MINUTES):
            raise ValueError(f"step_minutes is {self.step_minutes}; 60 and 1440 are modelled.")
        for name in ("year_share", "air_c", "flow", "level_m"):
            values = getattr(self, name)
            if values is not None and values.shape != self.water_c.shape:
                raise ValueError(
                    f"{name} has shape {values.shape}; the water has {self.water_c.shape}."
                )

    @property
    def steps_a_day(self) -> int:
        """Return 24 or 1."""
        return DAY_MINUTES // self.step_minutes

    @property
    def river(self) -> str:
        """Return what stands for the river: "flow", "level" or "none"."""
        if self.flow is not None and np.isfinite(self.flow).any():
            return "flow"
        return "level" if self.level_m is not None and np.isfinite(self.level_m).any() else "none"

    def part(self, start: int, end: int) -> Self:
        """Return the steps from `start` to the one before `end`."""
        hours = (self.begins_hour + start * self.step_minutes / 60) % 24
        return replace(
            self,
            begins_hour=hours,
            **{
                name: values[start:end]
                for name in ("water_c", "year_share", "air_c", "flow", "level_m")
                if (values := getattr(self, name)) is not None
            },
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """How the record's series become terms: what was learned of air and river on the record.

    `air_normal` are the coefficients of the air's normal on the season's terms, empty without air;
    `fast_days` and `slow_days` the e-folding times of its two means; `river` what stands for the
    river, `river_mean` its mean and, for a level, `floor_m` [m] where its pseudo-flow is nought.
    """

    step_minutes: int
    air_normal: tuple[float, ...] = ()
    fast_days: float = 1.0
    slow_days: float = 8.0
    river: str = "none"
    river_mean: float = 1.0
    floor_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Drivers:
    """The series that rows are made of, shape (n,) each, `season` (n, terms); None: not there."""

    season: Array
    air: Array | None = None  # departure from its normal [degrees C]
    fast: Array | None = None  # its means
    slow: Array | None = None
    river: Array | None = None  # ln(ratio to the mean + 0.01)

    def at(self, places: NDArray[np.intp]) -> Drivers:
        """Return the drivers of some steps."""

        def taken(values: Array | None) -> Array | None:
            return None if values is None else values[places]

        return Drivers(
            season=self.season[places],
            air=taken(self.air),
            fast=taken(self.fast),
            slow=taken(self.slow),
            river=taken(self.river),
        )

    def without(self, *, air: bool, river: bool) -> Drivers:
        """Return the drivers with the air or the river left out where that is False."""
        kept = self if air else replace(self, air=None, fast=None, slow=None)
        return kept if river else replace(kept, river=None)


def season_terms(record: WaterRecord) -> Array:
    """Return the season's terms (steps, 4 or 12): the year, and in an hourly record the day.

    Sine and cosine of the year and half of it; of the day and half of it, and the day's with the
    year's, for days that swing more in summer than in winter.
    """
    year = 2 * np.pi * record.year_share
    columns = [np.sin(year), np.cos(year), np.sin(2 * year), np.cos(2 * year)]
    if record.step_minutes != DAY_MINUTES:
        hours = record.begins_hour + np.arange(year.size) * record.step_minutes / 60
        day = 2 * np.pi * (hours % 24) / 24
        columns += [np.sin(day), np.cos(day), np.sin(2 * day), np.cos(2 * day)]
        columns += [a * b for a in columns[4:6] for b in columns[0:2]]
    return np.column_stack(columns)


def learn_terms(record: WaterRecord, *, fast_days: float, slow_days: float) -> Terms:
    """Return the terms learned on a record: the air's normal, the river's mean and floor."""
    river = record.river
    terms = Terms(
        step_minutes=record.step_minutes, fast_days=fast_days, slow_days=slow_days, river=river
    )
    if record.air_c is not None and np.isfinite(record.air_c).any():
        normal = least_squares(_with_one(season_terms(record)), record.air_c)
        terms = replace(terms, air_normal=tuple(float(v) for v in normal))
    if river == "flow":
        terms = replace(terms, river_mean=_mean_above_nought(record.flow))
    elif river == "level" and record.level_m is not None:
        floor_m = pseudo_flow_of(record.level_m).floor_m
        mean = _mean_above_nought((record.level_m - floor_m) ** 2)
        terms = replace(terms, floor_m=floor_m, river_mean=mean)
    return terms


def drivers_of(record: WaterRecord, terms: Terms) -> Drivers:
    """Return the drivers of every step; causal: a step's driver looks at nothing after it.

    A gap in the air counts as normal for the season in its two means, and stays NaN in `air`.
    """
    season = season_terms(record)
    drivers = Drivers(season=season, river=_river(record, terms))
    if not terms.air_normal or record.air_c is None:
        return drivers
    air = record.air_c - _with_one(season) @ np.array(terms.air_normal)
    return replace(
        drivers,
        air=air,
        fast=running_mean(air, terms.fast_days * record.steps_a_day),
        slow=running_mean(air, terms.slow_days * record.steps_a_day),
    )


def _river(record: WaterRecord, terms: Terms) -> Array | None:
    if terms.river == "flow" and record.flow is not None:
        return np.log(np.maximum(record.flow, 0) / terms.river_mean + RIVER_OFFSET)
    if terms.river == "level" and record.level_m is not None:
        depth = np.maximum(record.level_m - terms.floor_m, LOWEST_DEPTH_M)
        return np.log(depth**2 / terms.river_mean + RIVER_OFFSET)
    return None


def rows_of(drivers: Drivers) -> tuple[Array, slice, slice]:
    """Return the rows of the regression (n, terms), and which columns are the air's, the river's.

    One, the season; the air's departure, its two means, and each mean with the year's sine and
    cosine; the river alone, with the year's sine and cosine (in an hourly record also the day's),
    and with the fast mean.
    """
    season = drivers.season
    sine, cosine = season[:, 0], season[:, 1]
    air: list[Array] = []
    river: list[Array] = []
    if drivers.air is not None and drivers.fast is not None and drivers.slow is not None:
        air = [drivers.air]
        for mean in (drivers.fast, drivers.slow):
            air += [mean, mean * sine, mean * cosine]
    if drivers.river is not None:
        river = [drivers.river, drivers.river * sine, drivers.river * cosine]
        river += [drivers.river * season[:, i] for i in (4, 5) if season.shape[1] > HARMONICS]
        if drivers.fast is not None:
            river.append(drivers.river * drivers.fast)
    first = 1 + season.shape[1]
    rows = np.column_stack([_with_one(season), *air, *river])
    return rows, slice(first, first + len(air)), slice(first + len(air), rows.shape[1])


def running_mean(values: Array, span_steps: float) -> Array:
    """Return the exponential running mean (n,) of a series that is about nought; NaN counts as 0.

    `span_steps` is its e-folding time; it starts from nought.
    """
    share = 1 - np.exp(-1 / span_steps)
    mean, out = 0.0, []
    for value in np.nan_to_num(values).tolist():
        mean += share * (value - mean)
        out.append(mean)
    return np.array(out)


def least_squares(rows: Array, target: Array, ridge: float = RIDGE) -> Array:
    """Return the coefficients (terms,) of rows (n, terms) whose first column is one.

    Rows with a NaN are left out. `ridge` is a share of each term's own variance, so that units do
    not matter; a term that never varies gets nought.
    """
    known = np.isfinite(rows).all(axis=1) & np.isfinite(target)
    rows, target = rows[known, 1:], target[known]
    if not target.size:
        return np.zeros(rows.shape[1] + 1)
    means, spreads = rows.mean(axis=0), rows.std(axis=0)
    scaled = (rows - means) / np.where(spreads > 1e-12, spreads, np.inf)
    middle = target.mean()
    gram = scaled.T @ scaled + (ridge * target.size + 1e-12) * np.eye(rows.shape[1])
    slopes = np.linalg.solve(gram, scaled.T @ (target - middle))
    slopes = slopes / np.where(spreads > 1e-12, spreads, np.inf)
    return np.concatenate([[middle - slopes @ means], slopes])


def _with_one(columns: Array) -> Array:
    return np.column_stack([np.ones(len(columns)), columns])


def _mean_above_nought(values: Array | None) -> float:
    known = np.array([]) if values is None else values[np.isfinite(values)]
    mean = float(np.maximum(known, 0).mean()) if known.size else 1.0
    return mean if mean > 0 else 1.0
