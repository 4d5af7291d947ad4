import re
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.rivers.gridref import (
    NATIONAL_GRID,
    WGS84_A_M,
    WGS84_B_M,
    Projection,
    grid_letters,
    grid_words,
    national_grid,
    project,
    utm,
    utm_zone,
)


def degrees(whole, minutes, seconds):
    return whole + minutes / 60 + seconds / 3600


# Published source: Ordnance Survey, A guide to coordinate systems in Great Britain, Annex C,
# worked example at Caister water tower.
CAISTER_OSGB36 = (degrees(52, 39, 27.2531), degrees(1, 43, 4.5177))
CAISTER_GRID_M = (651409.903, 313177.270)
# The same tower as a phone gives it.
CAISTER_WGS84 = (degrees(52, 39, 28.723), degrees(1, 42, 57.787))


def test_the_worked_example_of_the_ordnance_survey_comes_out_to_the_millimetre():
    easting, northing = project(*CAISTER_OSGB36, NATIONAL_GRID)

    assert easting == pytest.approx(CAISTER_GRID_M[0], abs=0.001)
    assert northing == pytest.approx(CAISTER_GRID_M[1], abs=0.001)


@pytest.mark.parametrize(
    ("digits", "reference"), [(6, "TG 514 131"), (8, "TG 5140 1317"), (10, "TG 51409 13177")]
)
def test_a_phones_position_gives_the_square_of_the_worked_example(digits, reference):
    assert national_grid(*CAISTER_WGS84, digits=digits) == reference


def test_digits_are_cut_off_and_never_rounded():
    # Published source: Ordnance Survey, the National Grid: a reference names the south-west corner.
    assert grid_letters(651_499.9, 313_199.9, digits=6) == "TG 514 131"


def test_a_phones_position_taken_as_osgb36_would_be_134_m_off():
    # Worked out from the example above: 45 m along the meridian, 126 m along the parallel.
    easting, northing = project(*CAISTER_WGS84, NATIONAL_GRID)

    off = hypot(easting - CAISTER_GRID_M[0], northing - CAISTER_GRID_M[1])
    assert off == pytest.approx(hypot(45, 126), abs=1)


@pytest.mark.parametrize(
    ("easting", "northing", "letters"),
    # Published source: the letters of Ordnance Survey's National Grid at its corners.
    [(0, 0, "SV"), (699_999, 0, "TW"), (0, 1_299_999, "HL"), (400_000, 1_200_000, "HP")],
)
def test_the_letters_at_the_edges_of_the_grid(easting, northing, letters):
    assert grid_letters(easting, northing).startswith(letters)


@pytest.mark.parametrize(
    "point", [(45.5, -71.4), (48.9, 0.0), (60.4, 5.3), (50.8, 3.6), (-52.6, 1.7)]
)
def test_a_point_outside_the_national_grid_is_refused_in_words(point):
    with pytest.raises(ValueError, match="outside the Ordnance Survey National Grid; use the UTM"):
        grid_words(*point, "osgb")


@pytest.mark.parametrize("point", [(91, 0), (0, 181), (float("nan"), 0), (0, float("inf"))])
def test_what_is_nowhere_on_earth_is_refused(point):
    with pytest.raises(ValueError, match="allowed are -90 to 90 and -180 to 180"):
        utm(*point)


def test_seven_digits_and_a_third_grid_are_refused():
    with pytest.raises(ValueError, match="digits is 7; allowed are 6, 8 and 10"):
        national_grid(*CAISTER_WGS84, digits=7)
    with pytest.raises(ValueError, match="grid is 'mgrs'; allowed are osgb and utm"):
        grid_words(57, -4, "mgrs")


def test_the_meridian_is_as_long_as_geodesists_say():
    # From memory: on WGS84 the equator is 10,001,965.729 m from the pole and 4,984,944.378 m from
    # 45 degrees north.
    plain = Projection(
        a_m=WGS84_A_M,
        b_m=WGS84_B_M,
        scale=1.0,
        latitude=0.0,
        longitude=3.0,
        easting_m=0.0,
        northing_m=0.0,
    )

    assert project(90.0, 3.0, plain)[1] == pytest.approx(10_001_965.729, abs=0.001)
    assert project(45.0, 3.0, plain) == pytest.approx((0.0, 4_984_944.378), abs=0.001)


def test_a_known_tower_in_utm():
    # From memory: 43 38 33.24 N, 79 23 13.7 W is 17T 630084 4833438.
    assert utm(degrees(43, 38, 33.24), -degrees(79, 23, 13.7)) == "17T 0630084 4833438"


@pytest.mark.parametrize(
    ("point", "zone"),
    # From memory: the wider zones of south-west Norway (32V) and of Svalbard (31X, 33X, 35X, 37X).
    [
        ((60.4, 5.3), (32, "V")),
        ((60.4, 2.9), (31, "V")),
        ((55.9, 5.3), (31, "U")),
        ((78.2, 8.9), (31, "X")),
        ((78.2, 9.1), (33, "X")),
        ((78.2, 33.1), (37, "X")),
        ((83.9, -180), (1, "X")),
        ((0, 180), (1, "N")),
        ((-0.1, -179.9), (1, "M")),
    ],
)
def test_zones_and_bands(point, zone):
    assert utm_zone(*point) == zone


def test_utm_ends_before_the_poles():
    with pytest.raises(ValueError, match="the UTM grid covers -80 to 84"):
        utm(84.5, 0)


@given(st.floats(-80, 84), st.floats(-180, 180))
def test_every_point_of_the_utm_grid_has_a_reference_of_one_shape(latitude, longitude):
    words = utm(latitude, longitude)

    assert re.fullmatch(r"\d{1,2}[C-HJ-NP-X] \d{7} \d{7,8}", words)
    assert 100_000 <= int(words.split()[1]) < 900_000


@given(st.floats(50, 60), st.floats(-6, 1.5))
def test_a_step_to_the_north_raises_the_northing_by_as_much(latitude, longitude):
    step_m = 1000
    step_degrees = step_m / 111_200

    here = project(latitude, longitude, NATIONAL_GRID)[1]
    there = project(latitude + step_degrees, longitude, NATIONAL_GRID)[1]

    assert there - here == pytest.approx(step_m, rel=0.01)
