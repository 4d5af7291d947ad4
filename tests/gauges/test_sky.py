from datetime import UTC, datetime

import pytest

from guiding.gauges.conditions.sky import WeatherAhead, read_weather
from guiding.gauges.conditions.values import Kind
from tests.gauges.drawn import HOUR, NOW, measured, weather

PLACE = (57.5, -4.5)
NOTHING = measured([])


def read(run, starts_in=2.0, lasting=4.0, air=NOTHING, asked_at=NOW, place=PLACE):
    """Return the weather of hours that begin so many hours after NOW (10:00 by the clock)."""
    starts_at = NOW + starts_in * HOUR
    return read_weather(run, air, starts_at, starts_at + lasting * HOUR, asked_at, place)


def test_air_and_wind_are_means_with_the_range_of_their_steps():
    run = weather(*[{"air_c": 10.0 + i, "wind_ms": float(i)} for i in range(12)])

    seen = read(run)  # steps 2, 3, 4, 5

    assert (seen.air.value, seen.air.low, seen.air.high) == (13.5, 12.0, 15.0)
    assert (seen.wind.value, seen.wind.low, seen.wind.high) == (3.5, 2.0, 5.0)
    assert (seen.air.kind, seen.air.source, seen.air.at) == (Kind.FORECAST, "drawn weather", NOW)


def test_a_step_counts_by_the_time_it_lies_within_the_hours():
    run = weather({"air_c": 10.0, "rain_mm": 6.0}, {"air_c": 20.0, "rain_mm": 0.0}, step_hours=6)

    seen = read(run, starts_in=3, lasting=4)  # three hours of the first, one of the second

    assert seen.air.value == pytest.approx(12.5)
    assert seen.rain.value == pytest.approx(3.0)


def test_a_missing_step_of_rain_is_not_a_dry_one():
    holed = weather(*[{"rain_mm": None if i == 3 else 0.0} for i in range(12)])
    dry = weather(*[{"rain_mm": 0.0} for i in range(12)])

    assert read(holed).rain.kind is Kind.NOT_KNOWN
    assert read(dry).rain.value == 0.0


def test_a_mean_wants_four_fifths_of_the_hours():
    one_missing = weather(*[{"air_c": None if i == 3 else 9.0} for i in range(12)])

    assert read(one_missing, lasting=5).air.value == 9.0
    assert read(one_missing, lasting=4).air.kind is Kind.NOT_KNOWN


def test_hours_beyond_the_run_are_not_known():
    seen = read(weather(*[{"air_c": 9.0, "rain_mm": 0.0, "wind_ms": 1.0}] * 3))

    assert {seen.air.kind, seen.rain.kind, seen.wind.kind, seen.wind_from.kind} == {Kind.NOT_KNOWN}


def test_the_wind_comes_from_the_mean_direction_across_north():
    run = weather(*[{"wind_ms": 5.0, "wind_from_deg": d} for d in (0, 0, 350.0, 10.0, 340.0, 20.0)])

    assert read(run).wind_from.value == 0.0


def test_a_wind_that_turns_about_or_does_not_blow_comes_from_nowhere():
    turning = weather(*[{"wind_ms": 5.0, "wind_from_deg": 90.0 * i} for i in range(12)])
    still = weather(*[{"wind_ms": 0.0, "wind_from_deg": 90.0}] * 12)

    assert read(turning).wind_from.kind is Kind.NOT_KNOWN
    assert read(still).wind_from.kind is Kind.NOT_KNOWN


@pytest.mark.parametrize(("percent", "word"), [(0.0, "bright"), (62.0, "bright"), (62.5, "cloud")])
def test_the_sky_is_cloud_from_five_eighths(percent, word):
    assert read(weather(*[{"cloud_percent": percent}] * 12)).sky.value == word


def test_the_sky_is_dark_after_civil_dusk_with_or_without_a_forecast():
    seen = read(None, starts_in=13)  # 23:00 to 03:00 by the clock in May

    assert (seen.sky.value, seen.sky.kind, seen.sky.source) == (
        "dark",
        Kind.INFERRED,
        "the sun's height",
    )


def test_a_northern_june_night_is_not_dark():
    midnight = datetime(2026, 6, 20, 22, 0, tzinfo=UTC)
    run = weather(*[{"cloud_percent": 10.0}] * 6, issued_at=midnight - HOUR)

    seen = read_weather(run, NOTHING, midnight, midnight + 2 * HOUR, midnight - HOUR, (66.0, 15.0))

    assert seen.sky.value == "bright"


def test_no_run_says_so_and_leaves_everything_unknown():
    seen = read(None)

    assert seen.says == ("No weather forecast is on file: air, wind and rain are not known.",)
    assert {seen.air.kind, seen.wind.kind, seen.sky.kind, seen.rain.kind} == {Kind.NOT_KNOWN}


@pytest.mark.parametrize(
    ("age", "says", "is_known"),
    [
        (24, (), True),
        (25, ("The weather forecast is 25 h old.",), True),
        (48, ("The weather forecast is 48 h old.",), True),
        (49, ("The weather forecast is 49 h old and is not used.",), False),
    ],
)
def test_an_old_run_is_said_and_then_not_used(age, says, is_known):
    run = weather(*[{"air_c": 9.0}] * 80, issued_at=NOW - age * HOUR)

    seen = read(run)

    assert seen.says == says
    assert (seen.air.value is not None) is is_known
    if is_known:
        assert seen.air.age_hours == age


def test_measured_air_stands_once_the_hours_have_begun():
    run = weather(*[{"air_c": 9.0}] * 12, issued_at=NOW - 3 * HOUR)
    air = measured([(NOW - HOUR, 7.0), (NOW, 8.0)])

    begun = read(run, starts_in=-1, air=air)
    ahead = read(run, starts_in=1, air=air)

    assert (begun.air.kind, begun.air.value) == (Kind.OBSERVED, 8.0)
    assert (ahead.air.kind, ahead.air.value) == (Kind.FORECAST, 9.0)


def test_air_of_hours_that_are_over_is_their_mean():
    air = measured([(NOW - 5 * HOUR, 6.0), (NOW - 4 * HOUR, 8.0), (NOW, 20.0)])

    seen = read(None, starts_in=-6, air=air)

    assert (seen.air.kind, seen.air.value) == (Kind.OBSERVED, 7.0)


def test_of_steps_that_overlap_the_one_that_begins_first_is_kept():
    def row(starts, ends, rain_mm):
        return {
            "starts_at": (NOW + starts * HOUR).isoformat(),
            "ends_at": (NOW + ends * HOUR).isoformat(),
            "rain_mm": rain_mm,
        }

    run = WeatherAhead.from_rows(
        [row(0, 6, 6.0), row(1, 2, 1.0), row(0, 1, 1.0), row(2, 6, 4.0)],
        issued_at=NOW,
        source="drawn",
    )

    assert [(s.starts_at, s.rain_mm) for s in run.steps] == [
        (NOW, 1.0),
        (NOW + HOUR, 1.0),
        (NOW + 2 * HOUR, 4.0),
    ]
    assert run.steps[0].air_c is None
