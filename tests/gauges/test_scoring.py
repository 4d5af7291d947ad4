"""Forecasts held against what came: once each, when their time has come, and never by guesswork."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import scoringrules
from django.db.models import Count, Sum

from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.hydrology.spread import LEAD_HOURS, Spreads
from guiding.gauges.models import Forecast, ForecastScore, Mark, Reading, ScoredDay
from guiding.gauges.scoring import NEVER, NEVER_OBSERVED, NOTHING_SAID, score_due
from tests.factories import make_gauge, make_readings
from tests.gauges.fitted import DAY, HOUR, daily_gauge, days_on
from tests.gauges.inventedriver import invented_river

pytestmark = pytest.mark.django_db

LAST = datetime(2026, 5, 20, 9, tzinfo=UTC)
AT = LAST + timedelta(minutes=10)
LEVEL, RAIN = invented_river(1.0)


@pytest.fixture
def gauge():
    gauge = make_gauge()
    times = [LAST - HOUR * k for k in range(len(LEVEL))][::-1]
    make_readings(gauge, "level_m", zip(times, LEVEL.tolist(), strict=True))
    make_readings(gauge, "rain_mm", [(t - HOUR, r) for t, r in zip(times, RAIN, strict=True)])
    return gauge


def came(gauge, levels, first=1):
    """Let hourly levels come in after the last one, NaN where none was read."""
    make_readings(
        gauge,
        "level_m",
        [(LAST + HOUR * (first + k), v) for k, v in enumerate(levels) if not np.isnan(v)],
    )


def tidy(forecast):
    forecast.refresh_from_db()
    return forecast


def test_a_lead_is_scored_two_hours_after_its_hour_and_no_sooner(gauge):
    forecast = issue_forecast(gauge, at=AT)
    came(gauge, [0.9] * 130)

    early = score_due(LAST + 7 * HOUR)
    first = score_due(LAST + 8 * HOUR)
    again = score_due(LAST + 8 * HOUR)
    rest = score_due(LAST + 200 * HOUR)

    assert (early.leads, first.leads, again.leads, rest.leads) == (0, 1, 0, 4)
    rows = {row.lead_hours: row for row in forecast.scores.all()}
    assert tuple(rows) == LEAD_HOURS[60]
    assert rows[6].target_at == LAST + 6 * HOUR
    assert {row.observed_m for row in rows.values()} == {0.9}
    assert tidy(forecast).next_score_at is None
    assert forecast.spreads is None


def test_the_score_of_a_lead_is_that_of_its_own_paths(gauge):
    forecast = issue_forecast(gauge, at=AT)
    paths = forecast.as_record().paths
    came(gauge, [1.3] * 130)

    score_due(LAST + 200 * HOUR)

    for row in forecast.scores.all():
        members = paths[:, row.lead_hours - 1]
        # the reference library, on all paths; what is kept of them are a hundred quantiles
        expected = float(scoringrules.crps_ensemble(1.3, members))
        assert row.crps_m == pytest.approx(expected, rel=0.01, abs=0.0005)
        assert row.q50 == pytest.approx(float(np.median(members)), abs=0.001)
        assert row.is_inside == (row.q10 <= 1.3 <= row.q90)
        assert row.stays_m == pytest.approx(float(LEVEL[-1]))


def test_it_stays_as_it_is_has_the_spread_of_the_gauges_own_changes(gauge):
    forecast = issue_forecast(gauge, at=AT)
    came(gauge, [float(LEVEL[-1]) + 0.1] * 130)

    score_due(LAST + 200 * HOUR)

    day = forecast.scores.get(lead_hours=24)
    changes = float(LEVEL[-1]) + (LEVEL[24:] - LEVEL[:-24])
    expected = float(scoringrules.crps_ensemble(float(LEVEL[-1]) + 0.1, changes))
    assert day.stays_crps_m == pytest.approx(expected, rel=0.02, abs=0.0005)


def test_what_is_not_observed_is_not_scored_and_waits(gauge):
    forecast = issue_forecast(gauge, at=AT)
    levels = np.full(130, 0.9)
    levels[3:9] = np.nan  # the hour of the nearest lead and its neighbours
    came(gauge, levels)

    score_due(LAST + 200 * HOUR)

    assert [row.lead_hours for row in forecast.scores.all()] == [24, 48, 72, 120]
    assert tidy(forecast).next_score_at == LAST + 212 * HOUR
    came(gauge, [0.95], first=6)  # a file brings it at last
    score_due(LAST + 212 * HOUR)
    assert forecast.scores.get(lead_hours=6).observed_m == 0.95
    assert tidy(forecast).next_score_at is None


def test_what_never_came_is_closed_as_never_observed_in_the_end(gauge):
    forecast = issue_forecast(gauge, at=AT)
    moment = AT
    while tidy(forecast).next_score_at is not None:
        moment = max(moment + HOUR, forecast.next_score_at)
        score_due(moment)

    assert {row.not_scored for row in forecast.scores.all()} == {NEVER_OBSERVED}
    assert {row.observed_m for row in forecast.scores.all()} == {None}
    assert moment - (LAST + 120 * HOUR) == pytest.approx(NEVER, abs=13 * HOUR)
    day = ScoredDay.objects.aggregate(count=Sum("count"), not_scored=Sum("not_scored"))
    assert day == {"count": 0, "not_scored": 5}


def test_a_suspect_level_is_no_observation(gauge):
    forecast = issue_forecast(gauge, at=AT)
    suspect = [(LAST + HOUR * k, 4.0) for k in range(1, 131)]
    make_readings(gauge, "level_m", suspect, quality=Reading.Quality.SUSPECT)

    assert score_due(LAST + 200 * HOUR).leads == 0
    assert not forecast.scores.exists()


def test_a_lead_of_which_nothing_was_said_is_closed_and_that_is_counted():
    gauge = (
        make_gauge()
    )  # without rain on file nothing is said beyond twelve hours where rain is due
    times = [LAST - HOUR * k for k in range(24 * 40)][::-1]
    make_readings(gauge, "level_m", zip(times, LEVEL[-24 * 40 :].tolist(), strict=True))
    forecast = issue_forecast(gauge, at=AT)
    came(gauge, [0.9] * 130)

    score_due(LAST + 200 * HOUR)

    rows = {row.lead_hours: row.not_scored for row in forecast.scores.all()}
    assert rows == {6: "", **dict.fromkeys((24, 48, 72, 120), NOTHING_SAID)}


def test_a_forecast_that_says_nothing_at_all_waits_for_no_score():
    forecast = issue_forecast(make_gauge(), at=AT)

    assert forecast.next_score_at is None
    assert score_due(AT + 400 * HOUR).leads == 0


def test_a_mark_is_held_against_the_levels_up_to_its_horizon(gauge):
    now = float(LEVEL[-1])
    Mark.objects.create(gauge=gauge, kind="high", level_m=round(now + 0.2, 3))
    Mark.objects.create(gauge=gauge, kind="summer", level_m=round(now - 0.01, 3))
    forecast = issue_forecast(gauge, at=AT)
    levels = np.full(130, now)
    levels[30] = now + 0.25  # the hour after the first day's end sees it pass
    came(gauge, levels)

    score_due(LAST + 200 * HOUR)

    told = {row.lead_hours: {m["name"]: m for m in row.marks} for row in forecast.scores.all()}
    assert told[6] == {}
    assert told[24]["high"]["happened"] is False
    assert told[48]["high"]["happened"] is True
    assert told[120]["high"]["happened"] is True
    assert told[120]["summer level"]["happened"] is False
    assert told[24]["high"]["chance"] == forecast.marks[-1]["p24"]


def test_whether_a_mark_was_passed_is_not_known_where_a_tenth_was_not_observed(gauge):
    Mark.objects.create(gauge=gauge, kind="high", level_m=round(float(LEVEL[-1]) + 0.2, 3))
    forecast = issue_forecast(gauge, at=AT)
    levels = np.full(130, 3.0)
    levels[:4] = np.nan
    came(gauge, levels)

    score_due(LAST + 200 * HOUR)

    happened = {row.lead_hours: row.marks for row in forecast.scores.exclude(marks=[])}
    assert happened[24][0]["happened"] is None
    assert happened[120][0]["happened"] is True
    counted = sum(n for day in ScoredDay.objects.all() for n, _, _ in day.chances.values())
    assert counted == 2


def test_a_daily_forecast_is_scored_when_its_day_is_over():
    gauge = daily_gauge()
    at = datetime(2026, 5, 20, 9, tzinfo=UTC)
    forecast = issue_forecast(gauge, at=at)
    days_on(gauge, datetime(2026, 5, 20, tzinfo=UTC), 6)

    score_due(datetime(2026, 5, 21, 5, tzinfo=UTC))
    assert not forecast.scores.exists()
    score_due(datetime(2026, 5, 21, 6, tzinfo=UTC))
    score_due(datetime(2026, 5, 30, tzinfo=UTC))

    rows = list(forecast.scores.all())
    assert [row.lead_hours for row in rows] == [24, 48, 72, 96, 120]
    assert [row.target_at for row in rows] == [
        datetime(2026, 5, 20, tzinfo=UTC) + DAY * k for k in range(5)
    ]


def test_the_days_sum_up_what_the_scores_say(gauge):
    for hour in range(0, 24, 3):
        issue_forecast(gauge, at=AT + timedelta(hours=hour))
    came(gauge, (0.8 + 0.3 * np.sin(np.arange(200) / 20)).tolist())

    score_due(LAST + 60 * HOUR)
    score_due(LAST + 300 * HOUR)

    rows = ForecastScore.objects.filter(not_scored="")
    days = ScoredDay.objects.aggregate(
        count=Sum("count"), crps=Sum("crps_m"), stays=Sum("stays_crps_m"), inside=Sum("inside")
    )
    assert rows.count() == days["count"] == 40
    sums = rows.aggregate(crps=Sum("crps_m"), stays=Sum("stays_crps_m"))
    assert days["crps"] == pytest.approx(sums["crps"])
    assert days["stays"] == pytest.approx(sums["stays"])
    assert days["inside"] == rows.filter(is_inside=True).count()
    assert not (
        ScoredDay.objects.values("lead_hours", "day").annotate(n=Count("pk")).filter(n__gt=1)
    )


def test_one_bad_gauge_never_stops_the_others(gauge, monkeypatch):
    bad = make_gauge(name="Bad")
    for which in (gauge, bad):
        forecast = issue_forecast(which, at=AT)
    Forecast.objects.filter(gauge=bad).update(next_score_at=AT, quantiles={})
    came(gauge, [0.9] * 130)

    done = score_due(LAST + 200 * HOUR)

    assert done.leads == 5
    assert len(done.failed) == 1
    assert "Bad" in done.failed[0]
    assert forecast.gauge == bad


def test_scoring_reads_levels_of_the_days_in_question_only(gauge, django_assert_max_num_queries):
    issue_forecast(gauge, at=AT)
    came(gauge, [0.9] * 130)

    with django_assert_max_num_queries(30) as seen:
        score_due(LAST + 9 * HOUR)

    asked = [q["sql"] for q in seen.captured_queries if "gauges_reading" in q["sql"]]
    assert all("observed_at" in sql for sql in asked if "SELECT" in sql and '"value"' in sql)


def test_what_is_kept_for_the_score_comes_back_to_the_millimetre():
    shares = np.linspace(0.2, 0.9, 500).reshape(5, 100)
    kept = Spreads(ours=shares, stays=shares + 0.1, now_m=0.4321)

    back = Spreads.unpacked(kept.packed())

    np.testing.assert_allclose(back.ours, kept.ours, atol=0.00051)
    np.testing.assert_allclose(back.stays, kept.stays, atol=0.00051)
    assert back.now_m == pytest.approx(0.432)
    assert len(kept.packed()) < 3_000
    assert replace(back, now_m=1.0).now_m == 1.0
