"""What a forecast knows of air and river ahead: a stand-in to learn bands with."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.water_leads import Places
from guiding.gauges.hydrology.water_terms import Drivers, Terms

# A stand-in until forecasts of the air on file can be compared with what came (common practice, no
# source): the spread of the error [degrees C] on the first day, what each day adds, and how much
# of an error is still there a day later.
AIR_SPREAD_C, AIR_SPREAD_MORE_C, AIR_KEPT = 1.0, 0.4, 0.7
RIVER_SHARE = 0.7  # of the change to come, on the logarithm, that a median forecast shows


class Guess:
    """Drivers ahead of many origins as a forecast would have them, asked lead by lead in order."""

    def __init__(self, drivers: Drivers, terms: Terms, origins: Places, seed: int) -> None:
        self.drivers = drivers
        self.origins = origins
        self.rng = np.random.default_rng(seed)
        self.steps_a_day = 1440 // terms.step_minutes
        self.shares = [
            1 - np.exp(-1 / (days * self.steps_a_day))
            for days in (terms.fast_days, terms.slow_days)
        ]
        self.lead = 0
        self.drawn = self.rng.standard_normal(origins.size)
        self.off = [np.zeros(origins.size), np.zeros(origins.size)]  # of the two means

    def next(self) -> Drivers:
        """Return the drivers one lead further on."""
        self.lead += 1
        there = self.drivers.at(self.origins + self.lead)
        if there.river is not None and self.drivers.river is not None:
            now = self.drivers.river[self.origins]
            there = replace(there, river=now + RIVER_SHARE * (there.river - now))
        if there.air is None or there.fast is None or there.slow is None:
            return there
        error = self._air_error()
        self.off = [
            off + share * (error - off) for off, share in zip(self.off, self.shares, strict=True)
        ]
        return replace(
            there,
            air=there.air + error,
            fast=there.fast + self.off[0],
            slow=there.slow + self.off[1],
        )

    def _air_error(self) -> Array:
        kept = AIR_KEPT ** (1 / self.steps_a_day)
        fresh = self.rng.standard_normal(self.origins.size)
        self.drawn = kept * self.drawn + np.sqrt(1 - kept**2) * fresh
        days = self.lead / self.steps_a_day
        return self.drawn * (AIR_SPREAD_C + AIR_SPREAD_MORE_C * max(0.0, days - 1))
