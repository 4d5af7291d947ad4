"""Wind chill against Environment Canada's own table (sources.md C1 to C6)."""

from math import floor

import pytest

from briefings.cautions.windchill import wind_chill


def as_printed(value):
    """Round half up, negatives too: the table's own rounding (sources.md C2)."""
    return floor(value + 0.5)


@pytest.mark.parametrize(
    ("air_c", "wind_kmh", "cell"),
    [
        (5, 20, 1),
        (0, 30, -6),
        (-5, 25, -12),
        (-10, 20, -18),
        (-15, 45, -28),
        (-20, 10, -27),
        (-25, 20, -37),
        (-35, 65, -58),
    ],
)
def test_cells_of_the_official_table_come_out(air_c, wind_kmh, cell):
    assert as_printed(wind_chill(air_c, wind_kmh / 3.6)) == cell


@pytest.mark.parametrize(
    ("air_c", "wind_kmh", "misprint", "cell"),
    [(0, 30, -7, -6), (-20, 20, -31, -30), (-25, 30, -37, -39), (0, 55, -9, -8)],
)
def test_a_wrong_copy_of_the_table_is_not_followed(air_c, wind_kmh, misprint, cell):
    """sources.md K4: cells of a copied table beside the official ones."""
    ours = as_printed(wind_chill(air_c, wind_kmh / 3.6))

    assert ours == cell
    assert ours != misprint


def test_the_worked_example_comes_out():
    """sources.md C3: 2 degrees C and 7 km/h give -0.077."""
    assert wind_chill(2, 7 / 3.6) == pytest.approx(-0.077, abs=5e-4)


@pytest.mark.parametrize(
    ("air_c", "wind_kmh", "holds"),
    [(10, 20, True), (10.1, 20, False), (0, 5, True), (0, 4.9, False)],
)
def test_outside_its_limits_there_is_no_index(air_c, wind_kmh, holds):
    """From memory, sources.md C6: not above 10 degrees C, not below 5 km/h."""
    assert (wind_chill(air_c, wind_kmh / 3.6) is not None) is holds


@pytest.mark.parametrize(
    ("air_c", "wind_ms", "named"),
    [
        (46, 5, "air_c is 46"),
        (float("nan"), 5, "air_c is nan"),
        (0, -1, "wind_ms is -1"),
        (0, 61, "wind_ms is 61"),
    ],
)
def test_impossible_weather_is_refused(air_c, wind_ms, named):
    with pytest.raises(ValueError, match=named):
        wind_chill(air_c, wind_ms)
