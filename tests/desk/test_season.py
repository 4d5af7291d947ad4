"""Laws of the invented river: the same bytes twice, no gaps, seasons, sharp rises, long falls."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest

from guiding.desk.demo.season import (
    AHEAD_H,
    MEADOW_M,
    MEADOW_ROOM_M,
    STAGED_PEAK_M,
    THREE_YEARS_H,
    make_season,
)
from guiding.desk.demo.weather import weather_document

OVER_BANK_M = 2.40
QUANTITIES = ("level_m", "rain_mm", "air_c", "water_c")
ANCHORS = (
    datetime(2026, 11, 25, 8, tzinfo=UTC),
    datetime(2027, 2, 28, 23, tzinfo=UTC),
    datetime(2028, 2, 29, 0, tzinfo=UTC),
    datetime(2027, 7, 9, 15, tzinfo=UTC),
)


@pytest.fixture(scope="module")
def season():
    return make_season(until=ANCHORS[0])


def by_month(season, values):
    months = np.array([season.moment(hour).month for hour in range(len(values))])
    return {month: values[months == month] for month in range(1, 13)}


def test_the_same_seed_gives_the_same_bytes_and_another_seed_another_river(season):
    again = make_season(until=ANCHORS[0])
    other = make_season(until=ANCHORS[0], seed=7)

    for quantity in (*QUANTITIES, "visibility_cm", "wind_ms", "wind_from_deg", "cloud_percent"):
        assert getattr(again, quantity).tobytes() == getattr(season, quantity).tobytes()
    assert other.level_m.tobytes() != season.level_m.tobytes()


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_three_years_stand_hour_by_hour_without_a_gap(season, quantity):
    rows = season.rows(quantity)

    steps = {later - earlier for (earlier, _), (later, _) in pairwise(rows)}
    assert steps == {timedelta(hours=1)}
    assert rows[0][0] == ANCHORS[0] - timedelta(hours=THREE_YEARS_H)
    assert rows[-1][0] == ANCHORS[0] - timedelta(hours=quantity == "rain_mm")
    assert np.isfinite([value for _, value in rows]).all()


@pytest.mark.parametrize("until", ANCHORS, ids=str)
def test_whatever_the_day_the_demo_opens_on_a_river_fining_down_after_a_spate(until):
    season = make_season(until=until, hours=120 * 24)
    now = season.hours

    peak = int(np.argmax(season.level_m[now - 96 :])) + now - 96
    assert season.level_m[peak] == pytest.approx(STAGED_PEAK_M, abs=0.03)
    assert 40 <= now - peak <= 62  # two days ago
    assert 0.38 <= season.level_m[now] <= 0.60
    assert 0 < season.level_m[now - 12] - season.level_m[now] < 0.15
    assert season.rain_mm[now - 48 : now + 72].sum() == 0
    assert season.rain_mm[now + 72 : now + 96].sum() > 10  # on the fourth day


def test_the_river_stays_in_its_banks_and_is_fishable_on_most_days(season):
    level = season.level_m

    assert MEADOW_M + MEADOW_ROOM_M < OVER_BANK_M
    assert 0.2 < level.min() < 0.32
    assert 1.4 < level.max() < OVER_BANK_M
    assert np.mean((level > 0.25) & (level < 1.6)) > 0.99
    daily = level[: len(level) // 24 * 24].reshape(-1, 24).mean(axis=1)
    assert np.mean((daily >= 0.30) & (daily < 1.10)) > 0.85


def test_it_rises_sharply_and_falls_slowly(season):
    change_m = np.diff(season.level_m)

    assert np.quantile(change_m, 0.999) > 3 * -np.quantile(change_m, 0.001)
    assert np.sum(change_m < -0.002) > 2 * np.sum(change_m > 0.002)
    assert change_m.max() > 0.15


def test_winter_is_wetter_higher_and_colder_than_summer(season):
    level = by_month(season, season.level_m)
    water = by_month(season, season.water_c)
    air = by_month(season, season.air_c[: season.hours + 1])

    for summer, winter in ((6, 12), (7, 1), (8, 2)):
        assert np.median(level[winter]) > np.median(level[summer])
        assert water[summer].mean() > water[winter].mean() + 5
        assert air[summer].mean() > air[winter].mean() + 7
    assert 0 < season.water_c.min() < 5
    assert 15 < season.water_c.max() < 22.6
    assert -15 < season.air_c.min() < 0
    assert 18 < season.air_c.max() < 35


def test_water_temperature_moves_less_in_a_day_than_the_air_does(season):
    hours = season.hours // 24 * 24
    air = np.ptp(season.air_c[:hours].reshape(-1, 24), axis=1).mean()
    water = np.ptp(season.water_c[:hours].reshape(-1, 24), axis=1).mean()

    assert water < air / 2


def test_more_rain_comes_before_more_water(season):
    hours = season.hours
    rain = np.convolve(season.rain_mm[:hours], np.ones(24))[:hours]

    wet = season.level_m[1 : hours + 1][rain > 15]
    dry = season.level_m[1 : hours + 1][rain == 0]

    assert np.median(wet) > np.median(dry) + 0.2


def test_a_year_brings_a_believable_amount_of_rain_in_tips_of_a_gauge(season):
    years = season.hours / (365.25 * 24)

    total_mm = season.rain_mm[: season.hours].sum() / years
    assert 700 < total_mm < 1700
    tips = season.rain_mm[: season.hours] / 0.2
    assert np.allclose(tips, np.round(tips))
    assert season.rain_mm.min() == 0


def test_the_water_is_dirtier_after_a_rise_than_before_it(season):
    now = season.hours

    assert season.visibility_cm[now - 50] < 50
    assert season.visibility_cm[now - 80] > 100
    assert season.visibility_cm[now] > 1.5 * season.visibility_cm[now - 50]
    looks = season.visibility_rows()
    assert len(looks) > 200
    assert timedelta(0) <= season.until - looks[-1][0] < timedelta(hours=24)
    assert all(5 <= value <= 300 and value % 5 == 0 for _, value in looks)


def test_the_weather_ahead_is_hourly_for_sixty_hours_and_then_every_six(season):
    steps = weather_document(season, latitude=57.2, longitude=-0.6, altitude_m=42)["properties"][
        "timeseries"
    ]

    times = [datetime.fromisoformat(step["time"]) for step in steps]
    gaps = [(later - earlier).total_seconds() / 3600 for earlier, later in pairwise(times)]
    assert times[0] == season.until
    assert gaps == [1.0] * 60 + [6.0] * 11
    assert times[-1] - times[0] >= timedelta(days=5)
    fallen = sum(
        step["data"][span]["details"]["precipitation_amount"]
        for step in steps
        for span in ("next_1_hours", "next_6_hours")
        if span in step["data"]
    )
    covered = season.rain_mm[season.hours : season.hours + AHEAD_H - 1]
    assert fallen == pytest.approx(covered.sum(), abs=0.2)
    assert "next_1_hours" not in steps[-1]["data"]
    assert "next_6_hours" not in steps[-1]["data"]


@pytest.mark.parametrize(
    "until",
    [datetime(2026, 11, 25, 8), datetime(2026, 11, 25, 8, 30, tzinfo=UTC)],  # noqa: DTZ001
)
def test_a_moment_that_is_no_aware_full_hour_is_refused(until):
    with pytest.raises(ValueError, match="an aware full hour is needed"):
        make_season(until=until)


def test_a_record_shorter_than_a_month_is_refused():
    with pytest.raises(ValueError, match="hours is 100; at least 720 are needed"):
        make_season(until=ANCHORS[0], hours=100)
