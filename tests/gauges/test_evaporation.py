import numpy as np
import pytest

from guiding.gauges.hydrology.evaporation import (
    is_northern,
    oudin,
    potential_evaporation,
    radiation,
    yearly_wave,
)
from guiding.gauges.hydrology.history import History


def year(step_minutes=1440, years=1):
    count = years * 365 * (1440 // step_minutes)
    return np.arange(count) * step_minutes / (365 * 1440) % 1


def history(step_minutes=1440, air_c=None, pet_mm=None, latitude=None, years=1):
    share = year(step_minutes, years)
    return History(
        step_minutes=step_minutes,
        level_m=np.ones(share.shape),
        rain_mm=None,
        air_c=air_c,
        pet_mm=pet_mm,
        year_share=share,
        latitude=latitude,
    )


def test_radiation_is_that_of_the_published_example():
    # FAO Irrigation and Drainage Paper 56, example 8: 3 September at 20 degrees south, 32.2 MJ/m2
    # (from memory)
    assert radiation(np.array([246 / 365]), -20.0)[0] == pytest.approx(32.2, abs=0.05)


def test_radiation_knows_the_polar_night_and_refuses_a_latitude_that_is_none():
    assert radiation(np.array([0.97]), 80.0)[0] == 0
    assert radiation(np.array([0.47]), 80.0)[0] > 40
    with pytest.raises(ValueError, match="latitude is 91"):
        radiation(np.array([0.0]), 91.0)


def test_oudin_by_hand():
    # 32.2 / 2.45 x (15 + 5) / 100 = 2.63 mm; nothing at or below -5 degrees
    got = oudin(np.array([15.0, -5.0, -12.0, np.nan]), np.full(4, 246 / 365), -20.0, 1440)

    np.testing.assert_allclose(got[:3], [2.63, 0, 0], atol=0.01)
    assert np.isnan(got[3])


def test_hours_add_up_to_their_day_and_look_back_only():
    share = year(60)[: 24 * 40]
    air = 10 + 5 * np.sin(2 * np.pi * np.arange(len(share)) / 24)

    hourly = oudin(air, share, 50.0, 60)
    later = air.copy()
    later[500:] += 9
    daily = oudin(np.full(40, 10.0), share[::24], 50.0, 1440)

    np.testing.assert_allclose(hourly[48:].reshape(-1, 24).sum(axis=1), daily[2:], rtol=0.02)
    np.testing.assert_array_equal(oudin(later, share, 50.0, 60)[:500], hourly[:500])


def test_the_wave_has_its_mean_and_is_highest_in_the_summer_of_its_side():
    north, south = yearly_wave(year(), 55.0, 1440), yearly_wave(year(), -40.0, 1440)

    assert north.mean() == south.mean() == pytest.approx(1.6)
    assert 180 < north.argmax() < 210
    assert south.argmax() < 30
    assert north.min() > 0
    assert yearly_wave(year(60), 55.0, 60).sum() == pytest.approx(1.6 * 365)


def test_what_is_given_is_taken_then_air_then_the_wave_and_each_is_said():
    air, given = np.full(365, 12.0), np.full(365, np.nan)
    air[100:] = np.nan
    given[:10] = 0.7

    got = potential_evaporation(history(air_c=air, pet_mm=given, latitude=57.0))

    assert (got.pet_mm[:10] == 0.7).all()
    np.testing.assert_allclose(got.pet_mm[10:100], oudin(air, year(), 57.0, 1440)[10:100])
    np.testing.assert_allclose(got.pet_mm[100:], yearly_wave(year(), 57.0, 1440)[100:])
    assert got.says == (
        "Evaporation is worked out from air temperature for 90 of 365 steps.",
        "Evaporation is a yearly wave about 1.6 mm a day, not measured, for 265 of 365 steps.",
    )


def test_where_all_is_given_nothing_is_said():
    got = potential_evaporation(history(pet_mm=np.full(365, 1.0)))

    assert got.says == ()
    assert (got.pet_mm == 1.0).all()


@pytest.mark.parametrize(("side", "warm"), [("north", 0.53), ("south", 0.03)])
def test_without_a_latitude_the_air_says_which_side_it_is(side, warm):
    air = 10 + 8 * np.cos(2 * np.pi * (year() - warm))

    got = potential_evaporation(history(air_c=air))

    assert got.says[0] == f"No latitude is on file: 50 degrees {side} is assumed."
    assert is_northern(air, year()) == (side == "north")
    away = (got.pet_mm.argmax() / 365 - warm + 0.5) % 1 - 0.5
    assert abs(away) < 0.06
