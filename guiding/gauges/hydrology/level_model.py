"""A fitted river model at work: from recent history and the rain to come to whole paths."""

from __future__ import annotations

from dataclasses import dataclass

from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.outlook import Outlook
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

MODEL = "rain stores and like errors, 1"

# how much recent history look_ahead wants before its first step: a year fills the slow store
WARM_UP_STEPS = {60: 365 * 24, DAY_MINUTES: 365}


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadScore:
    """How a fit did at one lead on blocks of its own history that it was not fitted on.

    `lead` in steps; `n` origins; `rmse` and `crps` [m]; `pi` (persistence index) and `crpss`
    (against persistence with its own errors), 1 is perfect and 0 is no better than "it stays as
    it is"; `cover80` is the share of outcomes inside the 80 % band.
    """

    lead: int
    n: int
    rmse: float
    pi: float
    crps: float
    crpss: float
    cover80: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelFit:
    """All that a forecast needs of a fit.

    `parameters` are the named numbers of the stores (mm, steps) and of the pseudo-flow (m).
    `rain` says what rain the band was trained on: "true", "degraded", "archive" or "none".
    `scores` are cross-validated, one a lead. `arrays` hold regressions and past errors.
    """

    step_minutes: int
    model: str
    parameters: dict[str, float]
    rain: str
    scores: tuple[LeadScore, ...]
    arrays: dict[str, Array]


def look_ahead(
    fit: LevelFit,
    recent: History,
    *,
    steps: int,
    rain_ahead_mm: Array | None,
    air_ahead_c: Array | None,
) -> Outlook:
    """Return whole paths of the steps after the last row of a recent history.

    Parameters
    ----------
    fit : LevelFit
    recent : History
        Up to the step before the first one asked for, `WARM_UP_STEPS` of it or less; the last
        level may be some steps back.
    steps : int
        How many steps to give, at most as many as were fitted.
    rain_ahead_mm : (steps,) or None
        Rain forecast [mm a step] of the steps after the last row, NaN where the run carries none.
        None: there is no run, and the band is the one trained without any.
    air_ahead_c : (steps,) or None
        Air temperature forecast [degrees C]; used where the fit holds a snow store.
    """
    raise NotImplementedError


def pack_fit(fit: LevelFit) -> bytes:
    """Return a fit as bytes to be kept; nothing in them can run when they are read back."""
    raise NotImplementedError


def unpack_fit(data: bytes) -> LevelFit:
    """Return the fit that pack_fit was given.

    Raises
    ------
    ValueError
        The bytes are not a fit.
    """
    raise NotImplementedError
