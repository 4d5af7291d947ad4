"""Whether a person may wade a pool at a level: all criteria, the decider, the stop level."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from guiding.sources import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """A measured depth [m] and speed [m/s] at one spot with the gauge at `level_m`."""

    level_m: float
    depth_m: float
    speed_ms: float | None
    spot: str = ""
    measured_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wader:
    """What decides for a person. None is not known, and is treated as the careful case."""

    height_m: float | None = None
    mass_kg: float | None = None
    age: int | None = None
    is_frail: bool = False
    is_nervous: bool = False
    confidence: str | None = None  # "novice", "used", "strong"


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What the water and the light do besides depth and speed. None: not known."""

    rise_cm_h: float | None = None
    rise_is_flagged: bool | None = None
    is_coloured: bool | None = None
    visibility_cm: float | None = None
    has_ice: bool | None = None
    is_night: bool | None = None
    was_walked_today: bool | None = None
    regime: str = "natural"


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One criterion at one depth and speed. `verdict`: over, at_limit, under or not_known."""

    name: str
    value: float | None
    limit: float | None
    unit: str
    decides: bool
    verdict: str
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Wading:
    """The answer. `verdict`: stop, at_limit, no_stop_found or not_known."""

    depth_m: float | None
    speed_ms: float | None
    criteria: tuple[Criterion, ...]
    decider: str | None
    verdict: str
    stop_level_m: float | None
    unchecked: tuple[str, ...]
    text: str
    client_text: str


def judge(
    *,
    depth_m: float,
    speed_ms: float,
    wader: Wader,
    circumstances: Circumstances,
    omitted_is_absent: bool = False,
) -> Wading:
    """Judge one depth and speed for one person."""
    raise NotImplementedError


def judge_pool(
    *,
    soundings: tuple[Sounding, ...],
    level_m: float | None,
    ratio: float,
    over_bank_since: date | None,
    today: date,
    wader: Wader,
    circumstances: Circumstances,
    omitted_is_absent: bool = False,
) -> Wading:
    """Judge a pool, all its spots, at a gauge level for one person, with its stop level."""
    raise NotImplementedError
