"""What must hold of the river model whatever the river: properties, not numbers."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from guiding.gauges.hydrology.catchment import Catchment, Snow, run_past
from guiding.gauges.hydrology.gr4 import Stores
from guiding.gauges.hydrology.hindcast import hindcast_level
from guiding.gauges.hydrology.history import History
from guiding.gauges.hydrology.lead_regression import Ahead, ground_at, standing_at
from guiding.gauges.hydrology.level_fit import fit_level
from guiding.gauges.hydrology.level_model import look_ahead
from guiding.gauges.hydrology.past_errors import learn
from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.hydrology.weather import Weather
from tests.gauges.inventedriver import invented_river

STEPS = 5
DAYS = 3 * 365


def history(level, rain, step_minutes=1440):
    a_day = 1440 // step_minutes
    return History(
        step_minutes=step_minutes,
        level_m=level,
        rain_mm=rain,
        air_c=None,
        pet_mm=None,
        year_share=np.arange(len(level)) / (365.25 * a_day) % 1,
        latitude=55.0,
    )


def quiet(what, share):
    assert 0 <= share <= 1


def fitted(river, steps=STEPS, rain="degraded"):
    return fit_level(river, rain=rain, seed=1, steps=steps, tell=quiet)


def ahead(fit, recent, rain_mm=1.0, steps=STEPS):
    coming = None if rain_mm is None else np.broadcast_to(rain_mm, steps).astype(float)
    return look_ahead(fit, recent, steps=steps, rain_ahead_mm=coming, air_ahead_c=None)


@pytest.fixture(scope="module")
def river():
    return history(*invented_river(DAYS / 365.25, 1440, seed=9))


@pytest.fixture(scope="module")
def fit(river):
    return fitted(river.until(DAYS - 200))


@pytest.fixture(scope="module")
def recent(river):
    return river.until(DAYS - 100)


stores = st.builds(
    lambda x1, x2, x3, x4: Stores(
        x1_mm=np.array([x1]),
        x2_mm=np.array([x2]),
        x3_mm=np.array([x3]),
        x4_steps=np.array([x4]),
    ),
    st.floats(5, 2500),
    st.floats(0, 9),  # as far as a fit may choose
    st.floats(2, 1500),
    st.floats(0.55, 40),
)
snows = st.none() | st.builds(
    lambda melt, patchy, warmer: Snow(
        melt_mm=np.array([melt]), patchy_mm=np.array([patchy]), warmer_c=np.array([warmer])
    ),
    st.floats(0.5, 8),
    st.floats(0, 300),
    st.floats(-3, 3),
)
SPAN = 80


@given(
    stores,
    snows,
    st.sampled_from([60, 1440]),
    arrays(float, SPAN, elements=st.floats(0, 60)),
    arrays(float, SPAN, elements=st.floats(-12, 25)),
    arrays(float, SPAN, elements=st.floats(0, 5)),
    st.integers(0, SPAN - 1),
    st.floats(0, 80),
)
def test_more_rain_never_gives_a_lower_simulated_flow(
    given_stores, snow, step_minutes, rain, air, pet, when, more
):
    catchment = Catchment(step_minutes=step_minutes, stores=given_stores, snow=snow)
    wetter = rain.copy()
    wetter[when] += more

    def flow(rain_mm):
        weather = Weather(
            rain_mm=rain_mm,
            pet_mm=pet,
            air_c=air,
            has_rain=np.ones(SPAN, dtype=bool),
            has_air=np.ones(SPAN, dtype=bool),
        )
        return run_past(catchment, weather).flow_mm[:, 0]

    less, most = flow(rain), flow(wetter)

    assert (most >= less - 1e-9 * (1 + less)).all()
    np.testing.assert_array_equal(most[:when], less[:when])


@pytest.mark.parametrize(
    ("missing", "word"),
    [({"level_m": slice(-1, None)}, "level"), ({"rain_mm": slice(-3, -1)}, "rain")],
)
def test_a_forecast_from_a_gap_says_so(fit, recent, missing, word):
    whole = ahead(fit, recent)
    name, where = next(iter(missing.items()))
    values = getattr(recent, name).copy()
    values[where] = np.nan

    broken = ahead(fit, replace(recent, **{name: values}))

    new = [said for said in broken.says if said not in whole.says]
    assert any(word in said.lower() for said in new)


def test_a_run_with_a_hole_and_no_run_at_all_are_said(fit, recent):
    whole = ahead(fit, recent)
    coming = np.array([1.0, np.nan, 1.0, 1.0, 1.0])

    for rain in (coming, None):
        new = [said for said in ahead(fit, recent, rain).says if said not in whole.says]
        assert any("rain" in said.lower() for said in new)


def test_long_after_the_last_level_nothing_is_said_of_the_level(fit, recent):
    level = recent.level_m.copy()
    level[-40:] = np.nan

    got = ahead(fit, replace(recent, level_m=level))

    assert got.paths is None
    assert any("Not known" in said for said in got.says)


@settings(max_examples=5)
@given(level=st.floats(0.05, 9), seed=st.integers(0, 1000))
def test_a_constant_river_is_forecast_constant(level, seed):
    level = round(level, 3)
    rain = np.random.default_rng(seed).exponential(2.0, 500)
    river = history(np.full(500, level), rain)

    got = ahead(fitted(river), river)

    np.testing.assert_allclose(got.paths, level, atol=1e-3)


@given(arrays(float, 40, elements=st.floats(-2, 6)), arrays(float, 40, elements=st.floats(-2, 6)))
def test_at_lead_nought_the_band_is_the_measurement(z, m):
    """A lead of no steps, taught and foreseen as any other, has no error and no width."""
    origins = np.arange(3, 40)
    ground = ground_at(np.ones(40), np.ones((40, 2)), np.arange(40) / 365.25, origins, 1440)
    standing = standing_at(z, m[:, None], origins, 1440, ground)
    ahead = Ahead(m=m[origins, None, None], rain_mm=np.zeros((37, 1)), step_minutes=1440)

    learned = learn(standing, ahead, z[origins, None])

    np.testing.assert_allclose(learned.errors, 0, atol=1e-9)


@pytest.mark.parametrize("rain_mm", [0.0, 3.0, 12.0, None])
def test_chances_of_nested_marks_are_ordered(fit, recent, rain_mm):
    issued = datetime(2026, 5, 20, 9, tzinfo=UTC)
    outlook = ahead(fit, recent, rain_mm)
    nothing = (None,) * STEPS
    record = ForecastRecord(
        issued_at=issued,
        model=fit.model,
        step_minutes=1440,
        times=tuple(issued + timedelta(days=k) for k in range(STEPS)),
        q10=nothing,
        q50=nothing,
        q90=nothing,
        paths=outlook.paths,
        inputs=(),
    )
    span = (issued, issued + timedelta(days=4))

    above = [record.chance_above(level, *span) for level in np.linspace(0, 3, 61)]
    below = [record.chance_below(level, *span) for level in np.linspace(0, 3, 61)]

    assert above == sorted(above, reverse=True)
    assert below == sorted(below)
    assert (above[0], above[-1], below[0], below[-1]) == (1, 0, 0, 1)
    # the longer one looks, the likelier it has happened
    sooner = record.chance_above(0.7, issued, issued + timedelta(days=1))
    assert sooner <= record.chance_above(0.7, *span)


def test_more_rain_ahead_lifts_the_middle_of_the_forecast(fit, recent):
    dry, wet = ahead(fit, recent, 0.0), ahead(fit, recent, 8.0)

    assert (np.median(wet.paths, axis=0) >= np.median(dry.paths, axis=0)).all()


def test_the_future_never_leaks(river, rounds):
    """Whatever comes after the last target, the fit and the forecast are the same to the bit."""
    split, leads = DAYS - 200, (1, STEPS)
    draw = np.random.default_rng(4)

    def tried(of, rain):
        report = hindcast_level(
            of, train_until=split, rain=rain, leads=leads, origins=1, seed=3, tell=quiet
        )
        return report.leads, report.persistence, report.recession

    for rain in ("true", "degraded", "none")[: rounds(2, 3)]:
        plain = tried(river, rain)
        for _ in range(rounds(1, 10)):
            after = split + max(leads) + 1 + int(draw.integers(0, 90))
            level, fell = river.level_m.copy(), river.rain_mm.copy()
            level[after:] = draw.uniform(0, 9, DAYS - after)
            fell[after:] = draw.exponential(40, DAYS - after)

            assert tried(replace(river, level_m=level, rain_mm=fell), rain) == plain


def test_a_fit_knows_nothing_of_what_was_added_later(river):
    short = river.until(700)
    changed = replace(river, level_m=np.where(np.arange(DAYS) < 700, river.level_m, 5.0))

    assert fitted(short).parameters == fitted(changed.until(700)).parameters
