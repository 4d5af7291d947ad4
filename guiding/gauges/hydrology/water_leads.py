"""One model of water temperature carried ahead lead by lead, and the band that its errors make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.water_terms import (
    Drivers,
    least_squares,
    rows_of,
    running_mean,
)

Places = NDArray[np.intp]

REMEMBERED_DAYS = 5.0  # of the mean of what the season and the air did not explain
FOLDS = 5  # the record is held out of the fit in as many stretches
FOLD_GAP_DAYS = 5  # on either side of it, left out of the fit as well
# A year that is held out knows its neighbours, the year to come does not: bands are widened by
# what coverage on two rivers asked for, after one to seventeen years of record.
WIDEN_ALWAYS, WIDEN_A_YEAR = 1.02, 0.10
SEASON_SHARE = 0.125  # errors speak for a month from an eighth of a year around its middle
FEWEST_ERRORS = 60
MONTHS = 12
LOW, HIGH = 0.1, 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadModel:
    """A fitted regression, how its last errors are carried to each lead, and the band.

    `rows` are the coefficients (terms,); `leads` (leads, features); `low` and `high`
    (12, leads + 1) the 10 and 90 % quantiles of the error [degrees C] by month and lead, the last
    column for leads beyond, where no measured water speaks any more.
    """

    has_air: bool
    has_river: bool
    rows: Array
    leads: Array
    low: Array
    high: Array

    def as_json(self) -> dict[str, Any]:
        """Return plain values, six figures each."""
        return {
            "has_air": self.has_air,
            "has_river": self.has_river,
            **{name: _figures(getattr(self, name)) for name in ("rows", "leads", "low", "high")},
        }

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Self:
        """Return what as_json gave."""
        return cls(
            has_air=bool(kept["has_air"]),
            has_river=bool(kept["has_river"]),
            **{name: np.array(kept[name], float) for name in ("rows", "leads", "low", "high")},
        )


def _figures(values: Array) -> Any:
    if values.ndim > 1:
        return [_figures(row) for row in values]
    return [float(f"{value:.6g}") for value in values]


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What one model makes of a record: its rows, what they leave unexplained, and its memory."""

    drivers: Drivers
    rows: Array
    air: slice
    river: slice
    steps_a_day: int
    coefficients: Array
    residual: Array
    day: Array
    days: Array
    unknown_air: Places  # how many steps up to each lack the air

    @classmethod
    def of(
        cls, water_c: Array, drivers: Drivers, coefficients: Array | None, steps_a_day: int
    ) -> Past:
        """Return the past as seen with these coefficients; None: least squares of it all."""
        rows, air, river = rows_of(drivers)
        if coefficients is None:
            coefficients = least_squares(rows, water_c)
        residual = water_c - rows @ coefficients
        missing = np.zeros(len(rows)) if drivers.air is None else np.isnan(drivers.air)
        return cls(
            drivers=drivers,
            rows=rows,
            air=air,
            river=river,
            steps_a_day=steps_a_day,
            coefficients=coefficients,
            residual=residual,
            day=running_mean(residual, 0.5 * steps_a_day),
            days=running_mean(residual, REMEMBERED_DAYS * steps_a_day),
            unknown_air=np.cumsum(missing).astype(np.intp),
        )

    def features(self, origins: Places, lead: int, ahead: Drivers | None = None) -> Array:
        """Return the features (n, features) of the error at a lead: NaN where one is not known.

        What is left unexplained now, a step ago and on average; in an hourly record over the last
        half day and at the same hour of the last day; and by how much the air's part, the air and
        the river's part change on the way. `ahead`: the drivers at the target, if not the record's.
        """
        then = self.rows[origins + lead] if ahead is None else rows_of(ahead)[0]
        change = (then - self.rows[origins]) * self.coefficients
        columns = [
            np.ones(origins.size),
            self.residual[origins],
            np.nan_to_num(self.residual[np.maximum(origins - 1, 0)]),
            self.days[origins],
        ]
        if self.steps_a_day > 1:
            same = origins + lead - self.steps_a_day * -(-lead // self.steps_a_day)
            columns += [self.day[origins], np.nan_to_num(self.residual[np.maximum(same, 0)])]
        air = (self.drivers.at(origins + lead) if ahead is None else ahead).air
        if self.drivers.air is not None and air is not None:
            is_whole = self.unknown_air[origins + lead] == self.unknown_air[origins]
            columns += [
                np.where(is_whole, change[:, self.air].sum(axis=1), np.nan),
                air - self.drivers.air[origins],
            ]
        if self.drivers.river is not None:
            columns.append(change[:, self.river].sum(axis=1))
        return np.column_stack(columns)

    def explained(self, origins: Places, lead: int, ahead: Drivers | None = None) -> Array:
        """Return the regression's own answer at a lead."""
        then = self.rows[origins + lead] if ahead is None else rows_of(ahead)[0]
        return then @ self.coefficients


def folds_of(steps: int, steps_a_day: int) -> list[tuple[NDArray[np.bool_], NDArray[np.bool_]]]:
    """Return (held out, fitted on) for each fold, a stretch each, with gaps between the two."""
    stretch = np.arange(steps) * FOLDS // steps
    gap = FOLD_GAP_DAYS * steps_a_day
    out = []
    for fold in range(FOLDS):
        held = stretch == fold
        near = np.convolve(held, np.ones(2 * gap + 1), mode="same") > 0.5
        out.append((held, ~near))
    return out


class Errors:
    """The errors that folds held out of the fit made at every lead, and the final coefficients."""

    def __init__(self, water_c: Array, drivers: Drivers, steps_a_day: int, origins: Places) -> None:
        self.water_c = water_c
        self.origins = origins
        self.whole = Past.of(water_c, drivers, None, steps_a_day)
        self.folds = folds_of(water_c.size, steps_a_day)
        self.pasts = []
        for _, fitted in self.folds:
            coefficients = least_squares(self.whole.rows[fitted], water_c[fitted])
            self.pasts.append(Past.of(water_c, drivers, coefficients, steps_a_day))

    def at(self, lead: int, ahead: Drivers | None) -> tuple[Array, Array, Array]:
        """Return the lead's coefficients, and each origin's held-out error with and without them.

        Origins whose target lies beyond the record, or is not known, have NaN.
        """
        origins = self.origins
        target = self.water_c[origins + lead]
        error, plain = np.full(origins.size, np.nan), np.full(origins.size, np.nan)
        for past, (held, fitted) in zip(self.pasts, self.folds, strict=True):
            features = past.features(origins, lead, ahead)
            rest = target - past.explained(origins, lead, ahead)
            learned = fitted[origins] & fitted[origins + lead]
            carried = least_squares(features[learned], rest[learned])
            here = held[origins + lead]
            error[here] = (rest - features @ carried)[here]
            plain[here] = rest[here]
        rest = target - self.whole.explained(origins, lead, ahead)
        return least_squares(self.whole.features(origins, lead, ahead), rest), error, plain


def monthly(errors: Array, year_share: Array, years: float) -> Array | None:
    """Return the 10 and 90 % quantiles of errors [degrees C] by month of their target, (2, 12).

    From those within an eighth of a year of the month's middle, or of the whole year where they
    are fewer than 60; None where the whole year has no more. Widened about their median: more,
    the fewer `years` of water there are.
    """
    known = np.isfinite(errors)
    errors, year_share = errors[known], year_share[known]
    if errors.size < FEWEST_ERRORS:
        return None
    widening = WIDEN_ALWAYS + WIDEN_A_YEAR / years
    out = np.empty((2, MONTHS))
    for month in range(MONTHS):
        away = np.abs(year_share - (month + 0.5) / MONTHS)
        near = np.minimum(away, 1 - away) <= SEASON_SHARE
        there = errors[near] if near.sum() >= FEWEST_ERRORS else errors
        low, middle, high = np.quantile(there, [LOW, 0.5, HIGH])
        out[:, month] = middle + widening * np.array([low - middle, high - middle])
    return out


def months_of(year_share: Array) -> Places:
    """Return the twelfth of the year (0 to 11) of each share."""
    return np.minimum((year_share * MONTHS).astype(np.intp), MONTHS - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A forecast for a lead from many origins [degrees C], (n,), NaN where inputs are missing."""

    low: Array
    middle: Array
    high: Array


def carry(model: LeadModel, past: Past, origins: Places, lead: int, months: Places) -> Carried:
    """Return the forecast of one model for one lead; `months` are those of the targets."""
    middle = past.explained(origins, lead)
    column = len(model.leads)
    if lead <= len(model.leads):
        column = lead - 1
        middle = middle + past.features(origins, lead) @ model.leads[column]
    return Carried(
        low=middle + np.minimum(model.low[months, column], 0),
        middle=middle,
        high=middle + np.maximum(model.high[months, column], 0),
    )


def models_by_worth(models: Sequence[LeadModel]) -> list[LeadModel]:
    """Return models with the one that knows most first."""
    return sorted(models, key=lambda model: (model.has_air, model.has_river), reverse=True)
