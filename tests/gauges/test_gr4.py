import numpy as np
import pytest
from grsuite import InputsModel, RunOptions, run_model_gr4h, run_model_gr4j
from hypothesis import given, settings
from hypothesis import strategies as st

from guiding.gauges.hydrology.gr4 import Filling, Stores, simulate, unit_hydrographs
from guiding.gauges.hydrology.scores import kge_2009, nse
from tests.gauges.riverfolder import river_columns

DAILY, HOURLY = 1440, 60


def stores(*members):
    """Return stores of (X1, X2, X3, X4) a member."""
    x1, x2, x3, x4 = np.array(members, dtype=float).T
    return Stores(x1_mm=x1, x2_mm=x2, x3_mm=x3, x4_steps=x4)


def weather(steps, seed=1, a_day=1):
    """Return showers and a wave of evaporation, (steps, 1)."""
    draw = np.random.default_rng(seed)
    rain = draw.exponential(12.0 / a_day, steps) * (draw.random(steps) < 0.35)
    pet = (1.6 + 1.3 * np.sin(np.arange(steps) / (58 * a_day))) / a_day
    return rain[:, None], pet[:, None]


def test_the_published_example_comes_out_to_the_last_printed_digit():
    """airGR 1.7, documentation of RunModel_GR4J, catchment L0123001 (fictional, as it says)."""
    river = river_columns("L0123001_d")
    begins, spun, ends = (
        river["t"].index(day) for day in ("1989-01-01", "1990-01-01", "1999-12-31")
    )
    rain, pet = (river[name][begins : ends + 1, None] for name in ("P", "E"))

    run = simulate(stores((257.238, 1.012, 88.235, 2.208)), DAILY, rain, pet)

    flow, seen = run.flow_mm[spun - begins :, 0], river["Q"][spun : ends + 1]
    printed = [2.4314794, 2.3662184, 2.8023925, 3.1356491, 3.3509636]
    np.testing.assert_allclose(flow[:5], printed, atol=5e-8)
    assert nse(seen, flow) == pytest.approx(0.7988, abs=5e-5)
    assert kge_2009(seen, flow) == pytest.approx(0.7854, abs=5e-5)


parameters = st.tuples(st.floats(5, 2500), st.floats(-5, 9), st.floats(2, 1500), st.floats(0.55, 9))


@pytest.mark.parametrize(
    ("step_minutes", "model", "peer"),
    [(DAILY, "GR4J", run_model_gr4j), (HOURLY, "GR4H", run_model_gr4h)],
)
@settings(max_examples=15)
@given(parameters, st.integers(0, 1000))
def test_an_independent_port_gives_the_same_flow(step_minutes, model, peer, numbers, seed):
    """grsuite on PyPI, a port of airGR by others."""
    steps = 300
    rain, pet = weather(steps, seed, DAILY // step_minutes)
    unit = "D" if step_minutes == DAILY else "h"
    dates = np.datetime64("2001-01-01", "h") + np.arange(steps) * np.timedelta64(1, unit)
    inputs = InputsModel(dates, rain[:, 0], pet[:, 0])
    options = RunOptions(
        inputs,
        model,
        np.arange(steps),
        ind_period_warmup=np.array([], dtype=int),
        ini_res_levels=[0.3, 0.5, None, None],
    )

    ours = simulate(stores(numbers), step_minutes, rain, pet).flow_mm[:, 0]

    theirs = np.asarray(peer(inputs, options, np.array(numbers))["Qsim"])
    np.testing.assert_allclose(ours, theirs, rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("step_minutes", [DAILY, HOURLY])
def test_many_members_at_once_are_as_each_alone(step_minutes):
    members = [(200, 0.4, 60, 1.7), (900, -0.6, 25, 4.9), (40, 2, 300, 0.6)]
    rain, pet = weather(200)

    together = simulate(stores(*members), step_minutes, rain, pet).flow_mm

    for column, member in enumerate(members):
        alone = simulate(stores(member), step_minutes, rain, pet).flow_mm[:, 0]
        np.testing.assert_allclose(together[:, column], alone, rtol=1e-12, atol=1e-12)


@given(parameters, st.integers(1, 99))
def test_a_run_cut_in_two_goes_on_as_if_it_had_not_been(numbers, cut):
    rain, pet = weather(100)
    river = stores(numbers)
    whole = simulate(river, DAILY, rain, pet)
    first = simulate(river, DAILY, rain[:cut], pet[:cut])

    rest = simulate(
        river,
        DAILY,
        rain[cut:],
        pet[cut:],
        Filling(
            production=first.production[-1],
            routing=first.routing[-1],
            effective_mm=first.effective_mm[-river.tail :],
        ),
    )

    np.testing.assert_allclose(rest.flow_mm, whole.flow_mm[cut:], rtol=1e-9, atol=1e-12)


@given(st.floats(0.55, 80), st.sampled_from([DAILY, HOURLY]))
def test_each_unit_hydrograph_passes_all_its_rain_and_no_more(x4_steps, step_minutes):
    for shares in unit_hydrographs(x4_steps, step_minutes):
        assert shares.sum() == pytest.approx(1)
        assert (shares >= 0).all()


def test_a_unit_hydrograph_worked_out_by_hand():
    """X4 = 2 d: S1(1) = (1/2)^2.5 = .17678; S2(1) = .08839, S2(2) = .5, S2(3) = 1 - S2(1)."""
    first, second = unit_hydrographs(2.0, DAILY)

    np.testing.assert_allclose(first, [0.176777, 0.823223], atol=1e-6)
    np.testing.assert_allclose(second, [0.088388, 0.411612, 0.411612, 0.088388], atol=1e-6)


def test_without_exchange_no_water_is_made_or_lost_but_to_the_air():
    river = stores((300, 0, 80, 2.3))
    rain, _ = weather(400)
    nothing = np.zeros_like(rain)

    run = simulate(river, DAILY, rain, nothing)

    stored = 300 * (run.production[-1, 0] - 0.3) + 80 * (run.routing[-1, 0] - 0.5)
    on_way = rain.sum() - run.flow_mm.sum() - stored
    # what is still in the unit hydrographs fell in the last 2 X4 days
    assert -1e-9 <= on_way <= run.effective_mm[-5:].sum() + 1e-9


def test_with_losses_more_rain_may_give_less_flow_which_is_why_a_fit_takes_none():
    """The law holds for X2 >= 0 (test_laws_of_the_forecast); this is the case it leaves out."""
    river = stores((5, -8, 20, 1.2))
    rain = np.array([0, 0, 0, 0, 60, 0, 0, 0, 0.0])[:, None]
    wetter = rain.copy()
    wetter[0] = 10
    pet = np.zeros_like(rain)

    less = simulate(river, DAILY, rain, pet).flow_mm
    more = simulate(river, DAILY, wetter, pet).flow_mm

    assert (more - less).min() < -1e-3
