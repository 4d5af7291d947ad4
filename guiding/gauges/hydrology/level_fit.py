"""Fit the river model to a gauge's history. Loads scipy: commands and chores only, never pages."""

from __future__ import annotations

from collections.abc import Callable

from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.level_model import LevelFit


class TooLittle(ValueError):
    """The history holds less than a fit can be made from; the text says what is missing."""


def fit_level(
    history: History, *, rain: str, seed: int, steps: int, tell: Callable[[str, float], None]
) -> LevelFit:
    """Return the river model fitted to a whole history.

    Parameters
    ----------
    history : History
    rain : {"archive", "degraded", "none", "true"}
        What the band is trained on: the archive of runs (`history.runs`; with too few of them the
        stand-in is used, and the fit's `rain` says "degraded"), rain on file made as uncertain as
        a forecast, no rain forecast at all, or the rain that fell (for trying the model out only).
    seed : int
        The same history and seed give the same fit.
    steps : int
        How many steps ahead it is fitted for.
    tell : callable
        Told what is being done and how far the whole has come, 0 to 1.

    Raises
    ------
    TooLittle
        Less than a season of levels with rain is on file.
    """
    raise NotImplementedError
