"""One gauge's history laid on its own step, as the river model reads it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.record import DAY_MINUTES, Array

Positions = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class RainRuns:
    """The archive of weather runs as they were issued.

    `origins`, shape (runs,), is the position in the history of the last step that was known when
    a run was issued. `rain_mm`, shape (runs, steps), is the rain of each step after it: column k
    is for position origin + 1 + k. NaN where a run carried none.
    """

    origins: Positions
    rain_mm: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """One gauge on its own step, every array of shape (steps,), gaps NaN.

    `level_m` [m]. `rain_mm` [mm a step] at position i is what fell in the step that leads up to
    level i: the hour that ends at its moment, or the day itself; what is known when level i is.
    `air_c` [degrees C] and `pet_mm` [mm a step] are means and sums over the same steps, None
    where there is none on file. `year_share` in [0, 1) is the season. `latitude` [degrees].
    """

    step_minutes: int
    level_m: Array
    rain_mm: Array | None
    air_c: Array | None
    pet_mm: Array | None
    year_share: Array
    latitude: float | None
    runs: RainRuns | None = None

    def __post_init__(self) -> None:
        if self.step_minutes not in (60, DAY_MINUTES):
            raise ValueError(f"step_minutes is {self.step_minutes}; 60 and 1440 are modelled.")
        for name in ("rain_mm", "air_c", "pet_mm", "year_share"):
            values = getattr(self, name)
            if values is not None and values.shape != self.level_m.shape:
                raise ValueError(
                    f"{name} has shape {values.shape}; the levels have {self.level_m.shape}."
                )

    @property
    def rain_or_gaps(self) -> Array:
        """Return the rain, all gaps where none is on file."""
        return self._or_gaps(self.rain_mm)

    @property
    def air_or_gaps(self) -> Array:
        """Return the air temperature, all gaps where none is on file."""
        return self._or_gaps(self.air_c)

    def _or_gaps(self, values: Array | None) -> Array:
        return np.full(self.level_m.shape, np.nan) if values is None else values

    @property
    def steps_a_day(self) -> int:
        """Return 24 or 1."""
        return DAY_MINUTES // self.step_minutes

    def until(self, count: int) -> History:
        """Return the history of the first `count` steps, as if nothing had come after."""
        return self.span(0, count)

    def span(self, first: int, end: int) -> History:
        """Return the steps from one position up to another, and the runs issued within them."""

        def part(values: Array | None) -> Array | None:
            return None if values is None else values[first:end]

        runs = self.runs
        if runs is not None:
            inside = (runs.origins >= first) & (runs.origins < end)
            runs = RainRuns(origins=runs.origins[inside] - first, rain_mm=runs.rain_mm[inside])
        return replace(
            self,
            level_m=self.level_m[first:end],
            rain_mm=part(self.rain_mm),
            air_c=part(self.air_c),
            pet_mm=part(self.pet_mm),
            year_share=self.year_share[first:end],
            runs=runs,
        )
