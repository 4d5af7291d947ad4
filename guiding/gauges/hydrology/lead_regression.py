"""From what the stores foresee to what the gauge will do: one ridge regression a lead.

z is the level on its even scale (pseudo_flow), m the same of a simulated flow; several simulations
may stand side by side, and rain beside them (arriving_rain). Regressions are fitted at every lead,
none is read off between others.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.arriving_rain import rain_arriving, rain_behind, season, summed
from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.pseudo_flow import POWER
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

RIDGE = 1e-4  # added to the mean square of every column (the project's river study)
# columns of ground and rain are many: made smaller, one ridge for all shrinks them 30 times as much
# as gauge and simulations (10 to 100 times did as well, by the hour and by the day)
GROUND_SCALE = 30**-0.5
MONTHS = 12
SEASON_COLUMNS = 2
EARLIER = {60: 3, DAY_MINUTES: 2}  # steps back of the longer of the two changes


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What a catchment is like at each origin, beside its flow.

    `rain` (origins, spans) tells of the rain behind (arriving_rain.rain_behind), `fillings`
    (origins, 2) are the shares of the two stores of the leading simulation, production first,
    `year_share` (origins,) the season.
    """

    rain: Array
    fillings: Array
    year_share: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """What is to come after each origin: m (origins, leads, sims), rain (origins, leads) [mm]."""

    m: Array
    rain_mm: Array
    step_minutes: int

    def only(self, which: NDArray[np.bool_] | Positions) -> Ahead:
        """Return what came after some of the origins."""
        return Ahead(m=self.m[which], rain_mm=self.rain_mm[which], step_minutes=self.step_minutes)

    def middle(self) -> Ahead:
        """Return the mean over all of it, as of one origin."""
        return Ahead(
            m=self.m.mean(axis=0, keepdims=True),
            rain_mm=self.rain_mm.mean(axis=0, keepdims=True),
            step_minutes=self.step_minutes,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How things stand at each origin: the gauge (origins,), the simulations (origins, sims).

    `z_change` and `m_change` are over one step, `z_longer` and `m_longer` over EARLIER steps; NaN
    where a level is missing. `rain`, `fillings` and `year_share` are those of the Ground.
    """

    z: Array
    z_change: Array
    z_longer: Array
    m: Array
    m_change: Array
    m_longer: Array
    rain: Array
    fillings: Array
    year_share: Array

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
    then what the ground is like, then by simulation the rise of m and of steep m, then rain to
    arrive, as it falls and times the square of the production store's filling. `short` on 1, m - z,
    and what comes after the ground, for origins next to a gap. No weight of a rise or of rain to
    arrive is negative: more rain ahead never lowers what is foreseen.

    Notes
    -----
    The share of a little rain that GR4's production store lets pass is the square of its filling:
    Pn - Ps tends to s^2 Pn (gr4, from the equation of Ps). The season is in only where moments
    of every twelfth of the year taught: half a year cannot tell of the other half.
    """

    full: Array
    short: Array


def ground_at(
    rain_mm: Array, fillings: Array, year_share: Array, origins: Positions, step_minutes: int
) -> Ground:
    """Return what the ground is like at some positions of rain (steps,), fillings (steps, 2)."""
    return Ground(
        rain=rain_behind(rain_mm, origins, step_minutes),
        fillings=fillings[origins],
        year_share=year_share[origins],
    )


def standing_at(
    z: Array, m: Array, origins: Positions, step_minutes: int, ground: Ground
) -> Standing:
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
        rain=ground.rain,
        fillings=ground.fillings,
        year_share=ground.year_share,
    )


def fit_leads(standing: Standing, ahead: Ahead, z_ahead: Array) -> LeadRegression:
    """Return the regressions of every lead.

    Parameters
    ----------
    standing : Standing
    ahead : Ahead
    z_ahead : (origins, leads)
        What came; a lead's NaN are left out. At lead 0, z_ahead = z, every coefficient is 0.
    """
    came = z_ahead - standing.z[:, None]
    full, short = _columns(standing)
    if not _is_all_year(standing.year_share):
        full[:, -SEASON_COLUMNS:] = 0
    total_mm = summed(ahead.rain_mm)
    weights: tuple[list[Array], list[Array]] = ([], [])
    for lead in range(came.shape[1]):
        rises = _rises(standing, ahead, total_mm, lead)
        for fixed, fitted in zip((full, short), weights, strict=True):
            fitted.append(_fit(fixed, rises, came[:, lead]))
    return LeadRegression(full=np.array(weights[0]), short=np.array(weights[1]))


def predict_leads(fit: LeadRegression, standing: Standing, ahead: Ahead) -> Array:
    """Return z of each lead, (origins, leads), by the short regression next to a gap."""
    full, short = _columns(standing)
    whole = standing.is_whole
    full[~whole] = 0
    total_mm = summed(ahead.rain_mm)
    out = np.empty(ahead.rain_mm.shape)
    for lead in range(ahead.rain_mm.shape[1]):
        rises = _rises(standing, ahead, total_mm, lead)
        out[:, lead] = standing.z + np.where(
            whole,
            _predicted(fit.full[lead], full, rises),
            _predicted(fit.short[lead], short, rises),
        )
    return out


def _is_all_year(year_share: Array) -> bool:
    return len(np.unique((year_share * MONTHS).astype(int))) >= MONTHS


def _columns(standing: Standing) -> tuple[Array, Array]:
    """Return the columns of the full and of the short regression that no lead changes."""
    ones = np.ones((len(standing.z), 1))
    gap = standing.m - standing.z[:, None]
    ground = [standing.rain, standing.fillings, season(standing.year_share)]
    full = [
        ones,
        standing.z_change[:, None],
        standing.z_longer[:, None],
        gap,
        standing.m_change,
        standing.m_longer,
        GROUND_SCALE * np.concatenate(ground, axis=1),
    ]
    return np.concatenate(full, axis=1), np.concatenate([ones, gap], axis=1)


def _rises(standing: Standing, ahead: Ahead, total_mm: Array, lead: int) -> Array:
    """Return what lifts the river by a place in the leads, none of it less for more rain.

    Columns: the rises of m, then of steep m, then rain to arrive, and the same times wetness.
    """
    m = ahead.m[:, lead]
    arriving = GROUND_SCALE * rain_arriving(total_mm, lead + 1, ahead.step_minutes)
    wetness = standing.fillings[:, :1] ** 2
    return np.concatenate(
        [m - standing.m, _steep(m) - _steep(standing.m), arriving, arriving * wetness], axis=1
    )


def _steep(m: Array) -> Array:
    """Return a level of m above the floor: beside m itself it lets big rises count for more."""
    above: Array = np.maximum(POWER * m + 1, 0) ** (1 / (2 * POWER))
    return above


def _fit(fixed: Array, rises: Array, came: Array) -> Array:
    """Return the weights of one lead, NaN where it never came."""
    design = np.concatenate([fixed, rises], axis=1)
    known = np.isfinite(came) & np.isfinite(design).all(axis=1)
    if not known.any():
        return np.full(design.shape[1], np.nan)
    return _ridge(design[known], came[known], fixed.shape[1])


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


def _predicted(weights: Array, fixed: Array, rises: Array) -> Array:
    count = fixed.shape[1]
    change: Array = fixed @ weights[:count] + rises @ weights[count:]
    return change
