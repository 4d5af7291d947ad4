"""The forecast of water temperature: what it reaches, what holds for any river, what it says."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guiding.gauges.hydrology.water_hindcast import hindcast_water
from guiding.gauges.hydrology.water_temperature import (
    TooLittle,
    WaterFit,
    WaterRecord,
    carry_all,
    fit_water,
    water_ahead,
)
from guiding.gauges.intake.watertempfile import read_water_river
from tests.gauges.inventedwater import invented_water
from tests.gauges.riverfolder import river_file

SPLIT = 3 * 365
MID_JULY = SPLIT + 195


@pytest.fixture(scope="module")
def river():
    return invented_water(5)


@pytest.fixture(scope="module")
def fit(river):
    return fit_water(river.part(0, SPLIT))


def ahead(fit, river, at, steps=5, *, air=True, flow=True):
    """Return the forecast after step `at` - 1; air and flow ahead are the record's own."""
    return water_ahead(
        fit,
        river.part(max(0, at - 200 * river.steps_a_day), at),
        steps=steps,
        air_ahead_c=river.air_c[at : at + steps] if air else None,
        river_ahead=river.flow[at : at + steps] if flow else None,
    )


def width(outlook):
    return float(np.nanmean(outlook.q90 - outlook.q10))


def test_a_river_it_has_not_seen_the_end_of_is_forecast_better_than_it_stays_as_it_is(river):
    _, scores = hindcast_water(river, SPLIT, (1, 3, 5))

    assert [score.lead for score in scores] == [1, 3, 5]
    # the bars of the river study for unregulated rivers, true air and flow
    for score, rmse, pi in zip(scores, (0.65, 0.85, 0.90), (0.40, 0.60, 0.65), strict=True):
        assert score.rmse <= rmse
        assert score.pi >= pi
        assert 0.75 <= score.cover80 <= 0.87
        assert score.unknown == 0


def test_the_bars_hold_on_the_rivers_of_the_study(pytestconfig):
    """Read daily air, water and flow of two rivers from the folder of published rivers."""
    if pytestconfig.getoption("--profile") != "soak":
        pytest.skip("a comparison on whole records, for the soak profile")
    for names, split in (
        (("wt_mentue_cal", "wt_mentue_val"), "2010-01-01"),
        (("wt_hopelands",), "2016-01-01"),
    ):
        files = [(name, river_file(name).read_bytes()) for name in names]
        read = read_water_river(files)
        first = np.datetime64(read.steps.words(0))
        until = int((np.datetime64(split) - first) / np.timedelta64(1, "D"))
        _, scores = hindcast_water(read.record, until, (1, 3, 5))
        for score, rmse, pi in zip(scores, (0.65, 0.85, 0.90), (0.40, 0.60, 0.65), strict=True):
            assert score.rmse <= rmse
            assert score.pi >= pi
            assert 0.77 <= score.cover80 <= 0.85


def test_an_hourly_record_is_forecast_hour_by_hour_with_its_day():
    river = invented_water(2, step_minutes=60)
    split = int(1.5 * 365) * 24

    _, scores = hindcast_water(river, split, (6, 24, 72, 120))

    assert all(score.pi > 0.5 for score in scores)
    assert all(0.7 <= score.cover80 <= 0.92 for score in scores)


def test_nothing_after_the_split_is_looked_at_by_the_fit(river):
    other = replace(river, water_c=river.water_c.copy(), air_c=river.air_c.copy())
    other.water_c[SPLIT:] += 7
    other.air_c[SPLIT:] -= 9

    mine, _ = hindcast_water(river, SPLIT, (1,))
    theirs, _ = hindcast_water(other, SPLIT, (1,))

    assert mine.as_json() == theirs.as_json()


@given(at=st.integers(SPLIT, SPLIT + 600), change=st.floats(-5, 5), lead=st.integers(1, 10))
@settings(max_examples=15)
def test_no_water_after_the_origin_is_looked_at(river, fit, at, change, lead):
    other = replace(river, water_c=river.water_c.copy())
    other.water_c[at + 1 :] += change
    origins = np.arange(at - 20, at + 1)

    mine, theirs = carry_all(fit, river, origins, lead), carry_all(fit, other, origins, lead)

    np.testing.assert_array_equal(mine.middle, theirs.middle)
    np.testing.assert_array_equal(mine.low, theirs.low)


@given(factor=st.floats(1e-3, 1e4))
@settings(max_examples=6)
def test_the_unit_of_the_flow_changes_nothing(river, factor):
    part = river.part(0, 500)

    mine = fit_water(part)
    theirs = fit_water(replace(part, flow=part.flow * factor))

    for one, other in zip(mine.models, theirs.models, strict=True):
        np.testing.assert_allclose(one.leads, other.leads, rtol=1e-6, atol=1e-8)
        np.testing.assert_allclose(one.low, other.low, rtol=1e-6, atol=1e-8)


@given(value=st.floats(0, 25))
@settings(max_examples=10)
def test_a_constant_river_is_forecast_constant(value):
    days = 500
    record = WaterRecord(
        step_minutes=1440,
        water_c=np.full(days, value),
        year_share=np.arange(days) / 365.2425 % 1,
        air_c=np.full(days, 12.0),
        flow=np.full(days, 3.0),
    )

    outlook = water_ahead(
        fit_water(record),
        record,
        steps=5,
        air_ahead_c=np.full(5, 12.0),
        river_ahead=np.full(5, 3.0),
    )

    json.dumps(fit_water(record).as_json(), allow_nan=False)  # no skill can be told of it
    np.testing.assert_allclose(outlook.q50, value, atol=0.02)
    np.testing.assert_allclose(outlook.q90 - outlook.q10, 0, atol=0.02)


@given(at=st.integers(SPLIT, SPLIT + 600), steps=st.integers(1, 8), warmer=st.floats(0, 6))
@settings(max_examples=30)
def test_the_quantiles_are_ordered_and_water_is_never_under_0(river, fit, at, steps, warmer):
    lifted = replace(river, air_c=river.air_c - warmer)

    outlook = ahead(fit, lifted, at, steps)

    assert (outlook.q10 <= outlook.q50).all()
    assert (outlook.q50 <= outlook.q90).all()
    assert (outlook.q10 >= 0).all()


def test_a_forecast_one_by_one_is_the_forecast_of_many(river, fit):
    many = carry_all(fit, river, np.array([MID_JULY - 1]), 3)

    one = ahead(fit, river, MID_JULY, 3)

    # 200 days of the past say all that the whole past says, to the hundredth that is shown
    assert one.q50[2] == pytest.approx(many.middle[0], abs=0.011)
    assert one.q90[2] == pytest.approx(many.high[0], abs=0.011)


def test_warmer_air_ahead_makes_warmer_water_on_a_river_that_follows_its_air(river, fit):
    recent = river.part(0, MID_JULY)
    air = river.air_c[MID_JULY : MID_JULY + 5]
    flow = river.flow[MID_JULY : MID_JULY + 5]

    mild = water_ahead(fit, recent, steps=5, air_ahead_c=air, river_ahead=flow)
    hot = water_ahead(fit, recent, steps=5, air_ahead_c=air + 4, river_ahead=flow)

    assert (hot.q50 > mild.q50).all()
    assert hot.q50[4] - mild.q50[4] > 1


def test_a_band_for_air_that_is_itself_forecast_is_wider_than_for_air_that_is_known(river):
    part = river.part(0, SPLIT)

    forecast, true = fit_water(part, air="forecast"), fit_water(part, air="true")

    assert width(ahead(forecast, river, MID_JULY)) > width(ahead(true, river, MID_JULY))


def test_without_air_it_says_so_and_is_wider(river, fit):
    known, unknown = ahead(fit, river, MID_JULY), ahead(fit, river, MID_JULY, air=False)

    assert known.says == ()
    assert unknown.says == (
        "Made without the air temperature: the air is not known. The band is wider.",
    )
    assert width(unknown) > width(known)


def test_an_air_forecast_that_ends_is_followed_as_far_as_it_goes(river, fit):
    air = river.air_c[MID_JULY : MID_JULY + 5].copy()
    air[2:] = np.nan
    flow = river.flow[MID_JULY : MID_JULY + 5]

    cut = water_ahead(fit, river.part(0, MID_JULY), steps=5, air_ahead_c=air, river_ahead=flow)

    whole = water_ahead(
        fit,
        river.part(0, MID_JULY),
        steps=5,
        air_ahead_c=river.air_c[MID_JULY : MID_JULY + 5],
        river_ahead=flow,
    )
    assert cut.q50[:2].tolist() == whole.q50[:2].tolist()
    assert np.isfinite(cut.q50).all()
    assert cut.says == (
        "Made without the air temperature after 2 days: the air is not known. The band is wider.",
    )


def test_without_any_air_or_level_on_file_it_forecasts_by_the_season_and_says_so(river):
    bare = replace(river, air_c=None, flow=None)

    outlook = ahead(
        fit_water(bare.part(0, SPLIT)), replace(bare, flow=None), MID_JULY, air=False, flow=False
    )

    assert np.isfinite(outlook.q50).all()
    assert outlook.says == (
        "Made without the air temperature: too little is on file. The band is wider.",
        "Made without the level of the river: too little is on file. The band is wider.",
    )


def test_a_level_stands_for_the_flow(river):
    level = replace(river, level_m=0.2 + 0.3 * np.sqrt(river.flow), flow=None)

    found = fit_water(level.part(0, SPLIT))

    assert found.river == "level"
    outlook = water_ahead(
        found,
        level.part(0, MID_JULY),
        steps=5,
        air_ahead_c=river.air_c[MID_JULY : MID_JULY + 5],
        river_ahead=level.level_m[MID_JULY : MID_JULY + 5],
    )
    assert outlook.says == ()
    np.testing.assert_allclose(outlook.q50, river.water_c[MID_JULY : MID_JULY + 5], atol=2.5)


def test_water_that_came_late_is_said_and_spreads_the_band(river, fit):
    late = replace(river, water_c=river.water_c.copy())
    late.water_c[MID_JULY - 3 : MID_JULY] = np.nan

    outlook = ahead(fit, late, MID_JULY)

    assert outlook.says == (
        "The water was last measured 3 days before: the forecast starts there.",
    )
    fresh = ahead(fit, river, MID_JULY)
    assert outlook.q90[0] - outlook.q10[0] > fresh.q90[0] - fresh.q10[0]


def test_water_of_another_month_says_nothing_of_the_days_ahead(river, fit):
    silent = replace(river, water_c=river.water_c.copy())
    silent.water_c[MID_JULY - 40 : MID_JULY] = np.nan

    outlook = ahead(fit, silent, MID_JULY)

    assert np.isnan(outlook.q50).all()
    assert outlook.says == ("Not known: no water temperature is on file of the last 30 days.",)


def test_frost_gives_0_and_says_so(river, fit):
    january = SPLIT + 375
    recent = river.part(0, january)

    outlook = water_ahead(
        fit,
        recent,
        steps=5,
        air_ahead_c=np.full(5, -25.0),
        river_ahead=np.full(5, 4.0),
    )

    assert outlook.q10[4] == 0
    assert any("colder than 0 degrees C" in text for text in outlook.says)
    assert any(text.startswith("The air forecast falls to -25.0") for text in outlook.says)


def test_a_time_of_the_year_without_water_on_file_is_not_known(river):
    seasons = replace(river, water_c=river.water_c.copy())
    winter = (seasons.year_share < 0.25) | (seasons.year_share > 0.85)
    seasons.water_c[winter] = np.nan
    found = fit_water(seasons.part(0, SPLIT))
    october = SPLIT + 305  # five days reach into November

    outlook = ahead(found, seasons, october, steps=10)

    assert np.isfinite(outlook.q50[0])
    assert np.isnan(outlook.q50[-1])
    assert any("for that time of the year" in text for text in outlook.says)


def test_too_little_water_on_file_is_refused_with_what_it_takes():
    with pytest.raises(
        TooLittle, match=r"^200 days of water temperature are on file; it takes 300"
    ):
        fit_water(invented_water(1).part(0, 200))


def test_a_fit_is_kept_as_plain_json_and_comes_back_the_same(river, fit):
    kept = json.loads(json.dumps(fit.as_json(), allow_nan=False))

    back = WaterFit.from_json(kept)

    assert back.as_json() == kept
    np.testing.assert_allclose(
        ahead(back, river, MID_JULY).q50, ahead(fit, river, MID_JULY).q50, atol=0.011
    )
    with pytest.raises(ValueError, match=r"the fit is of model 'another'"):
        WaterFit.from_json({**kept, "model": "another"})


@given(holes=st.lists(st.tuples(st.integers(0, SPLIT), st.integers(1, 60)), max_size=20))
@settings(max_examples=8)
def test_gaps_anywhere_end_in_numbers_or_in_words(river, holes):
    torn = replace(river, water_c=river.water_c.copy(), air_c=river.air_c.copy())
    for start, length in holes:
        torn.water_c[start : start + length] = np.nan
        torn.air_c[start + 5 : start + 5 + length] = np.nan

    try:
        found = fit_water(torn.part(0, SPLIT))
    except TooLittle:
        return

    outlook = ahead(found, torn, SPLIT)
    assert np.isfinite(outlook.q50).all() or outlook.says
