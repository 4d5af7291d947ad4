import dataclasses

import numpy as np
import pytest

from guiding.gauges.hydrology.hindcast_floor import hindcast_floor
from guiding.gauges.hydrology.history import History
from tests.gauges.inventedriver import invented_river


def history(years, step_minutes=1440, seed=7):
    level, rain = invented_river(years, step_minutes, seed)
    a_day = 1440 // step_minutes
    return History(
        step_minutes=step_minutes,
        level_m=level,
        # here the rain of an hour is known when the level at its end is
        rain_mm=rain,
        air_c=None,
        pet_mm=None,
        year_share=np.arange(len(level)) / (365.25 * a_day) % 1,
        latitude=None,
    )


def tried(river, split, **changed):
    asked = {"rain": "true", "leads": (1, 3), "origins": 40, "seed": 1} | changed
    return hindcast_floor(river, train_until=split, **asked)


@pytest.fixture(scope="module")
def river():
    return history(3)


def test_with_years_before_it_it_beats_both_peers_and_covers(river):
    got = tried(river, 900)

    for own, stays, falls in zip(got.leads, got.persistence, got.recession, strict=True):
        assert 33 <= own.n <= stays.n == falls.n
        assert own.crpss > max(falls.crpss, 0)
        assert 0.6 < own.cover80 <= 0.95


@pytest.mark.parametrize("rain", ["degraded", "none"])
def test_other_rain_is_another_forecast_and_the_same_every_time(river, rain):
    once, again = tried(river, 900, rain=rain), tried(river, 900, rain=rain)

    assert once == again
    assert once.leads != tried(river, 900).leads
    assert once.persistence == tried(river, 900).persistence


def test_a_few_weeks_of_hours_speak_for_twelve_hours_only():
    got = tried(history(0.3, 60), 24 * 40, leads=(6, 24))

    assert got.leads[0].n == got.persistence[0].n
    assert got.leads[1].n == 0
    assert np.isnan(got.leads[1].crps)
    assert got.persistence[1].n > 33


def test_what_comes_after_an_origin_and_its_target_changes_nothing(river):
    level, rain = river.level_m.copy(), river.rain_mm.copy()
    level[1000:] += 2
    rain[1000:] += 50
    later = dataclasses.replace(river, level_m=level, rain_mm=rain)
    cut = dataclasses.replace(
        river,
        level_m=river.level_m[:1000],
        rain_mm=river.rain_mm[:1000],
        year_share=river.year_share[:1000],
    )

    # origins differ, so one origin is tried: the first after the split
    assert tried(later, 900, origins=1) == tried(river, 900, origins=1)
    assert tried(cut, 900, origins=1) == tried(river, 900, origins=1)


def test_the_part_after_the_split_is_never_learned_from(river):
    """A flood after the split and before the origin makes no window that a band could be of."""
    level = river.level_m.copy()
    level[905:960] += 5 * np.hanning(55)
    flooded = dataclasses.replace(river, level_m=level)

    def at(position, tried_river):
        cut = {"level_m": np.where(np.arange(len(level)) < position, np.nan, tried_river.level_m)}
        cut["level_m"][:900] = tried_river.level_m[:900]
        cut["level_m"][960:position] = tried_river.level_m[960:position]
        return tried(dataclasses.replace(tried_river, **cut), 900, origins=1)

    assert at(960, flooded) == at(960, river)


def test_too_little_says_how_little():
    with pytest.raises(ValueError, match="10 days of level lie before the split; 14 are the least"):
        tried(history(0.5), 10)


def test_a_record_that_never_runs_through_a_fall_says_so(river):
    level = np.where(np.arange(len(river.level_m)) % 2, river.level_m, np.nan)

    with pytest.raises(ValueError, match=r"450 days of level .* hold too few unbroken falls"):
        tried(dataclasses.replace(river, level_m=level), 900)
