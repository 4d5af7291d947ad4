"""The rain on file for a gauge's picture: measured, and of the newest run that is not too old."""

from __future__ import annotations

from datetime import datetime, timedelta

from guiding.gauges.known import RUN_IS_OLD
from guiding.gauges.models import Gauge, Quantity, Reading, WeatherRun
from guiding.gauges.rain_shown import RainShown, measured_steps, rain_shown, steps_of
from guiding.gauges.steps import Steps, days_begin


def rain_now(gauge: Gauge, since: datetime, at: datetime) -> tuple[RainShown, ...]:
    """Return what is known of the rain from a moment on, as it was known at another."""
    since -= timedelta(minutes=gauge.step_minutes)  # the step that it lies in, whole
    readings = Reading.objects.filter(
        series__gauge=gauge,
        series__quantity=Quantity.RAIN,
        observed_at__gte=since,
        observed_at__lte=at,
    ).exclude(quality=Reading.Quality.SUSPECT)
    run = (
        WeatherRun.objects.filter(
            gauge=gauge, issued_at__lte=at, issued_at__gte=at - RUN_IS_OLD, fetched_at__lte=at
        )
        .defer("raw")
        .order_by("-issued_at", "-fetched_at", "-pk")
        .first()
    )
    rows = list(readings.order_by("observed_at").values_list("observed_at", "value"))
    zone = gauge.river.zoneinfo
    begins = days_begin((moment for moment, _ in rows), zone)
    steps = Steps(step_minutes=gauge.step_minutes, zone=zone, day_begins=begins)
    return rain_shown(
        measured_steps(rows, steps, since=since, at=at),
        steps_of(run.steps if run else ()),
        at=at,
    )
