"""The levels that a forecast gives at the leads it will be scored at, kept small, and their score.

Whole paths are heavy and soon go. What is kept of them until a forecast is scored are a hundred
quantiles a lead, of the forecast and of "it stays as it is".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from guiding.gauges.hydrology.record import DAY_MINUTES, Array, pack_paths, unpack_paths
from guiding.gauges.hydrology.scores import crps_ensemble

# the leads of the record's page; a daily record has one a day
LEAD_HOURS = {60: (6, 24, 48, 72, 120), DAY_MINUTES: (24, 48, 72, 96, 120)}
KEPT = 100  # quantiles a lead: its CRPS is within a hundredth of that of all paths
MILLIMETRE = 0.001  # forecasts are issued to it
FEWEST_CHANGES = 100  # of the gauge's own over a lead, before they stand for its habit


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """Quantiles [m] at the leads that are scored, each (leads, 100), NaN where not known.

    `ours` of the forecast, `stays` of "it stays as it is"; `now_m` the level it stays at.
    """

    ours: Array
    stays: Array
    now_m: float

    def packed(self) -> bytes:
        """Return them as compressed millimetres."""
        now = np.full((1, KEPT), self.now_m)
        return pack_paths(np.concatenate([self.ours, self.stays, now]))

    @classmethod
    def unpacked(cls, data: bytes) -> Spreads:
        """Return what packed() gave."""
        rows = unpack_paths(data)
        leads = (len(rows) - 1) // 2
        return cls(ours=rows[:leads], stays=rows[leads:-1], now_m=float(rows[-1, 0]))


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadOutcome:
    """How one lead of one forecast did [m]; None where it cannot be told."""

    crps: float
    stays: float
    stays_crps: float | None
    is_inside: bool


def spreads_of(paths: Array, level_m: Array, *, step_minutes: int, late: int) -> Spreads:
    """Return what is kept of a forecast for its score.

    Parameters
    ----------
    paths : (paths, steps)
        The forecast [m], NaN where not known.
    level_m : (record,)
        The levels that were on file, the last known one `late` steps before the end.
    step_minutes : int
    late : int
        Steps from the last known level to the step before the forecast's first.

    Notes
    -----
    "It stays as it is" has the spread of the record's own changes over as many steps, as far as it
    was on file when the forecast was made: nothing that came later is in it.
    """
    leads = lead_steps(step_minutes)
    now_m = float(level_m[len(level_m) - 1 - late])
    shares = (np.arange(KEPT) + 0.5) / KEPT
    ours, stays = np.full((2, len(leads), KEPT), np.nan)
    for place, lead in enumerate(leads):
        if lead <= paths.shape[1] and np.isfinite(paths[:, lead - 1]).all():
            ours[place] = np.quantile(paths[:, lead - 1], shares)
        changes = level_m[lead + late :] - level_m[: len(level_m) - lead - late]
        changes = changes[np.isfinite(changes)]
        if changes.size >= FEWEST_CHANGES:
            stays[place] = now_m + np.quantile(changes, shares)
    return Spreads(ours=ours, stays=stays, now_m=now_m)


def lead_steps(step_minutes: int) -> tuple[int, ...]:
    """Return the scored leads in steps of the record."""
    return tuple(hours * 60 // step_minutes for hours in LEAD_HOURS[step_minutes])


def lead_outcome(
    spreads: Spreads, place: int, band: tuple[float, float], seen_m: float
) -> LeadOutcome | None:
    """Return how the lead at a place did against a level [m]; None where nothing was said of it.

    `band` are the 10 and 90 % quantiles as they were issued, to the millimetre.
    """
    ours, stays = spreads.ours[place], spreads.stays[place]
    if not np.isfinite(ours).all():
        return None
    seen = np.array([seen_m])
    has_stays = bool(np.isfinite(stays).all())
    return LeadOutcome(
        crps=float(crps_ensemble(seen, ours[None, :])[0]),
        stays=spreads.now_m,
        stays_crps=float(crps_ensemble(seen, stays[None, :])[0]) if has_stays else None,
        is_inside=band[0] - MILLIMETRE / 2 <= seen_m <= band[1] + MILLIMETRE / 2,
    )
