"""What is fitted, each in the same acts: read, learn, try, keep. Loads scipy: not for pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any, Protocol

import numpy as np

from guiding.gauges.fits import finite, level_fit_of, packed_water_fit, water_fit_of
from guiding.gauges.forecasting import AHEAD
from guiding.gauges.hydrology import contest, level_fit, water_fits
from guiding.gauges.hydrology.history import History, Positions
from guiding.gauges.hydrology.level_fit import fit_level
from guiding.gauges.hydrology.level_model import LATE_STEPS, LevelFit, pack_fit
from guiding.gauges.hydrology.record import DAY_MINUTES, Array
from guiding.gauges.hydrology.spread import lead_steps
from guiding.gauges.hydrology.water_temperature import WaterFit, fit_water
from guiding.gauges.hydrology.water_terms import WaterRecord
from guiding.gauges.known import steps_of, without_unfinished_day
from guiding.gauges.laid_out import history_of, water_record_of
from guiding.gauges.levels import levels_of
from guiding.gauges.models import Fit, Gauge, Modelled, Quantity, Reading
from guiding.gauges.rain_archive import rain_runs
from guiding.gauges.steps import Steps

SEED = 20260520
LEARNED_YEARS = {60: 12, DAY_MINUTES: 60}  # of history read; older hours tell of another river
TooLittle = (level_fit.TooLittle, water_fits.TooLittle)

Tell = Callable[[str, float], None]
Readings = Iterator[tuple[datetime, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """All that is on file of a gauge, on its steps, for one kind of fit.

    `whole` is a History or a WaterRecord; `known` its levels or its water, by which spans are told.
    """

    steps: Steps
    first: int
    whole: Any
    known: Array

    def moment(self, place: int) -> datetime:
        """Return the moment of a position."""
        return self.steps.moment(self.first + place)

    def place(self, moment: datetime) -> int:
        """Return the position of a moment."""
        return self.steps.of(moment) - self.first

    @property
    def span(self) -> tuple[int, int]:
        """Return the positions of the first and the last known value."""
        places = np.flatnonzero(np.isfinite(self.known))
        return int(places[0]), int(places[-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A model as a row keeps it, and how it did in its own trials."""

    model: str
    rain: str
    parameters: dict[str, Any]
    scores: list[dict[str, Any]]
    learned: bytes
    is_of_use: bool  # better than "it stays as it is" in its own trials


class Kind(Protocol):
    """One kind of fit."""

    what: Modelled

    def read(self, gauge: Gauge, at: datetime) -> Material | None:
        """Read what is on file; None where there is nothing."""

    def learn(self, material: Material, first: int, end: int, tell: Tell) -> Any:
        """Return the model learned from the positions [first, end), or raise TooLittle."""

    def errors(self, model: Any, material: Material, origins: Positions) -> Array:
        """Return the errors (origins, leads) of forecasts from some positions."""

    def model_of(self, fit: Fit) -> Any:
        """Return the model that a row keeps, or raise FitUnreadable."""

    def kept(self, model: Any) -> Kept:
        """Return a model as a row keeps it."""

    def leads_of(self, material: Material) -> tuple[int, ...]:
        """Return the leads in steps by which two fits are held against each other."""


class LevelKind:
    """The river model of the level."""

    what = Modelled.LEVEL

    def read(self, gauge: Gauge, at: datetime) -> Material | None:
        """Read levels, rain and air of the last years, and the archive of weather runs."""
        since = _since(gauge, at)
        levels = levels_of(gauge, since, at)
        if not levels:
            return None
        steps = steps_of(gauge, levels)
        levels = without_unfinished_day(levels, steps, at) or levels[:1]
        first, last = steps.of(levels[0][0]), steps.of(levels[-1][0])
        ahead = AHEAD[gauge.step_minutes] + LATE_STEPS[gauge.step_minutes]
        history = history_of(
            steps,
            levels=levels,
            rain=_readings(gauge, Quantity.RAIN, since, at),
            air=_readings(gauge, Quantity.AIR, since, at),
            first=first,
            last=last,
            latitude=gauge.latitude,
            runs=rain_runs(gauge, steps, first=first, last=last, ahead=ahead),
        )
        return Material(steps=steps, first=first, whole=history, known=history.level_m)

    def learn(self, material: Material, first: int, end: int, tell: Tell) -> LevelFit:
        """Return the river model of a span, its band made for rain as uncertain as a forecast."""
        history: History = material.whole
        return fit_level(
            history.span(first, end),
            rain="archive",
            seed=SEED,
            steps=AHEAD[history.step_minutes],
            tell=tell,
        )

    def errors(self, model: LevelFit, material: Material, origins: Positions) -> Array:
        """Return the CRPS [m] of each lead."""
        leads = lead_steps(material.whole.step_minutes)
        return contest.level_errors(model, material.whole, origins, leads)

    def model_of(self, fit: Fit) -> LevelFit:
        """Return the river model of a row."""
        return level_fit_of(fit)

    def kept(self, model: LevelFit) -> Kept:
        """Return what a row keeps; of use where its CRPS beats "it stays as it is"."""
        skills = [score.crpss for score in model.scores if np.isfinite(score.crpss)]
        return Kept(
            model=model.model,
            rain=model.rain,
            parameters=finite(model.parameters),
            scores=[finite(asdict(score)) for score in model.scores],
            learned=pack_fit(model),
            is_of_use=bool(skills) and float(np.mean(skills)) > 0,
        )

    def leads_of(self, material: Material) -> tuple[int, ...]:
        """Return the leads of the record's page."""
        return lead_steps(material.steps.step_minutes)


class WaterKind:
    """The model of water temperature."""

    what = Modelled.WATER

    def read(self, gauge: Gauge, at: datetime) -> Material | None:
        """Read water, air and levels of the last years."""
        since = _since(gauge, at)
        water = list(_readings(gauge, Quantity.WATER, since, at))
        if not water:
            return None
        levels = levels_of(gauge, since, at)
        steps = steps_of(gauge, levels or water)
        first, last = steps.of(water[0][0]), steps.of(water[-1][0])
        record = water_record_of(
            steps,
            water=water,
            air=_readings(gauge, Quantity.AIR, since, at),
            levels=levels,
            first=first,
            last=last,
        )
        return Material(steps=steps, first=first, whole=record, known=record.water_c)

    def learn(self, material: Material, first: int, end: int, tell: Tell) -> WaterFit:
        """Return the model of a span, its band made for air and river that are forecast."""
        tell("learning the water's year", 0.0)
        record: WaterRecord = material.whole
        fit = fit_water(record.part(first, end), air="forecast", seed=SEED)
        tell("fitted", 1.0)
        return fit

    def errors(self, model: WaterFit, material: Material, origins: Positions) -> Array:
        """Return the error [degrees C] of each lead's median."""
        return contest.water_errors(
            model, material.whole, origins, lead_steps(material.whole.step_minutes)
        )

    def model_of(self, fit: Fit) -> WaterFit:
        """Return the model of a row."""
        return water_fit_of(fit)

    def kept(self, model: WaterFit) -> Kept:
        """Return what a row keeps; of use where its errors beat "it stays as it is"."""
        skills = [score.pi for score in model.scores if np.isfinite(score.pi)]
        return Kept(
            model=model.model,
            rain="none",
            parameters={
                "air": model.air,
                "river": model.river,
                "fast_days": model.terms.fast_days,
                "slow_days": model.terms.slow_days,
                "days": model.days,
            },
            scores=[finite(asdict(score)) for score in model.scores],
            learned=packed_water_fit(model),
            is_of_use=bool(skills) and float(np.mean(skills)) > 0,
        )

    def leads_of(self, material: Material) -> tuple[int, ...]:
        """Return the leads of the record's page."""
        return lead_steps(material.steps.step_minutes)


KINDS: dict[str, Kind] = {Modelled.LEVEL: LevelKind(), Modelled.WATER: WaterKind()}


def _since(gauge: Gauge, at: datetime) -> datetime:
    return at - timedelta(days=366 * LEARNED_YEARS[gauge.step_minutes])


def _readings(gauge: Gauge, quantity: str, since: datetime, at: datetime) -> Readings:
    # over already: what stands for a step is known when the step is
    until = at - timedelta(minutes=gauge.step_minutes)
    rows = Reading.objects.filter(
        series__gauge=gauge,
        series__quantity=quantity,
        observed_at__gte=since,
        observed_at__lte=until,
    ).exclude(quality=Reading.Quality.SUSPECT)
    return rows.order_by("observed_at").values_list("observed_at", "value").iterator(5_000)
