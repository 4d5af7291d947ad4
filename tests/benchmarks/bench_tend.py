"""What a `tend` pass costs when nothing is due, with a month and with ten years on file.

Run by hand: python -m tests.benchmarks.bench_tend [rounds]. CPU seconds of one pass, best of the
rounds. An hourly gauge with level, rain, a file of readings, a weather run, a forecast and its
score for every hour, in a database in memory.
"""

import os
import sys
import time
from datetime import UTC, datetime, timedelta

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402

from guiding.desk.chores import do_chores  # noqa: E402
from guiding.gauges.fit_turns import MODELS  # noqa: E402
from guiding.gauges.models import (  # noqa: E402
    Fit,
    FitTurn,
    Forecast,
    ForecastScore,
    Gauge,
    Reading,
    ReadingImport,
    ScoredDay,
    Series,
    WeatherRun,
)
from guiding.rivers.models import River  # noqa: E402

AT = datetime(2026, 5, 20, 9, 10, tzinfo=UTC)
HOUR = timedelta(hours=1)
MONTH_H, DECADE_H = 30 * 24, 3652 * 24
MOST_RATIO = 1.5  # ten years against a month
AT_ONCE = 20_000


def lay_gauge():
    """Lay one hourly gauge with a fit in force."""
    call_command("migrate", verbosity=0)
    river = River.objects.create(name="Bench", zone="UTC", latitude=57.5, longitude=-4.5)
    gauge = Gauge.objects.create(river=river, name="Bench", latitude=57.5, longitude=-4.5)
    for quantity in ("level_m", "rain_mm"):
        Series.objects.create(gauge=gauge, quantity=quantity)
    Fit.objects.create(
        gauge=gauge,
        what="level",
        model=MODELS["level"],
        step_minutes=60,
        fitted_at=AT - 20 * 24 * HOUR,
        fit_seconds=1,
        data_from=AT,
        data_to=AT,
        data_count=1,
        data_on_file=1,
        rain="degraded",
        learned=b"",
        is_in_force=True,
        began_at=AT - 20 * 24 * HOUR,
        why="for measuring",
    )
    return gauge


def fill(gauge, first, last):
    """Put the hours from `first` to `last` before the moment on file."""
    fit = gauge.fits.get()
    moments = [AT - HOUR * k for k in range(first, last)]

    def put(rows):
        model = type(rows[0])
        model.objects.bulk_create(rows, batch_size=AT_ONCE)

    for series in gauge.series.all():
        put([Reading(series=series, observed_at=at, value=0.5) for at in moments])
        Series.objects.filter(pk=series.pk).update(on_file=last)
    put([ReadingImport(gauge=gauge, imported_at=at, name="an hour") for at in moments])
    put(
        [WeatherRun(gauge=gauge, issued_at=at, fetched_at=at, source="a", raw={}) for at in moments]
    )
    kept = {"model": "for measuring", "step_minutes": 60, "fit": fit, "quantiles": {"q50": [0.5]}}
    put([Forecast(gauge=gauge, issued_at=at, **kept) for at in moments])
    forecasts = Forecast.objects.order_by("-pk").values_list("pk", "issued_at")[: len(moments)]
    put(
        [
            ForecastScore(
                forecast_id=pk,
                lead_hours=24,
                target_at=at,
                scored_at=at,
                not_scored="for measuring",
            )
            for pk, at in forecasts
        ]
    )
    days = {at.date() for at in moments} - set(ScoredDay.objects.values_list("day", flat=True))
    put([ScoredDay(gauge=gauge, fit=fit, lead_hours=24, day=day, count=24) for day in days])
    FitTurn.objects.update_or_create(
        gauge=gauge,
        what="level",
        defaults={
            "tried_at": AT - 20 * 24 * HOUR,
            "tried_on_file": 2 * last,
            "tried_model": MODELS["level"],
        },
    )


def measured(rounds):
    """Return the least CPU seconds of a pass, its queries, and those that touch the readings."""
    with CaptureQueriesContext(connection) as asked:
        done = do_chores(AT)
    if done.failed or any(done.counts.values()):
        raise RuntimeError(f"something was due: {done}")
    least = float("inf")
    for _ in range(rounds):
        began = time.process_time()
        do_chores(AT)
        least = min(least, time.process_time() - began)
    readings = [q for q in asked.captured_queries if '"gauges_reading"' in q["sql"]]
    return least, len(asked), len(readings)


def main(rounds):
    """Print a line for each record; return whether ten years cost what a month does."""
    gauge, found = lay_gauge(), []
    for name, first, last in (("a month", 0, MONTH_H), ("ten years", MONTH_H, DECADE_H)):
        fill(gauge, first, last)
        seconds, queries, readings = measured(rounds)
        found.append((seconds, queries))
        print(
            f"{name} on file: {seconds * 1000:.1f} ms a pass, {queries} queries, "
            f"{readings} of them of readings"
        )
    (month, asked), (decade, asked_later) = found
    print(f"ten years cost {decade / month:.2f} times a month; at most {MOST_RATIO}")
    return decade <= MOST_RATIO * month and asked == asked_later and readings == 0


if __name__ == "__main__":
    sys.exit(0 if main(int(sys.argv[1]) if len(sys.argv) > 1 else 20) else 1)
