"""Histories of the invented river, as the river model reads them."""

import numpy as np

from guiding.gauges.hydrology.history import History
from tests.gauges.inventedriver import invented_river


def invented_history(years, step_minutes=1440, seed=9, **changes):
    """Return a history of the invented river; its rain stands beside the level that follows it."""
    a_day = 1440 // step_minutes
    level, rain = invented_river(years, step_minutes, seed)
    fields = {
        "step_minutes": step_minutes,
        "level_m": level,
        "rain_mm": rain,
        "air_c": None,
        "pet_mm": None,
        "year_share": np.arange(len(level)) / (365.25 * a_day) % 1,
        "latitude": 55.0,
        **changes,
    }
    return History(**fields)


def quiet(what, share):
    """Be told, and hold the teller to shares of the whole."""
    assert what
    assert 0 <= share <= 1
