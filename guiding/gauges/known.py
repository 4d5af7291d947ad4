"""What was on file about a gauge at a moment: all that a forecast may look at."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from guiding.gauges.hydrology.level_model import WARM_UP_STEPS
from guiding.gauges.hydrology.water_temperature import WARM_UP_DAYS
from guiding.gauges.levels import levels_of, newest_level
from guiding.gauges.models import Fit, Gauge, Modelled, Quantity, Reading, WeatherRun
from guiding.gauges.steps import Steps, days_begin

# history read where no fit speaks for it; more hours would only slow a forecast down
KEPT_YEARS = {60: 5, 1440: 40}
RUN_IS_OLD = timedelta(hours=24)
COLD_HOURS = 48  # the span that ice is judged by

Readings = list[tuple[datetime, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Everything on file about a gauge at a moment that a forecast may look at."""

    gauge: Gauge
    at: datetime
    steps: Steps
    levels: Readings
    rain: Readings
    run: WeatherRun | None
    # of the last 48 hours where the river can ice, and as far back as a fit asks for
    water: Readings
    air: Readings
    fit: Fit | None = None  # of the level
    water_fit: Fit | None = None

    @property
    def last(self) -> tuple[datetime, float] | None:
        """Return the newest level."""
        return self.levels[-1] if self.levels else None

    @property
    def fresh_run(self) -> WeatherRun | None:
        """Return the newest weather run if it is young enough to be used."""
        is_fresh = self.run is not None and self.at - self.run.issued_at <= RUN_IS_OLD
        return self.run if is_fresh else None

    @property
    def over_at(self) -> datetime:
        """Return until when values were known: a day's mean is when the day is over."""
        return self.at - timedelta(days=1) if self.steps.is_daily else self.at

    @property
    def first_step(self) -> int:
        """Return the first step ahead: the next hour, or the day that is not on file yet."""
        begun = self.steps.begun(self.at)
        if not self.steps.is_daily:
            return begun + 1
        return max(begun, self.steps.of(self.last[0]) + 1 if self.last else begun)

    def words(self, moment: datetime) -> str:
        """Return a moment in the river's own time."""
        return f"{moment.astimezone(self.steps.zone):%a %d %b %Y, %H:%M}"


def known_at(gauge: Gauge, at: datetime) -> Known:
    """Read what was on file about a gauge at a moment.

    With a fit in force only as much of the past is read as the fit wants before its first step.
    """
    fits = {fit.what: fit for fit in reversed(Fit.objects.known_at(at).filter(gauge=gauge))}
    fit, water_fit = fits.get(Modelled.LEVEL), fits.get(Modelled.WATER)
    step = timedelta(minutes=gauge.step_minutes)
    since = at - WARM_UP_STEPS[gauge.step_minutes] * step if fit else _long_ago(gauge, at)
    # a gauge that fell silent long ago still has a last level to tell of
    levels = levels_of(gauge, since, at) or newest_level(gauge, at)
    steps = steps_of(gauge, levels)
    over = at - step if steps.is_daily else at  # a day's mean is known when the day is over
    cold = over - timedelta(hours=COLD_HOURS) if gauge.may_ice else None
    warm = over - timedelta(days=WARM_UP_DAYS) if water_fit else None
    water_since = min((moment for moment in (cold, warm) if moment), default=None)
    air_since = min(
        (moment for moment in (cold, warm, since if fit else None) if moment), default=None
    )
    return Known(
        gauge=gauge,
        at=at,
        steps=steps,
        levels=without_unfinished_day(levels, steps, at),
        rain=_rain(gauge, since, at),
        run=WeatherRun.objects.filter(gauge=gauge, issued_at__lte=at, fetched_at__lte=at)
        .defer("raw")
        .order_by("-issued_at", "-fetched_at", "-id")
        .first(),
        water=_values(gauge, Quantity.WATER, water_since, over) if water_since else [],
        air=_values(gauge, Quantity.AIR, air_since, over) if air_since else [],
        fit=fit,
        water_fit=water_fit,
    )


def steps_of(gauge: Gauge, levels: Readings) -> Steps:
    """Return a gauge's steps; when its days begin is learned from its newest levels."""
    zone = gauge.river.zoneinfo
    begins = days_begin((moment for moment, _ in levels[-60:]), zone)
    return Steps(step_minutes=gauge.step_minutes, zone=zone, day_begins=begins)


def with_long_past(known: Known) -> Known:
    """Return the same with as much of the past as like windows are looked for in."""
    since = _long_ago(known.gauge, known.at)
    levels = levels_of(known.gauge, since, known.at) or known.levels
    return replace(
        known,
        levels=without_unfinished_day(levels, known.steps, known.at),
        rain=_rain(known.gauge, since, known.at),
    )


def _long_ago(gauge: Gauge, at: datetime) -> datetime:
    return at - timedelta(days=366 * KEPT_YEARS[gauge.step_minutes])


def without_unfinished_day(levels: Readings, steps: Steps, at: datetime) -> Readings:
    """Leave out the mean of a day that was not over: nobody can have known it."""
    if not steps.is_daily:
        return levels
    day = timedelta(days=1)
    last = steps.begun(at)
    return [
        (moment, level)
        for moment, level in levels
        if moment + day <= at or moment != steps.moment(last)
    ]


def _rain(gauge: Gauge, since: datetime, at: datetime) -> Readings:
    """Return the rain of stretches that were over; how far apart they come shows their length."""
    rows = _values(gauge, Quantity.RAIN, since, at)
    gaps = sorted(after - before for (before, _), (after, _) in pairwise(rows[-60:]))
    step = timedelta(minutes=gauge.step_minutes)
    piece = min(step, gaps[len(gaps) // 2]) if gaps else step
    return [row for row in rows if row[0] + piece <= at]


def _values(gauge: Gauge, quantity: str, since: datetime, until: datetime) -> Readings:
    rows = Reading.objects.filter(
        series__gauge=gauge,
        series__quantity=quantity,
        observed_at__gte=since,
        observed_at__lte=until,
    ).exclude(quality=Reading.Quality.SUSPECT)
    return list(rows.order_by("observed_at").values_list("observed_at", "value"))
