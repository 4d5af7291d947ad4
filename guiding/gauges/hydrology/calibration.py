"""Search the parameters of a river's stores. Loads scipy: commands and chores only, never pages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import differential_evolution
from scipy.stats import qmc

from guiding.gauges.hydrology.catchment import Catchment, Snow, run_past
from guiding.gauges.hydrology.gr4 import Stores
from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.lead_regression import EARLIER
from guiding.gauges.hydrology.pseudo_flow import PseudoFlow
from guiding.gauges.hydrology.record import DAY_MINUTES, Array
from guiding.gauges.hydrology.snow import snow_share
from guiding.gauges.hydrology.weather import Weather

# ln X1, asinh X2, ln X3, X4 (the project's river study); X2 is not let below nought, where more
# rain could give less flow: it cost nothing on four rivers
BOUNDS = {
    60: ((1.5, 8.0), (0.0, 3.0), (0.5, 7.5), (1.0, 72.0)),
    DAY_MINUTES: ((1.5, 8.0), (0.0, 3.0), (0.5, 7.5), (0.55, 5.0)),
}
EXCHANGE = {60: 0.1, DAY_MINUTES: 1.0}
SNOW_BOUNDS = ((0.5, 8.0), (-3.0, 3.0))  # melt a degree and day; catchment warmer than the station
PATCHY_SHARE = 0.9  # of a year's mean snowfall (CemaNeige, from memory)
MOST_ORIGINS = 4_000  # moments at which it is judged: neighbouring hours tell the same story twice
# members, rounds and the two settings of the search: on three rivers as good after 18 rounds as a
# search twice as wide after 30
MEMBERS = 32
ROUNDS, FURTHER_ROUNDS = 18, 10
MUTATION, RECOMBINATION = (0.4, 0.8), 0.9
RIDGE = 1e-6
LEAST_FLOW_MM = 1e-9  # a candidate that never flows is no reason to divide by nought
SLOPE_STEP = 1e-3  # of z, in the slope of level over z


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What candidates are judged by at one lead: what the gauge alone explains is taken out.

    `origins` (n,), `weights` the slope of level over z at the target, `basis` (n, 4) orthonormal
    columns of what the gauge tells at the origin, `left` (n,) the change that they leave,
    `whole` the sum of squares of the change itself.
    """

    lead: int
    origins: Positions
    weights: Array
    basis: Array
    left: Array
    whole: float


def calibrate(
    scale: PseudoFlow,
    weather: Weather,
    z: Array,
    *,
    step_minutes: int,
    spin: int,
    leads: tuple[int, ...],
    is_snowy: bool,
    seed: int,
    tell: Callable[[float], None],
    before: Array | None = None,
) -> tuple[Catchment, Array]:
    """Return the stores whose simulation makes the best forecasts at some leads.

    Parameters
    ----------
    scale : PseudoFlow
    weather : Weather
        Over the history that is fitted on, (steps,).
    z : (steps,)
        The levels of it on their even scale, gaps NaN.
    step_minutes : int
    spin : int
        How many first steps fill the stores before the run that is judged.
    leads : tuple of int
        Steps ahead at which a candidate is judged.
    is_snowy : bool
        Whether there is a snow store to fit as well.
    seed : int
    tell : callable
        Told how far the search has come, 0 to 1.
    before : (members, parameters) or None
        Where an earlier search of the same stores ended; half of this one begins there and it ends
        the sooner.

    Returns
    -------
    tuple of Catchment and (members, parameters)
        The best stores, and where the search ended.

    Notes
    -----
    A candidate is judged by what is left of the squared change of level after the regression of
    z(t + k) - z(t) on the gauge and the simulation (lead_regression), over persistence's own, mean
    over the leads: by the forecasts it will make, and not by how its curve looks.

    References
    ----------
    Storn, R. & Price, K. 1997, Differential evolution, J. Global Optim. 11:341-359.
    """
    bounds = BOUNDS[step_minutes] + (SNOW_BOUNDS if is_snowy else ())
    judged = [_judged(scale, z, lead, step_minutes) for lead in leads]
    judged = [one for one in judged if one.whole > 0]
    middle = np.array([(low + high) / 2 for low, high in bounds])[:, None]
    if not judged:
        # a river that never moved teaches nothing
        return _catchment(middle, weather, step_minutes), np.repeat(middle.T, MEMBERS, axis=0)

    def cost(candidates: Array) -> Array:
        columns = candidates.reshape(len(bounds), -1)
        catchment = _catchment(columns, weather, step_minutes)
        flow_mm = run_past(catchment, weather, spin=spin).flow_mm
        m = scale.scaled(flow_mm * ratio_to_gauge(scale, flow_mm, z))
        left: Array = np.mean([_share_left(one, m, step_minutes) for one in judged], axis=0)
        return left

    members = _first_members(bounds, seed)
    most = ROUNDS
    if before is not None:
        members[::2], most = before[::2], FURTHER_ROUNDS
    rounds = [0]

    def told(*_: object, **__: object) -> None:
        rounds[0] += 1
        tell(rounds[0] / most)

    found = differential_evolution(
        cost,
        bounds,
        vectorized=True,
        updating="deferred",
        init=members,
        mutation=MUTATION,
        recombination=RECOMBINATION,
        maxiter=most,
        tol=1e-3,
        polish=False,
        seed=seed,
        callback=told,
    )
    return _catchment(found.x[:, None], weather, step_minutes), found.population


def _first_members(bounds: tuple[tuple[float, float], ...], seed: int) -> Array:
    """Return members spread evenly over the bounds, (members, parameters)."""
    spread = qmc.Sobol(len(bounds), rng=np.random.default_rng(seed)).random(MEMBERS)
    members: Array = qmc.scale(spread, *np.transpose(bounds))
    return members


def ratio_to_gauge(scale: PseudoFlow, flow_mm: Array, z: Array) -> Array:
    """Return what brings simulated flows (steps, members) to the gauge's own mean, (members,)."""
    known = np.isfinite(z)
    mean = flow_mm[known].mean(axis=0)
    ratio: Array = scale.flow(scale.level(z[known])).mean() / np.maximum(mean, LEAST_FLOW_MM)
    return ratio


def _catchment(columns: Array, weather: Weather, step_minutes: int) -> Catchment:
    """Return candidates, one a column, as the stores they stand for."""
    stores = Stores(
        x1_mm=np.exp(columns[0]),
        x2_mm=np.sinh(columns[1]) * EXCHANGE[step_minutes],
        x3_mm=np.exp(columns[2]),
        x4_steps=columns[3].copy(),
    )
    if len(columns) == 4:
        return Catchment(step_minutes=step_minutes, stores=stores, snow=None)
    warmer = columns[5].copy()
    snowfall = snow_share(weather.air_c[:, None] + warmer).T @ weather.rain_mm
    years = len(weather.rain_mm) * step_minutes / DAY_MINUTES / 365.25
    snow = Snow(
        melt_mm=columns[4].copy(), patchy_mm=PATCHY_SHARE * snowfall / years, warmer_c=warmer
    )
    return Catchment(step_minutes=step_minutes, stores=stores, snow=snow)


def _judged(scale: PseudoFlow, z: Array, lead: int, step_minutes: int) -> Judged:
    back = EARLIER[step_minutes]
    stride = max(1, -(-len(z) // MOST_ORIGINS))
    origins = np.arange(back, len(z) - lead, stride)
    parts = (z[origins], z[origins - 1], z[origins - back], z[origins + lead])
    known = np.isfinite(np.sum(parts, axis=0))
    now, before, earlier, then = (part[known] for part in parts)
    # an error in z weighs as much as it is in metres
    weights = (scale.level(then + SLOPE_STEP) - scale.level(then - SLOPE_STEP)) / (2 * SLOPE_STEP)
    told = np.stack([np.ones(len(now)), now, before, earlier], axis=1) * weights[:, None]
    basis, _ = np.linalg.qr(told)
    change = (then - now) * weights
    return Judged(
        lead=lead,
        origins=origins[known],
        weights=weights,
        basis=basis,
        left=change - basis @ (basis.T @ change),
        whole=float((change**2).sum()),
    )


def _share_left(one: Judged, m: Array, step_minutes: int) -> Array:
    """Return the share of the squared change that each member's regression leaves, (members,)."""
    at, count = one.origins, len(one.origins)
    places = (at + one.lead, at, at - 1, at - EARLIER[step_minutes])
    # (members, columns, origins), so that every product is a matrix product
    told = np.stack([m[place].T for place in places], axis=1) * one.weights
    told -= (told @ one.basis) @ one.basis.T
    gram = told @ told.transpose(0, 2, 1) + RIDGE * count * np.eye(len(places))
    with_change = told @ one.left
    weight = np.linalg.solve(gram, with_change[:, :, None])
    explained = 2 * (weight[:, :, 0] * with_change).sum(axis=1)
    explained -= (weight * (gram @ weight)).sum(axis=(1, 2))
    left: Array = ((one.left**2).sum() - explained) / one.whole
    return left
