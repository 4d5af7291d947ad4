from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from guiding.gauges.forecast_remarks import other_water
from guiding.gauges.forecasting import issue_forecast, newest_forecast
from guiding.gauges.hydrology.record import pack_paths
from guiding.gauges.models import BeatGauge, Forecast, Mark, Reading, WeatherRun
from tests.factories import make_beat, make_gauge, make_readings, make_river
from tests.gauges.inventedriver import invented_river

pytestmark = pytest.mark.django_db

LAST = datetime(2026, 5, 20, 9, tzinfo=UTC)
AT = LAST + timedelta(minutes=10)
LEVEL, RAIN = invented_river(1.2)
DAILY_LEVEL, DAILY_RAIN = invented_river(6, 1440)
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def hourly_gauge(rain=True, **changes):
    """Return a gauge whose newest level stands at LAST and whose newest rain ended then."""
    gauge = make_gauge(**changes)
    times = [LAST - HOUR * k for k in range(len(LEVEL))][::-1]
    make_readings(gauge, "level_m", zip(times, LEVEL.tolist(), strict=True))
    if rain:
        rains = zip([t - HOUR for t in times], RAIN.tolist(), strict=True)
        make_readings(gauge, "rain_mm", rains)
    return gauge


def make_run(gauge, rain_mm=0.0, issued_at=LAST - 3 * HOUR, air_c=None, hours=130):
    return WeatherRun.objects.create(
        gauge=gauge,
        issued_at=issued_at,
        fetched_at=issued_at,
        source="made for a test",
        raw={},
        steps=[
            {
                "starts_at": (LAST + HOUR * k).isoformat(),
                "ends_at": (LAST + HOUR * (k + 1)).isoformat(),
                "rain_mm": rain_mm,
                "air_c": air_c,
            }
            for k in range(hours)
        ],
    )


def known_steps(forecast):
    return sum(level is not None for level in forecast.quantiles["q50"])


def test_an_hourly_gauge_is_forecast_for_five_days_with_a_band():
    gauge = hourly_gauge()
    run = make_run(gauge)

    forecast = issue_forecast(gauge, at=AT)

    record = forecast.as_record()
    assert forecast.weather_run == run
    assert record.times == tuple(LAST + HOUR * (k + 1) for k in range(120))
    assert known_steps(forecast) == 120
    for low, middle, high in zip(record.q10, record.q50, record.q90, strict=True):
        assert low <= middle <= high
    assert record.paths.shape[1] == 120
    assert record.paths.shape[0] >= 100


def test_what_is_issued_is_what_its_own_whole_paths_say():
    gauge = hourly_gauge()
    make_run(gauge)

    record = issue_forecast(gauge, at=AT).as_record()

    middle = np.quantile(record.paths, 0.5, axis=0)
    np.testing.assert_allclose(record.q50, middle, atol=0.00051)


def test_every_input_has_its_age_and_its_source():
    gauge = hourly_gauge(source="the invented agency")
    make_run(gauge)

    inputs = issue_forecast(gauge, at=AT).inputs

    assert inputs == [
        {
            "what": "level",
            "observed_at": "2026-05-20T09:00:00+00:00",
            "age_hours": 0.17,
            "source": "level read at the invented agency",
        },
        {
            "what": "rain",
            "observed_at": "2026-05-20T08:00:00+00:00",
            "age_hours": 1.17,
            "source": "the invented agency",
        },
        {
            "what": "weather run",
            "observed_at": "2026-05-20T06:00:00+00:00",
            "age_hours": 3.17,
            "source": "made for a test",
        },
        {
            "what": "river model",
            "observed_at": None,
            "age_hours": None,
            "source": "none is fitted here yet; like water in this river's own past stands in",
        },
    ]


def test_the_same_data_give_the_same_bytes():
    gauge = hourly_gauge()
    make_run(gauge, rain_mm=0.2)
    one = issue_forecast(gauge, at=AT)
    kept = bytes(one.paths), one.quantiles, one.marks, one.says
    one.delete()

    again = issue_forecast(gauge, at=AT)

    assert (bytes(again.paths), again.quantiles, again.marks, again.says) == kept


def test_nothing_is_issued_twice_until_something_changes():
    gauge = hourly_gauge()
    first = issue_forecast(gauge, at=AT)

    assert issue_forecast(gauge, at=AT + timedelta(minutes=20)) == first
    Reading.objects.filter(series__quantity="level_m", observed_at=LAST).update(value=0.9)
    assert issue_forecast(gauge, at=AT + timedelta(minutes=20)) != first
    assert Forecast.objects.count() == 2


def test_what_came_after_the_moment_is_not_looked_at():
    gauge = hourly_gauge()
    run = make_run(gauge)
    before = issue_forecast(gauge, at=AT)
    kept = bytes(before.paths), before.quantiles
    before.delete()

    make_readings(gauge, "level_m", [(LAST + HOUR * k, 2.0) for k in range(1, 6)])
    make_readings(gauge, "rain_mm", [(LAST + HOUR * k, 20.0) for k in range(6)])
    make_run(gauge, rain_mm=9.0, issued_at=AT + HOUR)
    late = make_run(gauge, rain_mm=8.0, issued_at=AT - HOUR)
    WeatherRun.objects.filter(pk=late.pk).update(fetched_at=AT + HOUR)

    after = issue_forecast(gauge, at=AT)
    assert after.weather_run == run
    assert (bytes(after.paths), after.quantiles) == kept


def test_the_newest_forecast_is_the_newest_that_had_been_issued_by_then():
    gauge = hourly_gauge()
    first = issue_forecast(gauge, at=AT)
    second = issue_forecast(gauge, at=AT + 2 * HOUR)

    assert newest_forecast(gauge, AT - HOUR) is None
    assert newest_forecast(gauge, AT + HOUR) == first
    assert newest_forecast(gauge, AT + 3 * HOUR) == second


def test_the_chance_of_passing_a_mark_never_falls_with_the_horizon():
    gauge = hourly_gauge()
    now = float(LEVEL[-1])
    for kind, level in (("summer", now - 0.02), ("good", now + 0.01), ("high", now + 0.3)):
        Mark.objects.create(gauge=gauge, kind=kind, level_m=round(level, 3))
    make_run(gauge, rain_mm=0.2)

    marks = issue_forecast(gauge, at=AT).marks

    assert [mark["name"] for mark in marks] == ["summer level", "good", "high"]
    assert [mark["direction"] for mark in marks] == ["fall_below", "rise_above", "rise_above"]
    for mark in marks:
        assert 0 <= mark["p24"] <= mark["p48"] <= mark["p120"] <= 1
    assert marks[1]["p120"] >= marks[2]["p120"]
    assert marks[1]["p120"] > 0.5


def test_chances_are_not_known_where_the_levels_are_not():
    gauge = hourly_gauge(rain=False)
    Mark.objects.create(gauge=gauge, kind="high", level_m=1.5)
    make_run(gauge, rain_mm=1.0)

    forecast = issue_forecast(gauge, at=AT)

    assert known_steps(forecast) == 12
    assert forecast.quantiles["q90"][12:] == [None] * 108
    assert [forecast.marks[0][key] for key in ("p24", "p48", "p120")] == [None] * 3
    assert "no rain is on file" in forecast.says[0]


def test_a_gauge_without_a_reading_is_honestly_not_known():
    gauge = make_gauge()
    Mark.objects.create(gauge=gauge, kind="high", level_m=1.5)

    forecast = issue_forecast(gauge, at=AT)

    assert known_steps(forecast) == 0
    assert len(forecast.quantiles["times"]) == 120
    assert forecast.paths is None
    assert forecast.says[0] == "Not known: no level has been read at this gauge yet."
    assert forecast.inputs[0]["observed_at"] is None
    assert forecast.marks[0]["p120"] is None


def test_a_late_level_is_said_and_a_stale_one_is_not_forecast_from():
    gauge = hourly_gauge()

    late = issue_forecast(gauge, at=LAST + 5 * HOUR)
    stale = issue_forecast(gauge, at=LAST + 25 * HOUR)
    silent = issue_forecast(gauge, at=LAST + timedelta(days=3000))

    assert known_steps(late) == 120
    assert any(line.startswith("The last level is late: ") for line in late.says)
    for forecast in (stale, silent):
        assert known_steps(forecast) == 0
        assert f"the last level is {LEVEL[-1]:.2f} m of Wed 20 May 2026, 10:00" in forecast.says[0]


def test_a_jump_in_the_last_readings_is_flagged():
    gauge = hourly_gauge()
    make_readings(gauge, "level_m", [(LAST + HOUR, round(float(LEVEL[-1]) + 0.35, 3))])

    says = issue_forecast(gauge, at=AT + HOUR).says

    assert any("The level jumped from" in line for line in says)
    assert any("treat the river as risen" in line for line in says)


def test_an_old_weather_run_is_not_used_and_that_is_said():
    gauge = hourly_gauge()
    make_run(gauge, issued_at=AT - 25 * HOUR)

    forecast = issue_forecast(gauge, at=AT)

    assert forecast.weather_run is None
    assert "too old to use" in forecast.inputs[2]["source"]
    assert any("too old to use" in line for line in forecast.says)
    assert any("Made without a rain forecast" in line for line in forecast.says)


def test_suspect_readings_are_not_forecast_from_and_that_is_said():
    gauge = hourly_gauge()
    make_run(gauge)
    plain = issue_forecast(gauge, at=AT)
    suspect = [(LAST + timedelta(minutes=5), 3.0)]
    make_readings(gauge, "level_m", suspect, quality=Reading.Quality.SUSPECT)

    forecast = issue_forecast(gauge, at=AT + timedelta(minutes=5))

    assert forecast.quantiles == plain.quantiles
    assert (
        "1 reading of the last day is marked suspect and left out, up to 3.00 m: treat the river "
        "as risen until somebody has looked." in forecast.says
    )


def test_suspect_readings_far_below_the_river_are_told_as_a_fault_and_not_as_a_rise():
    gauge = hourly_gauge()
    make_run(gauge)
    suspect = [(LAST + timedelta(minutes=5), -0.6), (LAST + timedelta(minutes=8), -0.5)]
    make_readings(gauge, "level_m", suspect, quality=Reading.Quality.SUSPECT)

    says = issue_forecast(gauge, at=AT + timedelta(minutes=10)).says

    assert (
        "2 readings of the last day are marked suspect and left out, down to -0.60 m: the gauge "
        "may be at fault, somebody has to look." in says
    )
    assert not any("as risen" in line for line in says)


# --- water that a rain model cannot see -----------------------------------------------------------


@pytest.mark.parametrize("regime", ["regulated", "tidal"])
def test_regulated_and_tidal_water_is_not_known(regime):
    beat = make_beat(regime=regime, name="Weir Stream")
    gauge = hourly_gauge(river=beat.water.river)
    BeatGauge.objects.create(beat=beat, gauge=gauge)

    forecast = issue_forecast(gauge, at=AT)

    assert known_steps(forecast) == 0
    assert "Weir Stream" in forecast.says[0]


def test_a_gauge_for_both_kinds_of_beat_is_forecast_and_says_for_which_not():
    natural = make_beat(name="Upper Water")
    regulated = make_beat(name="Weir Stream", water=natural.water, regime="regulated")
    gauge = hourly_gauge(river=natural.water.river)
    for beat in (natural, regulated):
        BeatGauge.objects.create(beat=beat, gauge=gauge)

    forecast = issue_forecast(gauge, at=AT)

    assert known_steps(forecast) == 120
    line = "For Weir Stream (below a dam or sluice) this forecast says nothing."
    assert other_water(gauge) == [line]
    assert line not in forecast.says


@pytest.mark.parametrize(
    ("water_c", "air_c", "is_known", "says"),
    [
        (0.5, None, False, "the water was 0.5 degrees C"),
        (3.0, -5.0, False, "the air's mean over the last 48 hours is -5.0 degrees C"),
        (None, None, False, "no water or air temperature"),
        (3.0, 4.0, True, ""),
        (None, 4.0, True, ""),
    ],
)
def test_a_river_that_can_ice_is_forecast_only_where_it_is_known_not_to(
    water_c, air_c, is_known, says
):
    gauge = hourly_gauge(may_ice=True)
    for quantity, value in (("water_c", water_c), ("air_c", air_c)):
        if value is not None:
            make_readings(gauge, quantity, [(LAST - HOUR * k, value) for k in range(40)])

    forecast = issue_forecast(gauge, at=AT)

    assert (known_steps(forecast) == 120) is is_known
    assert says in forecast.says[0]
    assert [given["what"] for given in forecast.inputs[3:5]] == [
        "water temperature",
        "air temperature",
    ]


def test_the_air_to_come_tells_of_ice_where_no_thermometer_does():
    gauge = hourly_gauge(may_ice=True)
    make_run(gauge, air_c=-9.0)

    assert "mean over the next 48 hours is -9.0" in issue_forecast(gauge, at=AT).says[0]


# --- daily records --------------------------------------------------------------------------------


def daily_gauge(last_day=datetime(2026, 5, 19, tzinfo=UTC), **changes):
    gauge = make_gauge(river=make_river(zone="UTC"), step_minutes=1440, **changes)
    times = [last_day - DAY * k for k in range(len(DAILY_LEVEL))][::-1]
    make_readings(gauge, "level_m", zip(times, DAILY_LEVEL.tolist(), strict=True))
    make_readings(gauge, "rain_mm", zip(times, DAILY_RAIN.tolist(), strict=True))
    return gauge


def test_a_daily_gauge_is_forecast_for_five_days_from_the_one_it_is_issued_in():
    gauge = daily_gauge()
    make_run(gauge, rain_mm=0.1)

    forecast = issue_forecast(gauge, at=AT)

    begins = [datetime.fromisoformat(text) for text in forecast.quantiles["times"]]
    assert begins == [datetime(2026, 5, 20 + k, tzinfo=UTC) for k in range(5)]
    assert known_steps(forecast) == 5
    assert forecast.step_minutes == 1440


def test_the_mean_of_a_day_that_is_not_over_was_not_known():
    gauge = daily_gauge(last_day=datetime(2026, 5, 20, tzinfo=UTC))

    forecast = issue_forecast(gauge, at=AT)

    assert forecast.inputs[0]["observed_at"] == "2026-05-19T00:00:00+00:00"
    assert forecast.quantiles["times"][0] == "2026-05-20T00:00:00+00:00"


def test_a_daily_record_may_be_three_days_late_and_no_more():
    gauge = daily_gauge()

    late = issue_forecast(gauge, at=datetime(2026, 5, 22, 9, tzinfo=UTC))
    stale = issue_forecast(gauge, at=datetime(2026, 5, 23, 9, tzinfo=UTC))

    assert known_steps(late) == 5
    assert any("The last level is late" in line for line in late.says)
    assert known_steps(stale) == 0


def test_flow_stands_for_level_through_a_stated_rating():
    gauge = make_gauge(rating_a=4.0, rating_b=2.0, rating_h0_m=0.0, rating_source="for a test")
    hours = len(LEVEL)
    flows = ((LAST - HOUR * k, 4.0 * float(LEVEL[-1 - k]) ** 2) for k in range(hours))
    make_readings(gauge, "flow_m3s", list(flows)[::-1])
    direct = hourly_gauge(rain=False)

    through, plain = issue_forecast(gauge, at=AT), issue_forecast(direct, at=AT)

    assert "stated rating (for a test)" in through.inputs[0]["source"]
    np.testing.assert_allclose(through.quantiles["q50"], plain.quantiles["q50"], atol=0.003)


def test_the_paths_on_file_are_compressed_and_whole():
    forecast = issue_forecast(hourly_gauge(), at=AT)

    assert bytes(forecast.paths) == pack_paths(forecast.as_record().paths)
    assert len(forecast.paths) < 40_000


# --- rain of other steps --------------------------------------------------------------------------


def quarters_of(gauge):
    """Turn a gauge's hourly rain into four equal quarters of each hour."""
    rain = Reading.objects.filter(series__gauge=gauge, series__quantity="rain_mm")
    hours = list(rain.values_list("observed_at", "value"))
    rain.delete()
    quarter = timedelta(minutes=15)
    make_readings(
        gauge, "rain_mm", [(at + quarter * k, mm / 4) for at, mm in hours for k in range(4)]
    )


def test_rain_of_quarter_hours_is_summed_and_makes_the_same_forecast():
    gauge = hourly_gauge()
    make_run(gauge, rain_mm=0.5)
    hourly = issue_forecast(gauge, at=AT)
    kept = hourly.quantiles
    hourly.delete()

    quarters_of(gauge)

    assert issue_forecast(gauge, at=AT).quantiles == kept


def test_totals_of_six_hours_are_shared_out_inside_the_model_and_labelled_so():
    gauge = hourly_gauge()
    plain = make_run(gauge, rain_mm=0.5)
    by_hour = issue_forecast(gauge, at=AT)
    plain.forecasts.all().delete()
    totals = [
        {
            "starts_at": (LAST + HOUR * k).isoformat(),
            "ends_at": (LAST + HOUR * (k + 6)).isoformat(),
            "rain_mm": 3.0,
            "air_c": None,
        }
        for k in range(60, 130, 6)
    ]
    WeatherRun.objects.update(steps=[*plain.steps[:60], *totals])

    forecast = issue_forecast(gauge, at=AT)

    assert forecast.quantiles == by_hour.quantiles
    assert forecast.inputs[2]["source"] == (
        "made for a test; from Fri 22 May 2026, 22:00 on its rain is totals of 6 hours, shared out "
        "evenly over them inside the model only"
    )
    assert forecast.weather_run.steps[60]["rain_mm"] == 3.0
