"""Sun and moon against published tables; each table's standing is named beside it."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from astral import Observer
from astral.sun import dawn, dusk, sunrise, sunset
from hypothesis import given
from hypothesis import strategies as st

from guiding.sun import (
    CIVIL_DEG,
    FULL_DARK_DEG,
    RISE_DEG,
    dark_spells,
    light_on,
    moon_elongation_deg,
    moon_lit_share,
    moon_words,
    sun_altitude_deg,
    sun_place,
)

LONDON = (51.4733, -0.0008)
UTC_ZONE = ZoneInfo("UTC")
MINUTE = timedelta(minutes=1)


def at(text: str) -> datetime:
    """Return an ISO moment in UTC."""
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


# Published source: the test tables of the astral library, credited there to a public almanac site;
# printed to the minute, hence +-60 s and the rounding of half a minute.
@pytest.mark.parametrize(
    ("day", "name", "clock"),
    [
        ("2015-12-01", "civil_dawn_at", "07:04"),
        ("2015-12-01", "sunrise_at", "07:43"),
        ("2015-12-01", "sunset_at", "15:55"),
        ("2015-12-01", "civil_dusk_at", "16:34"),
        ("2015-12-25", "civil_dawn_at", "07:25"),
        ("2015-12-25", "sunrise_at", "08:05"),
        ("2015-12-25", "sunset_at", "15:55"),
        ("2015-12-25", "civil_dusk_at", "16:36"),
        ("2015-01-01", "sunrise_at", "08:06"),
        ("2015-01-01", "sunset_at", "16:01"),
        ("2019-08-29", "civil_dawn_at", "04:32"),
        ("2019-08-29", "sunrise_at", "05:08"),
        ("2019-08-29", "sunset_at", "18:54"),
        ("2019-08-29", "civil_dusk_at", "19:30"),
    ],
)
def test_london_follows_the_printed_almanac(day, name, clock):
    light = light_on(date.fromisoformat(day), *LONDON, UTC_ZONE)

    assert abs(getattr(light, name) - at(f"{day}T{clock}")) <= timedelta(seconds=90)


# Published source (second hand): NREL, Solar Position Algorithm, worked example for Golden. The
# place is from memory; it gives the printed sunrise to the second.
def test_golden_rises_as_in_the_solar_position_example():
    light = light_on(date(2003, 10, 17), 39.742476, -105.1786, ZoneInfo("Etc/GMT+7"))

    assert abs(light.sunrise_at - at("2003-10-17T13:12:43")) <= timedelta(seconds=2)


# The printed sunset of the same example, 17:20:19, counts by the day of UTC: it is the evening
# before. By the local date it is 17:18:51 (hand calculation from Meeus, ch. 25).
def test_the_evening_belongs_to_the_local_date_and_not_to_the_day_of_utc():
    zone = ZoneInfo("Etc/GMT+7")
    light = light_on(date(2003, 10, 17), 39.742476, -105.1786, zone)
    before = light_on(date(2003, 10, 16), 39.742476, -105.1786, zone)

    assert abs(light.sunset_at - at("2003-10-18T00:18:51")) <= timedelta(seconds=2)
    assert abs(before.sunset_at - at("2003-10-17T00:20:19")) <= timedelta(seconds=3)
    assert light.sunset_at.astimezone(zone).date() == date(2003, 10, 17)


# Published source: the test tables of the Astro-Sunrise module, made by another routine and not by
# an observatory; to the minute. Reykjavik is printed there an hour behind its own clock.
@pytest.mark.parametrize(
    ("place", "day", "rises", "sets"),
    [
        ((51 + 28 / 60, 0.0), "2013-01-01", "08:05", "16:02"),
        ((51 + 28 / 60, 0.0), "2013-06-21", "03:43", "20:21"),
        ((64.13, -21.9), "2013-01-01", "11:18", "15:45"),
    ],
)
def test_greenwich_and_reykjavik_follow_the_regression_table(place, day, rises, sets):
    light = light_on(date.fromisoformat(day), *place, UTC_ZONE)

    assert abs(light.sunrise_at - at(f"{day}T{rises}")) <= timedelta(seconds=90)
    assert abs(light.sunset_at - at(f"{day}T{sets}")) <= timedelta(seconds=90)


# Same table: astronomical dusk (18 degrees) never comes at Greenwich on 21 June 2013.
def test_the_sun_at_greenwich_in_june_stays_above_eighteen_degrees_down():
    midnight = at("2013-06-22T00:02")

    assert -18 < sun_altitude_deg(midnight, 51 + 28 / 60, 0) < FULL_DARK_DEG


# Published source (second hand): Meeus, Astronomical Algorithms, example 25.a: 198.38, -7.785.
def test_the_sun_stands_where_the_worked_example_says():
    ascension, declination = sun_place(at("1992-10-13T00:00"))

    assert ascension == pytest.approx(198.38, abs=0.005)
    assert declination == pytest.approx(-7.785, abs=0.001)


def test_a_northern_june_night_has_no_full_dark_and_says_so():
    light = light_on(date(2026, 6, 21), 57.5, -4.5, ZoneInfo("Europe/London"))

    assert light.civil_dusk_at is not None
    assert light.full_dark_at is None
    assert light.says() == ("Full dark does not come this night: dusk runs into dawn.",)


def test_further_north_there_is_a_sunset_without_dusk():
    light = light_on(date(2026, 6, 21), 62.0, 10.0, ZoneInfo("Europe/Oslo"))

    assert light.sunset_at is not None
    assert light.civil_dusk_at is None
    assert light.says() == ("It does not get dark: there is no civil dusk this night.",)


@pytest.mark.parametrize(("day", "word"), [("2026-06-21", "set"), ("2026-12-21", "rise")])
def test_a_polar_day_and_a_polar_night_have_neither_sunrise_nor_sunset(day, word):
    light = light_on(date.fromisoformat(day), 69.65, 18.96, ZoneInfo("Europe/Oslo"))

    assert (light.sunrise_at, light.sunset_at) == (None, None)
    assert light.says() == (f"The sun does not {word} on this day.",)


def test_full_dark_after_midnight_is_that_of_the_night_that_begins_on_the_day():
    zone = ZoneInfo("Europe/London")
    light = light_on(date(2026, 5, 17), 57.5, -4.5, zone)

    local = light.full_dark_at.astimezone(zone)
    assert local.date() == date(2026, 5, 18)
    assert local.hour == 0


# The clocks of Europe/London changed on 29 March 2026 at 01:00 UTC and on 25 October 2026: the sun
# does not know. From day to day it moves by less than three minutes here.
@pytest.mark.parametrize("changed", [date(2026, 3, 29), date(2026, 10, 25)])
def test_a_clock_change_does_not_move_the_sun(changed):
    zone = ZoneInfo("Europe/London")
    days = [light_on(changed + timedelta(days=d), *LONDON, zone) for d in (-1, 0, 1)]

    for earlier, later in pairwise(days):
        assert abs(later.sunrise_at - earlier.sunrise_at - timedelta(days=1)) < 3 * MINUTE
        assert abs(later.sunset_at - earlier.sunset_at - timedelta(days=1)) < 3 * MINUTE


# astral is the second opinion, away from its edges: nights that come, and dusk before midnight.
@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize("latitude", [-40.0, 45.0, 55.0])
def test_an_independent_library_agrees_within_a_minute(month, latitude):
    day, seen_from = date(2026, month, 11), Observer(latitude, -3.0)
    light = light_on(day, latitude, -3.0, UTC_ZONE)

    for ours, theirs in [
        (light.civil_dawn_at, dawn(seen_from, day)),
        (light.sunrise_at, sunrise(seen_from, day)),
        (light.sunset_at, sunset(seen_from, day)),
        (light.civil_dusk_at, dusk(seen_from, day)),
    ]:
        assert abs(ours - theirs) <= MINUTE


@given(
    day=st.dates(date(1990, 1, 1), date(2060, 12, 31)),
    latitude=st.floats(-89.9, 89.9),
    longitude=st.floats(-180, 180),
)
def test_what_comes_comes_in_order_and_at_its_altitude(day, latitude, longitude):
    light = light_on(day, latitude, longitude, UTC_ZONE)

    named = [
        (light.civil_dawn_at, CIVIL_DEG),
        (light.sunrise_at, RISE_DEG),
        (light.sunset_at, RISE_DEG),
        (light.civil_dusk_at, CIVIL_DEG),
        (light.full_dark_at, FULL_DARK_DEG),
    ]
    there = [(moment, altitude) for moment, altitude in named if moment is not None]
    assert [moment for moment, _ in there] == sorted(moment for moment, _ in there)
    for moment, altitude in there:
        assert sun_altitude_deg(moment, latitude, longitude) == pytest.approx(altitude, abs=0.01)
    assert 0 <= light.moon_lit_share <= 1


@pytest.mark.parametrize("place", [(91.0, 0.0), (0.0, 181.0), (float("nan"), 0.0)])
def test_a_place_off_the_earth_is_refused(place):
    with pytest.raises(ValueError, match="a latitude is -90 to 90"):
        light_on(date(2026, 5, 20), *place, UTC_ZONE)


# Published source (second hand): Meeus, example 48.a, 1992-04-12 0 h dynamical time: lit share
# 0.6786, waxing. The short series of the same chapter gives 0.6801; 0.02 is what words need.
def test_the_moon_is_lit_as_in_the_worked_example():
    moment = at("1992-04-12T00:00") - timedelta(seconds=59)

    assert moon_lit_share(moment) == pytest.approx(0.6786, abs=0.002)
    assert moon_words(moment) == "waxing, more than half lit"


# Published source (second hand): Meeus, example 49.a: new moon at JDE 2443192.65118, 18 February
# 1977 03:37:42 dynamical time. The short series is good to an hour.
def test_the_moon_is_new_when_the_worked_example_says():
    new = at("1977-02-18T03:37:42") - timedelta(seconds=48)
    hour = timedelta(hours=1)

    assert moon_elongation_deg(new - hour) > 350
    assert moon_elongation_deg(new + hour) < 10
    assert moon_words(new) == "new moon"


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (3.5, "waxing, a thin crescent"),
        (7.4, "waxing, about half lit"),
        (14.8, "full moon"),
        (22.1, "waning, about half lit"),
        (26.0, "waning, a thin crescent"),
    ],
)
def test_the_moon_goes_through_its_words_in_a_month(days, words):
    assert moon_words(at("1977-02-18T03:37:00") + timedelta(days=days)) == words


def test_the_dark_of_some_days_runs_from_civil_dusk_to_civil_dawn():
    spells = dark_spells(at("2026-05-20T12:00"), at("2026-05-22T12:00"), *LONDON)

    # astral (its formulas are NOAA's) for the same place
    place = Observer(*LONDON)
    for spell, day in zip(spells, (20, 21), strict=True):
        evening = dusk(place, date(2026, 5, day), depression=6, tzinfo=UTC)
        morning = dawn(place, date(2026, 5, day + 1), depression=6, tzinfo=UTC)
        assert abs(spell[0] - evening) < 2 * MINUTE
        assert abs(spell[1] - morning) < 2 * MINUTE


def test_a_night_is_cut_to_the_span_that_was_asked_for():
    start, end = at("2026-05-20T23:00"), at("2026-05-21T01:00")

    assert dark_spells(start, end, *LONDON) == ((start, end),)
    assert dark_spells(at("2026-05-20T12:00"), at("2026-05-20T13:00"), *LONDON) == ()


def test_in_the_north_it_may_stay_light_or_dark_for_days():
    june = at("2026-06-18T00:00"), at("2026-06-26T00:00")
    december = at("2026-12-18T00:00"), at("2026-12-26T00:00")

    assert dark_spells(*june, 66.0, 25.0) == ()  # the sun sets, but not six degrees deep
    assert dark_spells(*june, 78.2, 15.6) == ()
    assert dark_spells(*december, 78.2, 15.6) == (december,)
    assert dark_spells(*june, -78.2, 15.6) == (june,)
    assert len(dark_spells(*december, 66.0, 25.0)) == 9  # of eight days, from midnight to midnight


@given(
    latitude=st.floats(-85, 85),
    longitude=st.floats(-180, 180),
    hours=st.integers(0, 366 * 24),
)
def test_spells_are_dark_and_what_is_between_them_is_not(latitude, longitude, hours):
    start = at("2026-01-01T00:00") + timedelta(hours=hours)
    spells = dark_spells(start, start + timedelta(days=3), latitude, longitude)

    assert all(a[1] < b[0] for a, b in pairwise(spells))
    for step in range(1, 72, 2):
        moment = start + timedelta(hours=step)
        altitude = sun_altitude_deg(moment, latitude, longitude)
        if abs(altitude - CIVIL_DEG) > 0.1:
            is_dark = any(dusk_at <= moment < dawn_at for dusk_at, dawn_at in spells)
            assert is_dark == (altitude < CIVIL_DEG)
