"""Whole paths of past errors from windows like now, widened until they would have held."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from guiding.gauges.hydrology.recession import Recession
from guiding.gauges.hydrology.record import DAY_MINUTES, Array

Positions = NDArray[np.intp]

PATHS = 160  # windows kept; the study's floor of 120 and a third more
LARGEST_SHARE = 0.25  # of all windows: more would be climate and no longer "like now"
FEWEST_PATHS = 20
MOST_ORIGINS = 4_000  # neighbouring hours tell the same story twice
ENOUGH_RAIN = 0.8  # share of a span's steps that must be on file
BAND = 0.8  # share of outcomes that q10 to q90 is to hold
CHECKS = 100  # past origins on which the band is tried out
CHECKED_LEADS = 25
CHECK_GAP_DAYS = 15  # windows this near to a tried origin are kept out of its own band

# How sure a rain forecast is on days 1 to 5: weight of the true rain, the rest drawn from other
# days; the amount is off by a factor with this spread. The band is trained on rain that is as
# uncertain as the forecast it will get (the project's river study; common practice, no source).
RAIN_WEIGHTS = (0.9, 0.8, 0.7, 0.6, 0.5)
RAIN_SPREAD = 0.4
AHEAD_WEIGHTS = (1.0, 0.7, 0.5, 0.4, 0.3)  # of days 1 to 5 in what makes windows alike
RAIN_SEED = 20260520


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverRecord:
    """A gauge's record on its own step, gaps as NaN, up to the step before the forecast begins.

    `level_m` [m], `rain_mm` [mm a step] or None where no rain is on file, `year_share` in [0, 1)
    (the season), all of shape (steps,).
    """

    step_minutes: int
    level_m: Array
    rain_mm: Array | None
    year_share: Array

    @property
    def steps_a_day(self) -> int:
        """Return 24 or 1."""
        return DAY_MINUTES // self.step_minutes

    @property
    def last(self) -> int:
        """Return the position of the last level."""
        return int(np.flatnonzero(np.isfinite(self.level_m))[-1])

    @property
    def steps_late(self) -> int:
        """Return how many steps lie between the last level and the forecast's first step."""
        return len(self.level_m) - 1 - self.last

    @property
    def rain_begins(self) -> int:
        """Return the steps from the last level to the first step of rain ahead.

        Hourly, the rain of the hour that begins at a level's moment is still to come; daily, the
        day of the last mean is over.
        """
        return self.steps_late + (1 if self.step_minutes == DAY_MINUTES else 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Features:
    """What makes two windows alike: one column a feature, one row a step of the record.

    `names` say what each column is. `now` holds the same columns for the forecast's own origin,
    NaN where not known; such a column is not used.
    """

    names: tuple[str, ...]
    columns: Array
    now: Array
    weights: Array

    @property
    def missing(self) -> tuple[str, ...]:
        """Return the names of what is not known of the forecast's own origin."""
        return tuple(n for n, value in zip(self.names, self.now, strict=True) if np.isnan(value))


@dataclass(frozen=True, slots=True, kw_only=True)
class Windows:
    """The past windows that may speak: their origins, places in feature space, error paths."""

    origins: Positions
    places: Array  # standardised and weighted features, (windows, features)
    errors: Array  # ln(level - floor) less the recession's, (windows, steps)
    here: Array  # the forecast's own place, (features,)


def shifted(values: Array, steps: int) -> Array:
    """Return values with i holding what stood at i + steps; NaN beyond the ends."""
    out = np.full(values.shape, np.nan)
    if abs(steps) >= len(values):
        return out
    if steps >= 0:
        out[: len(values) - steps] = values[steps:]
    else:
        out[-steps:] = values[:steps]
    return out


def sum_over(values: Array, offsets: NDArray[np.intp] | range) -> Array:
    """Return at each position the sum over i + offset; NaN where any of them is missing."""
    out = np.zeros(values.shape)
    for offset in offsets:
        out += shifted(values, int(offset))
    return out


def rain_by_day(record: RiverRecord, rain_ahead: Array) -> tuple[Array, Array]:
    """Return the rain of each of the days ahead: on record (steps, days), and as forecast (days,).

    Only the steps that the forecast carries are summed, in the past as well, so that like is held
    against like and a missing step is never taken for a dry one. A day without any is NaN.
    """
    day = record.steps_a_day
    past, ahead = [], []
    for first in range(0, len(rain_ahead), day):
        held = np.flatnonzero(np.isfinite(rain_ahead[first : first + day])) + first
        if held.size and record.rain_mm is not None:
            past.append(sum_over(record.rain_mm, held + record.rain_begins))
        else:
            past.append(np.full(record.level_m.shape, np.nan))
        ahead.append(float(rain_ahead[held].sum()) if held.size else np.nan)
    return np.stack(past, axis=1), np.array(ahead)


def as_if_forecast(past: Array) -> Array:
    """Return rain on record as uncertain as a forecast of it would have been, shape unchanged.

    Notes
    -----
    w x rain x exp(s n - s^2/2) + (1 - w) x rain of another day, n standard normal, s = 0.4; the
    factor has mean 1. The draws depend on the shape alone, so the same record gives the same rain.
    """
    draw = np.random.default_rng(RAIN_SEED)
    out = np.full(past.shape, np.nan)
    for column, weight in zip(range(past.shape[1]), RAIN_WEIGHTS, strict=False):
        rain = past[:, column]
        known = np.flatnonzero(np.isfinite(rain))
        factor = np.exp(draw.normal(0, RAIN_SPREAD, len(rain)) - RAIN_SPREAD**2 / 2)
        chosen = draw.integers(0, max(known.size, 1), len(rain))
        if known.size:
            out[:, column] = weight * rain * factor + (1 - weight) * rain[known[chosen]]
    return out


def features(
    record: RiverRecord, depth: Array, rain_days: tuple[Array, Array] | None = None
) -> Features:
    """Return what windows are compared by: height, change, season, rain behind, rain ahead.

    `rain_days` is the uncertain rain on record and the rain as forecast, by day ahead; None
    leaves the weather to come out of it.
    """
    day, last = record.steps_a_day, record.last
    parts = [("level", depth, 1.0)]
    backs = (3, day) if day > 1 else (1,)
    unit = "hours" if day > 1 else "day"
    parts += [(f"change over {back} {unit}", depth - shifted(depth, -back), 0.7) for back in backs]
    if record.rain_mm is not None:
        begins = record.rain_begins
        recent = _rain_behind(record, record.rain_mm, range(begins - day, begins))
        before = _rain_behind(record, record.rain_mm, range(begins - 10 * day, begins - day))
        parts += [("rain over the last day", np.sqrt(recent), 1.2)]
        parts += [("rain over the ten days before", np.log1p(before), 0.5)]
    angle = 2 * np.pi * record.year_share
    parts += [("season", np.cos(angle), 0.4), ("season", np.sin(angle), 0.4)]
    now = [column[last] for _, column, _ in parts]
    if rain_days is not None:
        for number, (column, ahead) in enumerate(zip(rain_days[0].T, rain_days[1], strict=True)):
            parts.append(
                (f"rain of day {number + 1} ahead", np.sqrt(column), AHEAD_WEIGHTS[number])
            )
            now.append(np.sqrt(ahead))
    return Features(
        names=tuple(name for name, _, _ in parts),
        columns=np.stack([column for _, column, _ in parts], axis=1),
        now=np.array(now),
        weights=np.array([weight for _, _, weight in parts]),
    )


def _rain_behind(record: RiverRecord, rain_mm: Array, offsets: range) -> Array:
    """Return the rain over the steps that are on file now, in the past over the same ones.

    The newest hours of rain often come late; with less than 80 % of them it is not known.
    """
    places = np.array([record.last + offset for offset in offsets])
    on_file = (places >= 0) & (places < len(rain_mm))
    on_file[on_file] = np.isfinite(rain_mm[places[on_file]])
    if on_file.mean() < ENOUGH_RAIN:
        return np.full(rain_mm.shape, np.nan)
    return sum_over(rain_mm, np.array(offsets)[on_file])


def windows(record: RiverRecord, recession: Recession, what: Features, steps: int) -> Windows:
    """Return the past windows of `steps` steps without a gap, by the features known now.

    A window is whole or it is left out: a path with a hole in it has no highest level.
    """
    depth = recession.depth(record.level_m)
    used = np.isfinite(what.now)
    whole = np.zeros(len(depth), dtype=bool)
    if len(depth) > steps:
        views = sliding_window_view(depth, steps + 1)
        whole[: len(views)] = np.isfinite(views).all(axis=1)
    whole &= np.isfinite(what.columns[:, used]).all(axis=1)
    origins = np.flatnonzero(whole)
    stride = max(3 if record.steps_a_day > 1 else 1, -(-origins.size // MOST_ORIGINS))
    origins = origins[::stride]
    columns = what.columns[origins][:, used]
    if not origins.size:
        empty = np.empty((0, steps))
        return Windows(origins=origins, places=columns, errors=empty, here=what.now[used])
    middle, spread = columns.mean(axis=0), columns.std(axis=0) + 1e-9
    scale = what.weights[used] / spread
    seen = depth[origins[:, None] + np.arange(1, steps + 1)]
    return Windows(
        origins=origins,
        places=(columns - middle) * scale,
        errors=seen - recession.ahead(depth[origins], steps),
        here=(what.now[used] - middle) * scale,
    )


def nearest(past: Windows, place: Array, allowed: Positions, count: int) -> Positions:
    """Return the positions of the `count` windows most like a place, in order of time."""
    gaps = ((past.places[allowed] - place) ** 2).sum(axis=1)
    if count >= allowed.size:
        return allowed
    return np.sort(allowed[np.argpartition(gaps, count)[:count]])


def how_many(past: Windows) -> int:
    """Return how many paths the record can give: 160, but at most a quarter of its windows."""
    most = int(past.origins.size * LARGEST_SHARE)
    return min(PATHS, max(FEWEST_PATHS, most), past.origins.size)


def widening(past: Windows, count: int, gap_steps: int) -> Array:
    """Return the factor about the median, one a step, that would have made past bands hold.

    Notes
    -----
    At up to 100 origins spread over the record a band is made without the windows within
    `gap_steps`; the factor is the quantile of (outcome - median) / (edge - median) that holds
    80 % of the outcomes, at least 1 (a band is never narrowed). It is found at up to 25 leads,
    smoothed over three of them, and read off between them.
    """
    size, steps = past.errors.shape
    leads = np.unique(np.linspace(0, steps - 1, min(CHECKED_LEADS, steps)).astype(int))
    errors = past.errors[:, leads]
    tried = np.unique(np.linspace(0, size - 1, min(CHECKS, size)).astype(int))
    needed = np.full((len(tried), len(leads)), np.nan)
    for row, position in enumerate(tried):
        allowed = np.flatnonzero(np.abs(past.origins - past.origins[position]) > gap_steps)
        if allowed.size < count:
            continue
        chosen = errors[nearest(past, past.places[position], allowed, count)]
        low, middle, high = np.quantile(chosen, [0.1, 0.5, 0.9], axis=0)
        off = errors[position] - middle
        edge = np.where(off >= 0, high - middle, middle - low)
        needed[row] = np.abs(off) / (edge + 1e-6)
    if np.isnan(needed).all():
        return np.ones(steps)
    factor = np.maximum(1.0, np.nanquantile(needed, BAND, axis=0))
    smooth = np.convolve(np.pad(factor, 1, mode="edge"), np.full(3, 1 / 3), mode="valid")
    return np.interp(np.arange(steps), leads, smooth)


def widened(errors: Array, factor: Array) -> Array:
    """Return error paths stretched about their median, whole as they are."""
    middle = np.median(errors, axis=0)
    return middle + (errors - middle) * factor
