"""Water temperature: least squares of season, air and flow, fitted and carried ahead with a band."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from guiding.gauges.hydrology.record import Array

MODEL = "season, air and flow, 1"

WARM_UP_DAYS = 180  # how much of the past `recent` should hold, for the slow mean of the air


class TooLittle(ValueError):
    """There is too little on file to fit; the message says what there is and what it takes."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterFit:
    """A fitted model as plain values. `air` says what its band was made for: true or forecast."""

    model: str
    step_minutes: int
    air: str  # "true", "forecast", or "none" on file
    river: str  # "flow", "level", or "none" on file
    values: dict[str, Any]

    def as_json(self) -> dict[str, Any]:
        """Return what a row keeps: plain numbers, lists and text only."""
        raise NotImplementedError

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> WaterFit:
        """Return what a row kept; ValueError where it was kept by another version."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterOutlook:
    """Quantiles of the next steps [degrees C], shape (steps,), NaN where not known."""

    q10: Array
    q50: Array
    q90: Array
    says: tuple[str, ...]


def fit_water(record: WaterRecord, *, air: str = "forecast", seed: int = 1) -> WaterFit:
    """Return the model fitted on a record: numpy only, a second or so.

    `air` "forecast": the band is made for air and flow that are themselves forecast; "true": for
    air and flow as they were measured. Raises TooLittle where the record holds too little.
    """
    raise NotImplementedError


def water_ahead(
    fit: WaterFit,
    recent: WaterRecord,
    *,
    steps: int,
    air_ahead_c: Array | None,
    river_ahead: Array | None,
) -> WaterOutlook:
    """Return the water of the next steps after `recent`.

    Parameters
    ----------
    recent : up to the step before the first one asked for; the last water may be some steps back
    steps : how many steps to give
    air_ahead_c : (steps,) forecast of the air [degrees C], NaN where it carries none
    river_ahead : (steps,) median forecast of the level [m] (of the flow, where `fit.river` is
        "flow" and `recent.flow` is given, in its unit), NaN where not known
    """
    raise NotImplementedError
