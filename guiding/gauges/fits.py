"""Fits on file turned back into models at work. Loads no scipy: pages may read this."""

from __future__ import annotations

import json
import zlib
from typing import Any

from guiding.gauges.hydrology import level_model
from guiding.gauges.hydrology.level_model import LevelFit
from guiding.gauges.hydrology.water_fits import WaterFit
from guiding.gauges.models import Fit


class FitUnreadable(ValueError):
    """A fit on file that this version of the code does not know; the text says why."""


def level_fit_of(fit: Fit) -> LevelFit:
    """Return the river model that a row keeps; FitUnreadable where another version made it."""
    if fit.model != level_model.MODEL:
        raise FitUnreadable(f"it was made by {fit.model!r}, and this is {level_model.MODEL!r}")
    try:
        return level_model.unpack_fit(bytes(fit.learned))
    except ValueError as error:
        raise FitUnreadable(f"{error}") from error


def water_fit_of(fit: Fit) -> WaterFit:
    """Return the model of water temperature that a row keeps, or raise FitUnreadable."""
    try:
        return WaterFit.from_json(json.loads(zlib.decompress(bytes(fit.learned))))
    except (ValueError, KeyError, TypeError, zlib.error) as error:
        raise FitUnreadable(f"{error}") from error


def packed_water_fit(fit: WaterFit) -> bytes:
    """Return a model of water temperature as bytes to be kept."""
    return zlib.compress(json.dumps(fit.as_json(), allow_nan=True).encode(), 6)


def fit_words(fit: Fit) -> str:
    """Return in words what a fit was made from."""
    zone = fit.gauge.river.zoneinfo
    since, until = (moment.astimezone(zone) for moment in (fit.data_from, fit.data_to))
    return (
        f"{fit.model}, fitted {fit.fitted_at.astimezone(zone):%d %b %Y} on "
        f"{since:%b %Y} to {until:%b %Y}"
    )


def finite(values: dict[str, Any]) -> dict[str, Any]:
    """Return numbers as JSON keeps them: what cannot be told is null, never nought."""
    return {
        name: None if isinstance(value, float) and value != value else value
        for name, value in values.items()
    }
