import numpy as np
import pytest

from guiding.gauges.hydrology.catchment import Catchment, Snow, Start, run_ahead, run_past
from guiding.gauges.hydrology.gr4 import Stores
from guiding.gauges.hydrology.weather import Weather

DAYS = 900
one = np.ones(1)


def catchment(snow=True):
    return Catchment(
        step_minutes=1440,
        stores=Stores(x1_mm=220 * one, x2_mm=0.5 * one, x3_mm=60 * one, x4_steps=2.6 * one),
        snow=Snow(melt_mm=3 * one, patchy_mm=80 * one, warmer_c=-0.7 * one) if snow else None,
    )


@pytest.fixture(scope="module")
def weather():
    draw = np.random.default_rng(3)
    days = np.arange(DAYS)
    return Weather(
        rain_mm=draw.exponential(8.0, DAYS) * (draw.random(DAYS) < 0.4),
        pet_mm=np.full(DAYS, 1.5),
        air_c=5 - 9 * np.cos(2 * np.pi * days / 365) + draw.normal(0, 3, DAYS),
        has_rain=np.ones(DAYS, dtype=bool),
        has_air=np.ones(DAYS, dtype=bool),
    )


@pytest.mark.parametrize("snow", [True, False])
def test_from_any_moment_the_stores_go_on_as_they_would_have(snow, weather):
    river = catchment(snow)
    past = run_past(river, weather)
    origins = np.array([3, 60, 365, 400, 800])
    places = origins[:, None] + np.arange(1, 9)

    ahead = run_ahead(
        river,
        past,
        origins,
        rain_mm=weather.rain_mm[places],
        pet_mm=weather.pet_mm[places],
        air_c=weather.air_c[places],
    )

    np.testing.assert_allclose(ahead, past.flow_mm[places, 0], rtol=1e-9)


def test_cold_rain_lies_and_runs_off_when_it_thaws(weather):
    with_snow, without = (run_past(catchment(snow), weather) for snow in (True, False))
    winter, spring = slice(370, 400), slice(430, 500)

    assert with_snow.pack_mm[winter].max() > 20
    assert with_snow.flow_mm[winter].sum() < without.flow_mm[winter].sum()
    assert with_snow.flow_mm[spring].sum() > without.flow_mm[spring].sum()


def test_a_run_over_the_first_steps_fills_the_stores(weather):
    river = catchment(snow=False)

    cold, spun = run_past(river, weather), run_past(river, weather, spin=365)
    end = Start(
        production=cold.production[364], routing=cold.routing[364], pack_mm=cold.pack_mm[364]
    )

    assert spun.flow_mm.shape == cold.flow_mm.shape
    assert spun.production[0, 0] == pytest.approx(
        run_past(river, weather, start=end).production[0, 0], abs=1e-9
    )
