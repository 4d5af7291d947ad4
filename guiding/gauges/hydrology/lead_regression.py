"""From what the stores foresee to what the gauge will do: one ridge regression a lead.

z is the level on its even scale (pseudo_flow), m the same of a simulated flow; several simulations
may stand side by side. Regressions are fitted at every lead, none is read off between others.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.pseudo_flow import POWER
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

RIDGE = 1e-4  # of the mean square of a feature (the project's river study)
EARLIER = {60: 3, DAY_MINUTES: 2}  # steps back of the longer of the two changes


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How things stand at each origin: the gauge (origins,), the simulations (origins, sims).

    `z_change` and `m_change` are over one step, `z_longer` and `m_longer` over EARLIER steps; NaN
    where a level is missing.
    """

    z: Array
    z_change: Array
    z_longer: Array
    m: Array
    m_change: Array
    m_longer: Array

    @property
    def is_whole(self) -> NDArray[np.bool_]:
        """Say at which origins both changes of the gauge are known."""
        return np.isfinite(self.z_change + self.z_longer)

    def only(self, which: NDArray[np.bool_] | Positions) -> Standing:
        """Return how things stood at some of the origins."""
        return Standing(**{one.name: getattr(self, one.name)[which] for one in fields(self)})

    def repeated(self, count: int) -> Standing:
        """Return one origin's standing so many times."""
        return self.only(np.zeros(count, dtype=np.intp))


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadRegression:
    """z(t + k) - z(t) of each lead k.

    `full` (leads, columns) on 1, both changes of z, then by simulation m - z and both changes of m,
    then by simulation the rise of m and of steep m. `short` on 1, m - z, and the last two groups,
    for origins next to a gap. No weight of a rise is negative: a simulation that rises more never
    lowers what is foreseen.
    """

    full: Array
    short: Array


def standing_at(z: Array, m: Array, origins: Positions, step_minutes: int) -> Standing:
    """Return how things stand at some positions of z (steps,) and m (steps, sims)."""
    back = EARLIER[step_minutes]

    def before(values: Array, steps: int) -> Array:
        out = values[np.maximum(origins - steps, 0)].copy()
        out[origins < steps] = np.nan
        return out

    m_longer = m[origins] - before(m, back)
    m_change = m[origins] - before(m, 1)
    return Standing(
        z=z[origins],
        z_change=z[origins] - before(z, 1),
        z_longer=z[origins] - before(z, back),
        m=m[origins],
        m_change=m_change,
        m_longer=m_longer,
    )


def fit_leads(standing: Standing, m_ahead: Array, z_ahead: Array) -> LeadRegression:
    """Return the regressions of every lead.

    Parameters
    ----------
    standing : Standing
    m_ahead : (origins, leads, sims)
    z_ahead : (origins, leads)
        What came; a lead's NaN are left out. At lead 0, z_ahead = z, every coefficient is 0.
    """
    full, short = _columns(standing)
    rises = _rises(standing, m_ahead)
    came = z_ahead - standing.z[:, None]
    return LeadRegression(full=_fit(full, rises, came), short=_fit(short, rises, came))


def predict_leads(fit: LeadRegression, standing: Standing, m_ahead: Array) -> Array:
    """Return z of each lead, (origins, leads), by the short regression next to a gap."""
    full, short = _columns(standing)
    rises = _rises(standing, m_ahead)
    whole = standing.is_whole
    change = np.where(
        whole[:, None],
        _predict(fit.full, np.where(whole[:, None], full, 0), rises),
        _predict(fit.short, short, rises),
    )
    return standing.z[:, None] + change


def _columns(standing: Standing) -> tuple[Array, Array]:
    ones = np.ones((len(standing.z), 1))
    gap = standing.m - standing.z[:, None]
    full = [
        ones,
        standing.z_change[:, None],
        standing.z_longer[:, None],
        gap,
        standing.m_change,
        standing.m_longer,
    ]
    return np.concatenate(full, axis=1), np.concatenate([ones, gap], axis=1)


def _rises(standing: Standing, m_ahead: Array) -> Array:
    """Return the rises of m, then of steep m, (origins, leads, 2 sims)."""
    now = standing.m[:, None, :]
    return np.concatenate([m_ahead - now, _steep(m_ahead) - _steep(now)], axis=2)


def _steep(m: Array) -> Array:
    """Return a level of m above the floor: beside m itself it lets big rises count for more."""
    above: Array = np.maximum(POWER * m + 1, 0) ** (1 / (2 * POWER))
    return above


def _fit(columns: Array, rises: Array, came: Array) -> Array:
    leads, fixed = came.shape[1], columns.shape[1]
    out = np.zeros((leads, fixed + rises.shape[2]))
    usable = np.isfinite(columns).all(axis=1)
    for lead in range(leads):
        known = usable & np.isfinite(came[:, lead]) & np.isfinite(rises[:, lead]).all(axis=1)
        if not known.any():
            out[lead] = np.nan
            continue
        design = np.concatenate([columns[known], rises[known, lead]], axis=1)
        out[lead] = _ridge(design, came[known, lead], fixed)
    return out


def _ridge(design: Array, came: Array, fixed: int) -> Array:
    """Return the weights of the columns; from `fixed` on none is negative.

    The most negative one is left out until there is none.
    """
    gram = design.T @ design / len(design)
    penalty = np.full(len(gram), RIDGE)
    penalty[0] = 0  # the mean is not shrunk
    gram[np.diag_indices_from(gram)] += penalty
    with_came = design.T @ came / len(design)
    kept = np.arange(len(gram))
    while True:
        weights = np.zeros(len(gram))
        weights[kept] = np.linalg.solve(gram[np.ix_(kept, kept)], with_came[kept])
        if (weights[fixed:] >= 0).all():
            return weights
        kept = kept[kept != fixed + int(np.argmin(weights[fixed:]))]


def _predict(coefficients: Array, columns: Array, rises: Array) -> Array:
    fixed = columns.shape[1]
    with_lead = np.einsum("nks,ks->nk", rises, coefficients[:, fixed:])
    change: Array = columns @ coefficients[:, :fixed].T + with_lead
    return change
