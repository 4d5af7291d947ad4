"""The shape of a forecast: paths, quantiles, chances, and what it was made from."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DAY_MINUTES = 1440
LOW = "low"  # the class below the lowest mark


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
class WaterAhead:
    """A forecast of water temperature [degrees C] as it was issued, with its band.

    `times` as in the forecast of level that it stands beside; `q10` to `q90` are None where the
    model does not know. `says` must be said in words wherever a value is shown.
    """

    model: str
    times: tuple[datetime, ...]
    q10: tuple[float | None, ...]
    q50: tuple[float | None, ...]
    q90: tuple[float | None, ...]
    says: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return what a row keeps."""
        return {
            "model": self.model,
            "times": [moment.isoformat() for moment in self.times],
            "q10": list(self.q10),
            "q50": list(self.q50),
            "q90": list(self.q90),
            "says": list(self.says),
        }

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> WaterAhead:
        """Return what a row kept."""
        return cls(
            model=kept["model"],
            times=tuple(datetime.fromisoformat(text) for text in kept["times"]),
            q10=tuple(kept["q10"]),
            q50=tuple(kept["q50"]),
            q90=tuple(kept["q90"]),
            says=tuple(kept["says"]),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastRecord:
    """A forecast of level as it was issued.

    `times` are aware UTC, one a step ahead. In an hourly record a time is the moment the level
    stands for. In a daily record it is the start of the day whose mean the value is, as in the
    record itself: the value speaks for the 24 hours from there. `q10`, `q50`, `q90` are in metres,
    None where the model does not know. `paths` [m] has shape (paths, steps), NaN where not known,
    or is None where whole paths were not kept.
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
    water: WaterAhead | None = None

    def steps_between(self, start: datetime, end: datetime) -> list[int]:
        """Return the positions of the steps that speak for [start, end].

        Hourly: those whose moment lies in the interval. Daily: those whose day touches it.
        """
        if not self.is_daily:
            return [i for i, moment in enumerate(self.times) if start <= moment <= end]
        day = timedelta(days=1)
        return [i for i, moment in enumerate(self.times) if moment <= end and start < moment + day]

    @property
    def is_daily(self) -> bool:
        """Say whether a step is the mean of a day and not the level at a moment."""
        return self.step_minutes == DAY_MINUTES

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

    def class_chances(
        self, marks: Sequence[MarkLevel], start: datetime, end: datetime
    ) -> tuple[tuple[str, float], ...]:
        """Return the chance of each class of level in [start, end], low water first.

        A class's chance is the share of (path, step) pairs in it, so that the chances sum to 1: a
        class that fills half of the hours on every path has 0.5. Empty where no path covers the
        whole interval or no marks are on file: unknown is not a chance of nought.
        """
        paths = self._whole(start, end)
        if paths is None or not marks:
            return ()
        ordered = sorted(marks, key=lambda mark: mark.level_m)
        # how many marks each value has reached; 0 is low
        reached = np.searchsorted([m.level_m for m in ordered], paths.ravel(), side="right")
        counts = np.bincount(reached, minlength=len(ordered) + 1)
        names = (LOW, *(mark.kind for mark in ordered))
        return tuple(
            (name, float(count / reached.size)) for name, count in zip(names, counts, strict=True)
        )

    def _whole(self, start: datetime, end: datetime) -> Array | None:
        if self.paths is None or not self.times or end > self.ends_at:
            return None
        steps = self.steps_between(start, end)
        if not steps:
            return None
        part = self.paths[:, steps]
        return None if np.isnan(part).any() else part

    @property
    def ends_at(self) -> datetime:
        """Return the end of the last step."""
        return self.times[-1] + (timedelta(days=1) if self.is_daily else timedelta(0))


def class_of(level_m: float, marks: Sequence[MarkLevel]) -> str | None:
    """Return the class a level is in: `low`, or the kind of the highest mark it has reached.

    A level equal to a mark has reached it. None where no marks are on file.
    """
    if not marks:
        return None
    reached = [mark for mark in marks if level_m >= mark.level_m]
    return max(reached, key=lambda mark: mark.level_m).kind if reached else LOW


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
