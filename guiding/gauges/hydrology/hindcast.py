"""The whole model on a history it has never seen: fitted on the first part, tried on the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.level_model import LeadScore


@dataclass(frozen=True, slots=True, kw_only=True)
class HindcastReport:
    """What came of it: a row a lead for the model and for each peer; seconds as the clock said.

    `fit_s` is the whole fit, `forecast_s` one forecast as it would be issued, warm-up included;
    both None where no clock was given.
    """

    leads: tuple[LeadScore, ...]
    persistence: tuple[LeadScore, ...]
    recession: tuple[LeadScore, ...]
    fit_s: float | None
    forecast_s: float | None


def hindcast_level(
    history: History,
    *,
    train_until: int,
    rain: str,
    leads: Sequence[int],
    origins: int,
    seed: int,
    tell: Callable[[str, float], None],
    clock: Callable[[], float] | None = None,
) -> HindcastReport:
    """Fit on the steps before a position, forecast from origins after it, and score.

    Parameters
    ----------
    history : History
    train_until : int
        Position of the first step that nothing is fitted on.
    rain : {"true", "degraded", "none"}
        The rain that forecasts are given, and that the band is trained on.
    leads : sequence of int
        Steps ahead at which to score.
    origins : int
        How many origins, spread evenly over the rest of the history.
    seed : int
        Of the fit and of the degraded rain.
    tell : callable
        Told what is being done and how far the whole has come, 0 to 1.
    clock : callable or None
        Returns seconds; pure code has no clock of its own.

    Raises
    ------
    TooLittle
        The training part is too short.
    ValueError
        The split or a lead leaves nothing to score.
    """
    raise NotImplementedError
