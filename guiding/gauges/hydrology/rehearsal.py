"""Past forecasts made again: with the rain a forecast would have had, tried on blocks left out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology import neighbours
from guiding.gauges.hydrology.fitted import LeadScore
from guiding.gauges.hydrology.history import Positions
from guiding.gauges.hydrology.lead_regression import Ahead, Standing
from guiding.gauges.hydrology.lead_scores import Outcome, lead_score, outcome
from guiding.gauges.hydrology.past_errors import Learned, foreseen, learn
from guiding.gauges.hydrology.record import DAY_MINUTES, Array
from guiding.gauges.hydrology.river import River

BLOCKS = 5
GAP_DAYS = 15  # moments this near to a block are kept out of what judges it
TRIED = 250  # moments of a block on which it is judged
# leads at which bands are tried out; the widening is read off between them
KNOTS = {
    60: (1, 2, 3, 6, 9, 12, 18, 24, 36, 48, 60, 72, 84, 96, 108, 120),
    DAY_MINUTES: tuple(range(1, 41)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsed:
    """Past moments forecast again: positions, how things stood, what was simulated, what came."""

    origins: Positions
    standing: Standing
    ahead: Ahead
    z_ahead: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """Moments judged by others: positions, z foreseen (moments, knots), errors like theirs.

    `errors` (moments, paths, knots) are those of like moments outside the block.
    """

    origins: Positions
    predicted: Array
    errors: Array
    came: Array


def taught(
    river: River, rehearsed: Rehearsed, level_m: Array, step_minutes: int
) -> tuple[Learned, tuple[LeadScore, ...]] | None:
    """Return what the moments teach, widened, and its scores; None where whole paths are too few.

    Notes
    -----
    The moments are cut into five blocks in time. Each block's are foreseen with regressions and
    errors of the others, 15 days away from it or more. The widening of a lead is the quantile of
    (outcome - median) / (edge - median) that holds 80 % of the outcomes, at least 1, found at up
    to 16 leads an hour river and at each of a daily one, and read off between them.
    """
    learned = learn(rehearsed.standing, rehearsed.ahead, rehearsed.z_ahead)
    if learned is None:
        return None
    leads = rehearsed.z_ahead.shape[1]
    knots = np.array([k for k in KNOTS[step_minutes] if k <= leads])
    found = (_tried(rehearsed, block, knots, step_minutes) for block in range(BLOCKS))
    blocks = [one for one in found if one is not None]
    if not blocks:
        return None
    factor = np.array([_widening(blocks, place) for place in range(len(knots))])
    rows = tuple(
        lead_score(
            int(lead),
            [_outcome(river, level_m, one, place, lead, factor[place]) for one in blocks],
            level_m[lead:] - level_m[:-lead],
        )
        for place, lead in enumerate(knots)
    )
    widening = np.interp(np.arange(1, leads + 1), knots, factor)
    return replace(learned, widening=widening), rows


def _widening(blocks: list[Tried], place: int) -> float:
    needed = np.concatenate(
        [
            neighbours.needed_widening(
                one.errors[:, :, place], one.came[:, place] - one.predicted[:, place]
            )
            for one in blocks
        ]
    )
    known = needed[np.isfinite(needed)]
    return max(1.0, float(np.quantile(known, neighbours.BAND))) if known.size else 1.0


def _outcome(
    river: River, level_m: Array, one: Tried, place: int, lead: int, factor: float
) -> Outcome:
    errors = neighbours.widened(one.errors[:, :, place, None], np.array([factor]))[:, :, 0]
    members = river.scale.level(one.predicted[:, place, None] + errors)
    return outcome(river.scale.level(one.came[:, place]), level_m[one.origins], members)


def _tried(rehearsed: Rehearsed, block: int, knots: Positions, step_minutes: int) -> Tried | None:
    origins = rehearsed.origins
    edges = np.linspace(0, len(origins), BLOCKS + 1).astype(int)
    inside = np.arange(edges[block], edges[block + 1])
    if not inside.size:
        return None
    gap = GAP_DAYS * DAY_MINUTES // step_minutes
    first, last = origins[inside[0]], origins[inside[-1]]
    outside = (origins < first - gap) | (origins > last + gap)
    others = _only(rehearsed, outside)
    judges = learn(others.standing, others.ahead, others.z_ahead)
    if judges is None:
        return None
    inside = inside[np.unique(np.linspace(0, inside.size - 1, min(TRIED, inside.size)).astype(int))]
    these = _only(rehearsed, inside)
    predicted, like = foreseen(judges, these.standing, these.ahead)
    at = knots - 1
    return Tried(
        origins=these.origins,
        predicted=predicted[:, at],
        errors=judges.errors[:, at][like],
        came=these.z_ahead[:, at],
    )


def _only(rehearsed: Rehearsed, which: NDArray[np.bool_] | Positions) -> Rehearsed:
    return Rehearsed(
        origins=rehearsed.origins[which],
        standing=rehearsed.standing.only(which),
        ahead=rehearsed.ahead.only(which),
        z_ahead=rehearsed.z_ahead[which],
    )
