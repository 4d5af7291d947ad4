"""The shape of a forecast: paths, quantiles, chances, and what it was made from."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One thing the forecast was made from. `observed_at` None: there was none."""

    what: str
    observed_at: datetime | None
    age_hours: float | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkLevel:
    """A mark as plain values; `kind` is one of summer, good, high, big, over_bank."""

    kind: str
    name: str
    level_m: float
    seen: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkChance:
    """The chance of passing a mark within 24, 48 and 120 h, each None where not known."""

    name: str
    level_m: float
    direction: str  # "rise_above" or "fall_below"
    p24: float | None
    p48: float | None
    p120: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastRecord:
    """A forecast of level as it was issued.

    `times` are the ends of the steps ahead, aware UTC. `q10`, `q50`, `q90` are in metres, None
    where the model does not know. `paths` [m] has shape (paths, steps), NaN where not known, or is
    None where whole paths were not kept.
    """

    issued_at: datetime
    model: str
    step_minutes: int
    times: tuple[datetime, ...]
    q10: tuple[float | None, ...]
    q50: tuple[float | None, ...]
    q90: tuple[float | None, ...]
    paths: Array | None
    inputs: tuple[Input, ...]
    says: tuple[str, ...] = ()

    def steps_between(self, start: datetime, end: datetime) -> list[int]:
        """Return the positions of the steps whose time lies in [start, end]."""
        return [i for i, moment in enumerate(self.times) if start <= moment <= end]

    def chance_above(self, level_m: float, start: datetime, end: datetime) -> float | None:
        """Return the share of whole paths at or above a level at some step in [start, end].

        None where no path covers the whole interval: unknown is not a chance of nought.
        """
        paths = self._whole(start, end)
        return None if paths is None else float((paths >= level_m).any(axis=1).mean())

    def chance_below(self, level_m: float, start: datetime, end: datetime) -> float | None:
        """Return the share of whole paths below a level at some step in [start, end], or None."""
        paths = self._whole(start, end)
        return None if paths is None else float((paths < level_m).any(axis=1).mean())

    def _whole(self, start: datetime, end: datetime) -> Array | None:
        if self.paths is None or not self.times or end > self.times[-1]:
            return None
        steps = self.steps_between(start, end)
        if not steps:
            return None
        part = self.paths[:, steps]
        return None if np.isnan(part).any() else part


def pack_paths(paths: Array) -> bytes:
    """Return paths [m] as compressed millimetres, -32768 for NaN, behind their two lengths."""
    millimetres = np.where(np.isnan(paths), -32768, np.round(paths * 1000)).astype("<i2")
    shape = np.array(paths.shape, dtype="<i4").tobytes()
    return shape + zlib.compress(millimetres.tobytes(), 6)


def unpack_paths(data: bytes) -> Array:
    """Return the array that pack_paths was given, to the millimetre."""
    rows, columns = np.frombuffer(data[:8], dtype="<i4")
    flat = np.frombuffer(zlib.decompress(data[8:]), dtype="<i2").reshape(rows, columns)
    return np.where(flat == -32768, np.nan, flat / 1000.0)
