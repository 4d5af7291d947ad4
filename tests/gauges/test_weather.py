import numpy as np
import pytest

from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.weather import air_to_come, usual_weather, weather_of

DAYS = 2 * 365


def history(**changes):
    share = np.arange(DAYS) / 365 % 1
    fields = {
        "step_minutes": 1440,
        "level_m": np.ones(DAYS),
        "rain_mm": np.where(share < 0.5, 6.0, 2.0),
        "air_c": np.where(share < 0.5, 0.0, 14.0),
        "pet_mm": np.full(DAYS, 1.5),
        "year_share": share,
        "latitude": 55.0,
        **changes,
    }
    return History(**fields)


def test_a_step_without_rain_on_file_takes_the_mean_of_its_time_of_year_and_is_counted():
    rain = history().rain_mm
    rain[[10, 300]] = np.nan

    of = history(rain_mm=rain)
    weather = weather_of(of, usual_weather(of))

    assert weather.rain_mm[[10, 300]].tolist() == pytest.approx([6.0, 2.0])
    assert (~weather.has_rain).sum() == 2


def test_a_month_without_any_rain_on_file_takes_the_mean_of_the_year():
    rain = history().rain_mm
    rain[history().year_share < 1 / 12] = np.nan

    usual = usual_weather(history(rain_mm=rain))

    assert usual.rain_mm[0] == pytest.approx(np.nanmean(rain))
    assert usual.rain_mm[1] == pytest.approx(6.0)


def test_air_that_is_not_forecast_returns_to_what_is_usual():
    air = history().air_c
    air[400] = 10.0  # 10 degrees warmer than is usual
    of = history(air_c=air)
    usual = usual_weather(history())

    coming = air_to_come(
        usual, weather_of(of, usual), np.array([400]), np.full((1, 5), of.year_share[400]), 1
    )

    # four fifths of it are left after a day, .8^5 = .32768 after five
    np.testing.assert_allclose(coming[0, [0, 4]], [8.0, 3.2768])


def test_where_no_air_is_on_file_none_is_made_up():
    of = history(air_c=None)

    assert np.isnan(weather_of(of, usual_weather(of)).air_c).all()
