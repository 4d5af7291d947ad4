"""What was on file about a gauge at a moment: all that a forecast may look at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.gauges.levels import levels_of
from guiding.gauges.models import Gauge, Quantity, Reading, WeatherRun
from guiding.gauges.steps import Steps, days_begin

KEPT_YEARS = {60: 5, 1440: 40}  # history read; more hours would only slow a forecast down
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
    water: Readings  # of the last 48 hours, and only where the river can ice
    air: Readings

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
    """Read what was on file about a gauge at a moment."""
    since = at - timedelta(days=366 * KEPT_YEARS[gauge.step_minutes])
    zone = gauge.river.zoneinfo
    # a gauge that fell silent long ago still has a last level to tell of
    levels = levels_of(gauge, since, at) or levels_of(gauge, None, at)[-1:]
    begins = days_begin((moment for moment, _ in levels[-60:]), zone)
    steps = Steps(step_minutes=gauge.step_minutes, zone=zone, day_begins=begins)
    step = timedelta(minutes=gauge.step_minutes)
    over = at - step if steps.is_daily else at  # a day's mean is known when the day is over
    cold = over - timedelta(hours=COLD_HOURS)
    return Known(
        gauge=gauge,
        at=at,
        steps=steps,
        levels=_over(levels, steps, at),
        rain=_values(gauge, Quantity.RAIN, since, at - step),
        run=WeatherRun.objects.filter(gauge=gauge, issued_at__lte=at, fetched_at__lte=at)
        .order_by("-issued_at", "-fetched_at", "-id")
        .first(),
        water=_values(gauge, Quantity.WATER, cold, over) if gauge.may_ice else [],
        air=_values(gauge, Quantity.AIR, cold, over) if gauge.may_ice else [],
    )


def _over(levels: Readings, steps: Steps, at: datetime) -> Readings:
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


def _values(gauge: Gauge, quantity: str, since: datetime, until: datetime) -> Readings:
    rows = Reading.objects.filter(
        series__gauge=gauge,
        series__quantity=quantity,
        observed_at__gte=since,
        observed_at__lte=until,
    ).exclude(quality=Reading.Quality.SUSPECT)
    return list(rows.order_by("observed_at").values_list("observed_at", "value"))
