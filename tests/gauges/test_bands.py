from dataclasses import replace

import numpy as np
import pytest

from guiding.gauges.hydrology import bands
from guiding.gauges.hydrology.outlook import look_ahead
from guiding.gauges.hydrology.recession import FLOOR_MARGIN_M, fit_recession
from tests.gauges.inventedriver import invented_river, record_to

HOURS = 120


@pytest.fixture(scope="module")
def hourly():
    return invented_river(2)


@pytest.fixture(scope="module")
def daily():
    return invented_river(12, 1440, seed=3)


def settled_origin(rain, since, a_day=24):
    """Return a position from which the past three days were dry."""
    dry = np.convolve(rain, np.ones(3 * a_day))[: len(rain)] == 0
    return int(np.flatnonzero(dry[since:])[0] + since)


def hours_ahead(level, rain, rain_ahead, until=None, late=0):
    until = until if until is not None else settled_origin(rain, len(level) * 3 // 4)
    record = record_to(level, rain, until, late=late)
    return look_ahead(record, steps=HOURS, near_steps=12, rain_ahead=rain_ahead)


def shower(mm):
    rain = np.zeros(HOURS)
    rain[2:10] = mm / 8
    return rain


def test_sums_look_at_the_same_steps_everywhere_and_a_missing_one_is_not_zero():
    rain = np.array([0.0, 1.0, 2.0, np.nan, 4.0, 5.0, 6.0])

    got = bands.sum_over(rain, [1, 2])

    np.testing.assert_array_equal(got, [3.0, np.nan, np.nan, 9.0, 11.0, np.nan, np.nan])


def test_rain_by_day_sums_only_the_steps_the_forecast_carries():
    level, rain = np.linspace(1, 0.9, 200), np.ones(200)
    record = record_to(level, rain, 199)
    ahead = np.full(48, 0.5)
    ahead[3:24] = np.nan

    past, coming = bands.rain_by_day(record, ahead)

    assert coming.tolist() == [1.5, 12.0]
    assert past[10].tolist() == [3.0, 24.0]


def test_rain_as_if_forecast_keeps_its_mean_and_is_the_same_every_time():
    rain = np.random.default_rng(1).exponential(3.0, (20_000, 5))

    once, again = bands.as_if_forecast(rain), bands.as_if_forecast(rain)

    np.testing.assert_array_equal(once, again)
    assert once.mean() == pytest.approx(rain.mean(), rel=0.03)
    near = np.corrcoef(once[:, 0], rain[:, 0])[0, 1]
    far = np.corrcoef(once[:, 4], rain[:, 4])[0, 1]
    assert 1 > near > far > 0


@pytest.mark.parametrize("with_rain", [True, False])
@pytest.mark.parametrize("step_minutes", [60, 1440])
def test_four_in_five_outcomes_lie_in_the_band(step_minutes, with_rain, hourly, daily, rounds):
    level, rain = hourly if step_minutes == 60 else daily
    steps, near, begins = (HOURS, 12, 0) if step_minutes == 60 else (5, 1, 1)
    count = rounds(40, 300) if step_minutes == 60 else rounds(100, 600)
    draw = np.random.default_rng(11)
    inside = []
    for until in np.linspace(len(level) * 0.6, len(level) - steps - 2, count).astype(int):
        # a rain forecast is off by a factor
        ahead = rain[until + begins : until + begins + steps] * np.exp(draw.normal(-0.08, 0.4))
        outlook = look_ahead(
            record_to(level, rain, until, step_minutes),
            steps=steps,
            near_steps=near,
            rain_ahead=ahead if with_rain else None,
        )
        after = level[until + 1 : until + 1 + steps]
        low, high = np.quantile(outlook.paths, [0.1, 0.9], axis=0)
        known = np.isfinite(low)
        inside += ((after >= low) & (after <= high))[known].tolist()

    assert 0.70 <= np.mean(inside) <= 0.90


def test_more_rain_never_lowers_the_likely_level(hourly):
    dry, light, wet, wettest = (
        np.median(hours_ahead(*hourly, shower(mm)).paths, axis=0)[:48] for mm in (0, 3, 10, 25)
    )

    for less, more in ((dry, light), (light, wet), (wet, wettest)):
        # each median is of some 160 paths: it wanders by a centimetre
        assert more.max() >= less.max() - 0.01
        assert more[12:36].mean() >= less[12:36].mean() - 0.01
    assert wet.max() > dry.max() + 0.1
    assert wettest.max() > light.max() + 0.1


def test_no_path_falls_below_the_floor_and_every_path_is_whole(hourly):
    level, rain = hourly
    until = int(np.argmin(level[: len(level) - HOURS]))

    paths = hours_ahead(level, rain, np.zeros(HOURS), until).paths

    assert np.isfinite(paths).all()
    assert paths.shape[0] >= 100
    assert paths.min() > level[: until + 1].min() - FLOOR_MARGIN_M


def test_rain_beyond_anything_on_file_is_not_known_beyond_twelve_hours(hourly):
    outlook = hours_ahead(*hourly, shower(400))

    assert np.isfinite(outlook.paths[:, :12]).all()
    assert np.isnan(outlook.paths[:, 12:]).all()
    assert "400 mm of rain is forecast" in outlook.says[0]
    assert "more than anything on file" in outlook.says[0]


def test_rain_seen_too_seldom_is_not_known_beyond_twelve_hours(hourly):
    level, rain = hourly
    by_day = np.convolve(rain, np.ones(24))[: len(rain)]

    outlook = hours_ahead(level, rain, shower(by_day[: len(level) * 3 // 4].max() * 0.99))

    assert np.isnan(outlook.paths[:, 12:]).all()
    assert "wet spell" in outlook.says[0]


def test_the_first_hours_of_rain_nobody_can_speak_for_are_not_borrowed_from_calm_windows(hourly):
    until = settled_origin(hourly[1], len(hourly[0]) * 3 // 4)
    calm = hours_ahead(hourly[0], hourly[1], np.zeros(HOURS), until).paths[:, 11]
    storm = hours_ahead(hourly[0], hourly[1], shower(400), until).paths[:, 11]

    assert np.quantile(storm, 0.9) > np.quantile(calm, 0.9)
    assert np.median(storm) > np.median(calm)


def test_rain_coming_with_no_rain_on_file_is_not_known_beyond_twelve_hours(hourly):
    level, rain = hourly
    until = settled_origin(rain, len(level) * 3 // 4)

    wet = hours_ahead(level, None, shower(10), until)
    dry = hours_ahead(level, None, np.zeros(HOURS), until)

    assert np.isnan(wet.paths[:, 12:]).all()
    assert "no rain is on file" in wet.says[0]
    assert np.isfinite(dry.paths).all()
    assert "band is that of all weathers" in dry.says[0]


def test_a_missing_forecast_step_is_unknown_and_not_dry(hourly):
    dry = np.zeros(HOURS)
    missing = dry.copy()
    missing[24:] = np.nan
    until = settled_origin(hourly[1], len(hourly[0]) * 3 // 4)

    known = hours_ahead(*hourly, dry, until)
    part = hours_ahead(*hourly, missing, until)

    assert not any("carries no rain" in line for line in known.says)
    assert "carries no rain for 96 of the 120 steps" in part.says[0]
    assert np.quantile(part.paths[:, -1], 0.9) > np.quantile(known.paths[:, -1], 0.9)


def test_without_a_rain_forecast_the_band_is_of_all_weathers_and_says_so(hourly):
    outlook = hours_ahead(*hourly, None)

    assert "Made without a rain forecast" in outlook.says[0]
    assert np.isfinite(outlook.paths).all()


def test_without_a_rain_forecast_and_less_than_a_year_it_is_not_known_beyond_twelve_hours(hourly):
    outlook = hours_ahead(*hourly, None, until=24 * 200)

    assert np.isnan(outlook.paths[:, 12:]).all()
    assert "less than a year" in outlook.says[0]


def test_less_than_a_season_widens_the_band_and_stops_at_twelve_hours(hourly):
    level, rain = hourly
    until = settled_origin(rain, 24 * 60)

    outlook = hours_ahead(level, rain, np.zeros(HOURS), until)

    assert np.isnan(outlook.paths[:, 12:]).all()
    assert np.isfinite(outlook.paths[:, :12]).all()
    assert any("less than a season" in line for line in outlook.says)


def test_a_few_days_on_file_teach_nothing(hourly):
    outlook = hours_ahead(*hourly, np.zeros(HOURS), until=24 * 10)

    assert outlook.paths is None
    assert outlook.says[0].startswith("Not known: 10 days of level are on file")


def test_a_late_level_is_forecast_over_the_lateness_too(hourly):
    level, rain = hourly
    until = settled_origin(rain, len(level) * 3 // 4)

    on_time = hours_ahead(level, rain, np.zeros(HOURS), until).paths
    late = hours_ahead(level, rain, np.zeros(HOURS), until, late=20).paths

    assert late.shape[1] == on_time.shape[1] == HOURS

    def width(paths):
        return np.diff(np.quantile(paths[:, :6], [0.1, 0.9], axis=0), axis=0).mean()

    assert width(late) > width(on_time)


def test_a_gap_behind_is_said_and_left_a_gap(hourly):
    level, rain = hourly
    until = settled_origin(rain, len(level) * 3 // 4)
    holed = level.copy()
    holed[until - 24] = np.nan

    outlook = hours_ahead(holed, rain, np.zeros(HOURS), until)

    assert outlook.says[0] == (
        "Readings are missing for: change over 24 hours; compared without them."
    )
    assert outlook.paths is not None


def test_windows_with_a_gap_are_left_out_whole(hourly):
    level, rain = hourly
    holed = level.copy()
    holed[5000] = np.nan
    record = record_to(holed, rain, 9000)
    recession = fit_recession(record.level_m, record.step_minutes)
    what = bands.features(record, recession.depth(record.level_m))

    past = bands.windows(record, recession, what, 120)

    assert np.isfinite(past.errors).all()
    assert not ((past.origins >= 5000 - 120) & (past.origins <= 5000)).any()


def test_the_same_record_gives_the_same_paths(hourly):
    one, other = (hours_ahead(*hourly, shower(6)).paths for _ in range(2))

    np.testing.assert_array_equal(one, other)


def test_a_band_is_widened_about_its_median_and_never_narrowed(hourly):
    level, rain = hourly
    record = record_to(level, rain, 9000)
    recession = fit_recession(record.level_m, record.step_minutes)
    past = bands.windows(
        record, recession, bands.features(record, recession.depth(record.level_m)), 24
    )
    quarter = replace(past, errors=past.errors * 4)

    factor = bands.widening(past, 160, 24 * 15)

    assert (factor >= 1).all()
    # the factor is a share of the band's own width, so it does not depend on the errors' size
    np.testing.assert_allclose(factor, bands.widening(quarter, 160, 24 * 15), rtol=1e-3)
    wide = bands.widened(past.errors[:160], factor)
    np.testing.assert_allclose(np.median(wide, axis=0), np.median(past.errors[:160], axis=0))
