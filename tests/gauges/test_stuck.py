"""Common practice, no source: two days without a movement through 10 mm of rain."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from guiding.gauges.conditions.fishing_hours import read_conditions
from guiding.gauges.conditions.measured import Measured
from guiding.gauges.conditions.question import OnFile
from guiding.gauges.conditions.values import Given, Kind
from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.stuck import stuck_since
from tests.factories import make_gauge, make_readings
from tests.gauges.test_fishing_hours import QUESTION

AT = datetime(2026, 5, 20, 9, tzinfo=UTC)


def hours(count, value, *, until=AT):
    return [(until - timedelta(hours=back), value) for back in range(count - 1, -1, -1)]


def test_a_level_that_stands_still_through_rain_may_be_stuck():
    since = stuck_since(hours(60, 0.26), hours(60, 0.2), is_daily=False)

    assert since == AT - timedelta(hours=59)


@pytest.mark.parametrize(
    ("levels", "rain"),
    [
        (hours(60, 0.26), hours(60, 0.0)),  # a dry spell
        (hours(60, 0.26), []),  # no rain on file: nothing can be told
        (hours(40, 0.26), hours(40, 1.0)),  # not two days yet
        ([*hours(60, 0.26)[:-1], (AT, 0.27)], hours(60, 0.2)),  # it moves again
        ([], hours(60, 0.2)),
    ],
)
def test_a_living_gauge_is_believed(levels, rain):
    assert stuck_since(levels, rain, is_daily=False) is None


def test_a_daily_record_needs_four_days():
    days = [(AT - timedelta(days=back), 0.5) for back in range(4, -1, -1)]
    rain = [(moment, 4.0) for moment, _ in days]

    assert stuck_since(days, rain, is_daily=True) == days[0][0]
    assert stuck_since(days[1:], rain, is_daily=True) is None


def test_a_stuck_gauge_tells_nothing_until_somebody_looks():
    at = QUESTION.asked_at
    still = Measured(samples=tuple(hours(60, 0.26, until=at)))
    on_file = OnFile(levels=still, rain=Measured(samples=tuple(hours(60, 0.5, until=at))))

    seen = read_conditions(QUESTION, on_file)

    assert {c.kind for c in (seen.level, seen.phase, seen.rise)} == {Kind.NOT_KNOWN}
    assert "may be stuck" in seen.level.source
    looked = replace(on_file, levels=replace(still, typed_at=frozenset({at})))
    assert "stuck" not in read_conditions(QUESTION, looked).level.source
    assert read_conditions(QUESTION, on_file, Given(level_m=0.4)).level.number == 0.4


@pytest.mark.django_db
def test_no_forecast_is_made_from_a_stuck_gauge():
    gauge = make_gauge()
    make_readings(gauge, "level_m", hours(24 * 200, 0.26))
    make_readings(gauge, "rain_mm", hours(24 * 200, 0.5))

    forecast = issue_forecast(gauge, at=AT)

    assert set(forecast.quantiles["q50"]) == {None}
    assert "may be stuck" in forecast.says[0]
