"""The archive of weather runs as the fit takes it: each as it was issued, and from then on."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from guiding.gauges import rain_archive
from guiding.gauges.models import WeatherRun
from guiding.gauges.rain_archive import FEWEST_RUNS, rain_runs
from guiding.gauges.steps import Steps
from tests.factories import make_gauge

pytestmark = pytest.mark.django_db

BEGINS = datetime(2025, 1, 1, tzinfo=UTC)
HOURLY = Steps(step_minutes=60, zone=ZoneInfo("UTC"))
DAILY = Steps(step_minutes=1440, zone=ZoneInfo("UTC"))
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def archive(gauge, count, every, hours=6):
    """Keep runs issued twenty minutes past, the rain of hour k of run n being n + k / 100."""
    for n in range(count):
        issued_at = BEGINS + n * every + timedelta(minutes=20)
        begins = issued_at.replace(minute=0)
        WeatherRun.objects.create(
            gauge=gauge,
            issued_at=issued_at,
            fetched_at=issued_at,
            source="made for a test",
            raw={"heavy": "x" * 10},
            steps=[
                {
                    "starts_at": (begins + k * HOUR).isoformat(),
                    "ends_at": (begins + (k + 1) * HOUR).isoformat(),
                    "rain_mm": n + k / 100,
                }
                for k in range(hours)
            ],
        )


def read(gauge, steps=HOURLY, days=500, ahead=8):
    first = steps.of(BEGINS)
    last = first + days * (24 if steps is HOURLY else 1)
    return rain_runs(gauge, steps, first=first, last=last, ahead=ahead)


def test_too_few_runs_or_too_short_an_archive_is_none():
    gauge = make_gauge()
    archive(gauge, FEWEST_RUNS - 1, 2 * DAY)
    assert read(gauge) is None
    other = make_gauge()
    archive(other, FEWEST_RUNS, DAY)
    assert read(other) is None


def test_each_run_stands_at_the_step_that_was_over_and_what_it_did_not_carry_is_missing():
    gauge = make_gauge()
    archive(gauge, FEWEST_RUNS, 36 * HOUR)

    runs = read(gauge)

    assert runs.origins.tolist() == [36 * n for n in range(FEWEST_RUNS)]
    # the hour that leads up to the first level ahead, and five more; then it carried none
    np.testing.assert_allclose(runs.rain_mm[3, :6], 3 + np.arange(6) / 100)
    assert np.isnan(runs.rain_mm[:, 6:]).all()


def test_a_daily_record_takes_the_rest_of_the_day_and_whole_days():
    gauge = make_gauge(step_minutes=1440)
    archive(gauge, FEWEST_RUNS, 2 * DAY, hours=72)

    runs = read(gauge, DAILY, days=600, ahead=4)

    assert runs.origins[:3].tolist() == [1, 3, 5]  # issued on day 0 nothing was over yet
    assert runs.rain_mm[0, 0] == pytest.approx(24 * 1 + sum(range(24)) / 100, rel=0.02)
    assert np.isfinite(runs.rain_mm[:, :3]).all()
    assert np.isnan(runs.rain_mm[:, 3]).all()


def test_runs_from_outside_the_record_are_left_out():
    gauge = make_gauge()
    archive(gauge, FEWEST_RUNS, 36 * HOUR)

    assert len(read(gauge, days=30).origins) == 21


def test_of_very_many_runs_some_spread_over_all_of_them_are_read(monkeypatch):
    gauge = make_gauge()
    archive(gauge, FEWEST_RUNS + 10, 36 * HOUR, hours=2)
    monkeypatch.setattr(rain_archive, "MOST_RUNS", 50)

    runs = read(gauge, ahead=2)

    assert len(runs.origins) == 50
    assert runs.origins[0] == 0
    assert runs.origins[-1] == 36 * (FEWEST_RUNS + 9)
