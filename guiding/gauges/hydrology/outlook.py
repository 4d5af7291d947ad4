"""From a record and the rain to come to whole paths ahead, or to "not known" and why."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.hydrology import bands
from guiding.gauges.hydrology.bands import RiverRecord, Windows
from guiding.gauges.hydrology.recession import Recession, fit_recession
from guiding.gauges.hydrology.record import Array

MODEL = "recession and like windows, 1"

SEASON_DAYS = 90  # less on file than this cannot speak for a season
YEAR_DAYS = 365  # less than this cannot speak for every kind of weather
FEWEST_DAYS = 14  # less than this and nothing is said at all
SHORT_WIDENING = 1.5  # a band from less than a season (common practice, no source)
RAIN_DAY_MM = 2.0  # from this in a day ahead, rain is coming (common practice, no source)
RAIN_SPAN_MM = 5.0  # below this over days a span asks nothing of the past
LIKE_SHARE = 0.7  # a past span speaks for a forecast one from this share of its rain
FEWEST_SPELLS = 5  # separate wet spells that must speak for rain to come
SPELL_DAYS = 5
SPAN_DAYS = (1, 3, 5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Paths ahead [m], shape (paths, steps), NaN where not known; what must be said in words."""

    paths: Array | None
    says: tuple[str, ...]


def look_ahead(
    record: RiverRecord, *, steps: int, near_steps: int, rain_ahead: Array | None
) -> Outlook:
    """Return the paths of the next steps from the record's own past.

    Parameters
    ----------
    record : RiverRecord
        Up to the step before the first one asked for; the last level may be some steps back.
    steps : int
        How many steps to give.
    near_steps : int
        How many of them may stand where the rain cannot be spoken for (12 h).
    rain_ahead : (steps,) or None
        Rain forecast [mm a step], NaN where the forecast carries none; None: there is none.

    Notes
    -----
    Level = floor + exp(recession + error), each error the whole path of one past window like now.
    Every path stays above the floor, which is the lowest level on file less 0.15 m, without
    anything being clipped.
    """
    days = np.isfinite(record.level_m).sum() / record.steps_a_day
    recession = fit_recession(record.level_m, record.step_minutes)
    if days < FEWEST_DAYS or recession is None:
        return _nothing(f"Not known: {days:.0f} days of level are on file, too few to learn from.")
    says: list[str] = []
    rain_days, unspoken = _rain(record, rain_ahead, days, says)
    what = bands.features(record, recession.depth(record.level_m), rain_days)
    behind = [name for name in what.missing if "ahead" not in name]
    if behind:
        says.append(f"Readings are missing for: {', '.join(behind)}; compared without them.")
    lead = record.steps_late + steps
    past = bands.windows(record, recession, what, lead)
    if past.origins.size < bands.FEWEST_PATHS:
        return _nothing(
            "Not known: the record holds too few unbroken windows of this length to learn from."
        )
    allowed = np.arange(past.origins.size)
    if rain_days is not None and not unspoken:
        allowed, unspoken = _as_wet(record, past, rain_days)
    count = min(bands.how_many(past), max(bands.FEWEST_PATHS, allowed.size // 2))
    chosen = bands.nearest(past, past.here, allowed, count)
    if unspoken:
        says.append(unspoken)
        chosen = _risers(past, chosen, record.steps_late + near_steps)
    factor = bands.widening(past, count, bands.CHECK_GAP_DAYS * record.steps_a_day)
    if days < SEASON_DAYS:
        factor = factor * SHORT_WIDENING
        says.append(
            f"Only {days:.0f} days of level are on file, less than a season: the band is widened "
            f"and nothing is said beyond 12 hours."
        )
    paths = _paths(record, recession, bands.widened(past.errors[chosen], factor))
    if unspoken or days < SEASON_DAYS:
        paths[:, near_steps:] = np.nan
    if not np.isfinite(paths).any():
        return Outlook(paths=None, says=tuple(says))
    lowest, highest = float(np.nanmin(record.level_m)), float(np.nanmax(record.level_m))
    says += beyond_the_record(lowest, highest, paths)
    return Outlook(paths=paths, says=tuple(says))


def _nothing(why: str) -> Outlook:
    return Outlook(paths=None, says=(why,))


def _paths(record: RiverRecord, recession: Recession, errors: Array) -> Array:
    start = recession.depth(record.level_m[record.last : record.last + 1])
    depth = recession.ahead(start, errors.shape[1]) + errors
    # to the millimetre, as they are kept, so that what is issued is what is read back
    return np.round(recession.level(depth)[:, record.steps_late :], 3)


def _rain(
    record: RiverRecord, rain_ahead: Array | None, days: float, says: list[str]
) -> tuple[tuple[Array, Array] | None, str]:
    """Return the rain by day (past, ahead) to match by, and why the past cannot speak, if so."""
    if rain_ahead is None or not np.isfinite(rain_ahead).any():
        if days < YEAR_DAYS:
            return None, (
                "Not known beyond 12 hours: there is no rain forecast, and less than a year of "
                "level is on file to show what other weather does."
            )
        says.append(
            "Made without a rain forecast: the band is what this river did from like water in all "
            "weathers."
        )
        return None, ""
    # a run begins a little after it is issued
    missing = int(np.isnan(rain_ahead[record.steps_a_day // 12 :]).sum())
    if missing:
        says.append(
            f"The rain forecast carries no rain for {missing} of the {len(rain_ahead)} steps; they "
            f"are taken as unknown, not as dry."
        )
    past, ahead = bands.rain_by_day(record, rain_ahead)
    if record.rain_mm is None or not np.isfinite(past).any():
        wettest = float(np.nanmax(ahead))
        if wettest >= RAIN_DAY_MM:
            return None, (
                f"Not known beyond 12 hours: rain is coming, up to {wettest:.0f} mm in a day, and "
                f"no rain is on file to show what rain does here."
            )
        says.append(
            "No rain to speak of is forecast, but no rain is on file to tell dry spells by: the "
            "band is that of all weathers."
        )
        return None, ""
    if missing and days < YEAR_DAYS:
        return (bands.as_if_forecast(past), ahead), (
            "Not known beyond 12 hours: part of the rain forecast is missing, and less than a year "
            "of level is on file to show what other weather does."
        )
    return (bands.as_if_forecast(past), ahead), _beyond_anything_seen(past, ahead)


def _spans(rain: Array) -> Array:
    """Return rain over the first 1, 3 and 5 days; days without rain known are left out of it."""
    return np.stack([np.nansum(rain[..., :last], axis=-1) for last in SPAN_DAYS], axis=-1)


def _beyond_anything_seen(past: Array, ahead: Array) -> str:
    known = np.isfinite(past[:, np.isfinite(ahead)]).all(axis=1)
    most = _spans(np.where(np.isfinite(ahead), past[known], 0)).max(axis=0, initial=0)
    for days, coming, seen in zip(SPAN_DAYS, _spans(ahead), most, strict=True):
        if coming >= RAIN_SPAN_MM and coming > seen:
            return (
                f"Not known beyond 12 hours: {coming:.0f} mm of rain is forecast in {_days(days)}, "
                f"more than anything on file ({seen:.0f} mm)."
            )
    return ""


def _as_wet(
    record: RiverRecord, past: Windows, rain_days: tuple[Array, Array]
) -> tuple[bands.Positions, str]:
    """Return the windows that got at least most of the rain to come, or why they are too few.

    Drier ones are kept out however like the water was, or a wet forecast would borrow from dry
    weeks; wetter ones may stay in.
    """
    as_wet = np.ones(past.origins.size, dtype=bool)
    held = np.where(np.isfinite(rain_days[1]), rain_days[0][past.origins], 0)
    for days, coming, like in zip(SPAN_DAYS, _spans(rain_days[1]), _spans(held).T, strict=True):
        if coming < RAIN_SPAN_MM:
            continue
        as_wet &= like >= LIKE_SHARE * coming
        spells = _spells(record, past, as_wet)
        if spells < FEWEST_SPELLS or as_wet.sum() < 2 * bands.FEWEST_PATHS:
            number = f"only {spells}" if spells else "no"
            return np.arange(past.origins.size), (
                f"Not known beyond 12 hours: {coming:.0f} mm of rain is forecast in {_days(days)}, "
                f"and the record holds {number} wet spell{'s' * (spells != 1)} like it."
            )
    return np.flatnonzero(as_wet), ""


def _spells(record: RiverRecord, past: Windows, which: NDArray[np.bool_]) -> int:
    """Return how many separate wet spells some windows are from."""
    return int(np.unique(past.origins[which] // (SPELL_DAYS * record.steps_a_day)).size)


def _days(days: int) -> str:
    return "the first day" if days == 1 else f"the first {days} days"


def _risers(past: Windows, chosen: bands.Positions, steps: int) -> bands.Positions:
    """Return the half of the windows that rose most in the next hours.

    Where rain comes that the past cannot speak for, calm windows must not calm the first hours.
    """
    highest = past.errors[chosen, :steps].max(axis=1, initial=-np.inf)
    return np.sort(chosen[np.argsort(-highest, kind="stable")[: -(-len(chosen) // 2)]])


def beyond_the_record(lowest: float, highest: float, paths: Array) -> list[str]:
    """Return what must be said where a band leaves the levels on file [m]."""
    known = paths[:, np.isfinite(paths).all(axis=0)]
    low, high = np.quantile(known, [0.1, 0.9], axis=0)
    says = []
    if high.max() > highest:
        says.append(f"The band reaches above the highest level on file, {highest:.2f} m.")
    if low.min() < lowest:
        says.append(
            f"The band reaches below the lowest level on file, {lowest:.2f} m; no path goes more "
            f"than 0.15 m below it."
        )
    return says
