"""Fit water temperature on a record: the terms, the leads, and a band from held-out errors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from guiding.gauges.hydrology.record import DAY_MINUTES, Array
from guiding.gauges.hydrology.water_fits import MODEL, LeadScore, TooLittle, WaterFit
from guiding.gauges.hydrology.water_guess import Guess
from guiding.gauges.hydrology.water_leads import (
    Errors,
    LeadModel,
    Places,
    models_by_worth,
    monthly,
    months_of,
)
from guiding.gauges.hydrology.water_terms import (
    Drivers,
    Terms,
    WaterRecord,
    drivers_of,
    learn_terms,
    least_squares,
    rows_of,
)

# What is tried on the calibration part: e-folding times of the air's two means [days].
FAST_DAYS = (0.5, 1.0, 2.0)
SLOW_DAYS = (3.0, 5.0, 8.0, 12.0, 20.0, 30.0)

FEWEST_DAYS = 300  # of water temperature on file; common practice, no source
MONTH_DAYS = 20  # of water on file before a time of the year is spoken for
LEADS = {DAY_MINUTES: 10, 60: 132}  # five days, and some more for a water that came late
ORIGIN_EVERY = {DAY_MINUTES: 1, 60: 7}  # hourly hindcasts overlap: every seventh hour will do


def fit_water(record: WaterRecord, *, air: str = "forecast", seed: int = 1) -> WaterFit:
    """Return the model fitted on a record; numpy only.

    Parameters
    ----------
    record : WaterRecord
    air : {"forecast", "true"}
        What the band is made for: air and river ahead that are forecast, or as measured.
    seed : int
        Of the errors that a forecast air is given.

    Raises
    ------
    TooLittle
        Fewer than 300 days of water temperature are on file.

    Notes
    -----
    Water = season + a (air) + b (river) by least squares, see `rows_of`; what it leaves
    unexplained is carried to each lead by a regression of its own, see `Past.features`. The
    quantiles of the errors on stretches held out of both are the band. Four models are fitted, as
    far as the record allows: with and without the air, with and without the river.
    """
    if air not in ("forecast", "true"):
        raise ValueError(f"air is {air!r}; it is one of forecast, true.")
    days = float(np.isfinite(record.water_c).sum()) / record.steps_a_day
    if days < FEWEST_DAYS:
        raise TooLittle(
            f"{days:.0f} days of water temperature are on file; it takes {FEWEST_DAYS} to learn "
            "how it goes through the year."
        )
    terms = _best_terms(record)
    drivers = drivers_of(record, terms)
    models, scores = _fit_models(record, terms, drivers, air, seed)
    if not models:
        raise TooLittle(
            f"The {days:.0f} days of water temperature on file are too broken up to learn from."
        )
    return WaterFit(
        model=MODEL,
        step_minutes=record.step_minutes,
        air=air,
        terms=terms,
        models=tuple(models),
        months=_months_seen(record),
        days=days,
        water_c=_span(record.water_c),
        air_c=None if record.air_c is None or not terms.air_normal else _span(record.air_c),
        scores=scores,
    )


def _best_terms(record: WaterRecord) -> Terms:
    """Return the terms whose two means of the air explain the water best."""
    first = learn_terms(record, fast_days=FAST_DAYS[1], slow_days=SLOW_DAYS[2])
    if not first.air_normal:
        return first
    best, least = first, np.inf
    for fast in FAST_DAYS:
        for slow in SLOW_DAYS:
            terms = replace(first, fast_days=fast, slow_days=slow)
            rows, _, _ = rows_of(drivers_of(record, terms))
            rest = record.water_c - rows @ least_squares(rows, record.water_c)
            error = float(np.nanmean(rest**2)) if np.isfinite(rest).any() else np.inf
            if error < least:
                best, least = terms, error
    return best


def _fit_models(
    record: WaterRecord, terms: Terms, drivers: Drivers, air: str, seed: int
) -> tuple[list[LeadModel], tuple[LeadScore, ...]]:
    leads = LEADS[record.step_minutes]
    every = ORIGIN_EVERY[record.step_minutes]
    years = np.isfinite(record.water_c).sum() / record.steps_a_day / 365
    origins: Places = np.arange(0, record.water_c.size - leads, every)
    choices = [
        (has_air, has_river)
        for has_air in (True, False)
        for has_river in (True, False)
        if _is_enough(record, drivers.without(air=has_air, river=has_river), has_air, has_river)
    ]
    errors = [
        Errors(record.water_c, drivers.without(air=a, river=r), record.steps_a_day, origins)
        for a, r in choices
    ]
    guess = Guess(drivers, terms, origins, seed) if air == "forecast" else None
    learned: list[list[tuple[Array, Array | None]]] = [[] for _ in choices]
    scores = []
    plain = [np.empty(0)] * len(choices)
    for lead in range(1, leads + 1):
        ahead = guess.next() if guess else None
        year_share = record.year_share[origins + lead]
        for i, (has_air, has_river) in enumerate(choices):
            there = ahead.without(air=has_air, river=has_river) if ahead else None
            carried, error, plain[i] = errors[i].at(lead, there)
            learned[i].append((carried, monthly(error, year_share, years)))
            if i == 0:
                scores.append(_score(record.water_c, origins, lead, error))
    models = []
    for (has_air, has_river), found, each, rest in zip(
        choices, learned, errors, plain, strict=True
    ):
        bands = [band for _, band in found] + [
            monthly(rest, record.year_share[origins + leads], years)
        ]
        known = [band for band in bands if band is not None]
        if len(known) == len(bands):
            models.append(
                LeadModel(
                    has_air=has_air,
                    has_river=has_river,
                    rows=each.whole.coefficients,
                    leads=np.stack([carried for carried, _ in found]),
                    low=np.stack([band[0] for band in known], axis=1),
                    high=np.stack([band[1] for band in known], axis=1),
                )
            )
    return models_by_worth(models), tuple(scores)


def _is_enough(record: WaterRecord, drivers: Drivers, has_air: bool, has_river: bool) -> bool:
    if (has_air and drivers.air is None) or (has_river and drivers.river is None):
        return False
    rows, _, _ = rows_of(drivers)
    known = np.isfinite(rows).all(axis=1) & np.isfinite(record.water_c)
    return bool(known.sum() / record.steps_a_day >= FEWEST_DAYS)


def _score(water_c: Array, origins: Places, lead: int, error: Array) -> LeadScore:
    stays = water_c[origins + lead] - water_c[origins]
    known = np.isfinite(error) & np.isfinite(stays)
    square, still = float((error[known] ** 2).sum()), float((stays[known] ** 2).sum())
    n = int(known.sum())
    return LeadScore(
        lead=lead,
        n=n,
        rmse=(square / n) ** 0.5 if n else float("nan"),
        pi=1 - square / still if still > 0 else float("nan"),
    )


def _months_seen(record: WaterRecord) -> tuple[int, ...]:
    months = months_of(record.year_share[np.isfinite(record.water_c)])
    counts = np.bincount(months, minlength=12) / record.steps_a_day
    return tuple(int(month) for month in np.flatnonzero(counts >= MONTH_DAYS))


def _span(values: Array) -> tuple[float, float]:
    return float(np.nanmin(values)), float(np.nanmax(values))
