import numpy as np
import pytest

from guiding.gauges.hydrology.calibration import calibrate, ratio_to_gauge
from guiding.gauges.hydrology.catchment import Catchment, run_past
from guiding.gauges.hydrology.gr4 import Stores
from guiding.gauges.hydrology.pseudo_flow import PseudoFlow, pseudo_flow_of
from guiding.gauges.hydrology.weather import usual_weather, weather_of
from tests.gauges.riverhistory import invented_history


def search(scale, weather, z, leads=(1, 3), **changes):
    fields = {"step_minutes": 1440, "spin": 365, "is_snowy": False, "seed": 1, **changes}
    return calibrate(scale, weather, z, leads=leads, tell=lambda share: None, **fields)


@pytest.fixture(scope="module")
def weather():
    history = invented_history(5)
    return weather_of(history, usual_weather(history))


def test_stores_that_made_a_level_are_found_again(weather):
    one = np.ones(1)
    made_by = Catchment(
        step_minutes=1440,
        stores=Stores(x1_mm=180 * one, x2_mm=0.3 * one, x3_mm=45 * one, x4_steps=2.2 * one),
        snow=None,
    )
    flow = run_past(made_by, weather, spin=365).flow_mm[:, 0]
    level = 0.4 + np.sqrt(flow / np.median(flow))
    scale = pseudo_flow_of(level)
    z = scale.scaled(scale.flow(level))

    found, _ = search(scale, weather, z)

    again = run_past(found, weather, spin=365).flow_mm[:, 0]
    assert np.corrcoef(np.log(again + 0.01), np.log(flow + 0.01))[0, 1] > 0.99
    assert found.stores.x4_steps[0] == pytest.approx(2.2, abs=0.3)
    assert found.stores.x2_mm[0] >= 0


def test_a_search_that_begins_where_another_ended_is_as_good_in_fewer_rounds(weather):
    history = invented_history(5)
    scale = pseudo_flow_of(history.level_m)
    z = scale.scaled(scale.flow(history.level_m))
    told = []

    _, ended = search(scale, weather, z)
    again, _ = calibrate(
        scale,
        weather,
        z,
        leads=(1, 3),
        tell=told.append,
        before=ended,
        step_minutes=1440,
        spin=365,
        is_snowy=False,
        seed=1,
    )

    assert ended.shape == (32, 4)
    assert len(told) <= 10
    assert 0.55 <= again.stores.x4_steps[0] <= 5


def test_a_river_that_never_moved_teaches_nothing_and_does_not_stop_the_fit(weather):
    level = np.full(len(weather.rain_mm), 0.7)
    scale = pseudo_flow_of(level)

    found, ended = search(scale, weather, scale.scaled(scale.flow(level)))

    assert np.isfinite(found.stores.x1_mm).all()
    assert ended.shape == (32, 4)


def test_simulated_flow_is_brought_to_the_gauge_where_the_gauge_speaks():
    scale = PseudoFlow(floor_m=0.0, median_m2=1.0)
    z = scale.scaled(np.array([1.0, np.nan, 3.0]))

    got = ratio_to_gauge(scale, np.array([[2.0], [90.0], [2.0]]), z)

    assert got == pytest.approx([1.0])  # mean of 1 and 3 over mean of 2 and 2
