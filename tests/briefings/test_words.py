"""Numbers, moments and lists in words, and what a client's copy leaves out of them."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from briefings.pack import words
from briefings.pack.client_words import for_client
from briefings.setups.facts import rounded
from guiding.gauges.conditions.values import Kind
from guiding.units import fly_length_words, temperature_words, thickness_words
from tests.factories import make_condition


@pytest.mark.parametrize(
    ("value", "unit", "units", "said"),
    [
        (0.346, "m", "imperial", "0.35 m"),  # a gauge is read in its own unit by everybody
        (12.0, "degrees C", "metric", "12 °C (54 °F)"),
        (12.0, "degrees C", "imperial", "54 °F (12 °C)"),
        (-0.4, "degrees C", "metric", "0 °C (31 °F)"),
        (100.0, "cm", "metric", "100 cm (39 in)"),
        (10.0, "m/s", "imperial", "22 mph (10 m/s)"),
        (-0.3, "cm/h", "metric", "0 cm an hour"),
        (225.0, "degrees", "metric", "SW"),
        (0.4, "mm", "metric", "under 1 mm"),
        (0.0, "mm", "metric", "0 mm"),
    ],
)
def test_a_number_is_rounded_to_what_it_bears_and_never_minus_nought(value, unit, units, said):
    assert words.number_words(value, unit, units) == said


def test_what_rounds_to_nought_has_no_minus():
    assert temperature_words(-0.4, "metric") == "0 °C (31 °F)"
    assert temperature_words(-17.9, "imperial") == "0 °F (-18 °C)"  # -0.22 °F
    assert rounded(-0.04) == "0"
    assert rounded(5.35) in {"5.3", "5.4"}


def test_a_tippet_is_in_millimetres_and_in_thousandths_of_an_inch():
    assert thickness_words(0.25, "metric") == "0.25 mm (0.010 in)"
    assert thickness_words(0.25, "imperial") == "0.010 in (0.25 mm)"


def test_a_fly_is_as_long_in_the_readers_units():
    assert fly_length_words(19, "metric") == "19 mm"
    assert fly_length_words(19, "imperial") == "0.7 in (19 mm)"


def test_not_known_is_said_and_has_no_spread():
    unknown = make_condition("water", None)

    assert words.value_words(unknown, "metric") == "not known"
    assert words.spread_words(unknown, "metric") == ""
    assert words.chance_words(None) == "not known"


def test_a_spread_too_narrow_to_print_is_not_called_unknown():
    narrow = make_condition("water", 12.0, low=11.9, high=12.1, kind=Kind.FORECAST)
    wide = make_condition("water", 12.0, low=10.0, high=14.0, kind=Kind.FORECAST)

    assert words.spread_words(narrow, "metric") == "within the rounding"
    assert words.spread_words(wide, "metric") == "10 °C (50 °F) to 14 °C (57 °F)"


def test_a_moment_is_told_in_the_rivers_zone():
    moment = datetime(2026, 5, 20, 23, 30, tzinfo=UTC)

    assert words.short_moment_words(moment, ZoneInfo("Europe/London")) == "Thu 21 May, 00:30"
    assert words.clock_words(moment, ZoneInfo("Europe/Oslo")) == "01:30"


def test_one_day_is_a_day_and_several_are_a_span():
    first, last = date(2026, 5, 20), date(2026, 5, 22)

    assert words.days_words(first, first) == "Wednesday 20 May"
    assert words.days_words(first, last) == "Wednesday 20 May to Friday 22 May"


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ([], ""),
        (["Ada"], "Ada"),
        (["Ada", "Tom"], "Ada and Tom"),
        (["Ada", "Tom", "Ida"], "Ada, Tom and Ida"),
    ],
)
def test_names_are_listed_as_they_are_spoken(names, said):
    assert words.listed(names) == said


@pytest.mark.parametrize(
    ("guides", "clients"),
    [
        (
            "Here: level low (forecast), water 12 °C (observed).",
            "Here: the height of the river, water 12 °C (observed).",
        ),
        ("Here: level over the bank.", "Here: the height of the river."),
        (
            "the river comes up to high water: a tube",
            "the river comes up to another height: a tube",
        ),
        ("the river falls to summer level: a tube", "the river falls to another height: a tube"),
        ("Summer level and clear: a small fly.", "Ordinary low water and clear: a small fly."),
        ("A class higher than good: a step larger.", "The river well up: a step larger."),
        ("Over the bank: nothing to fish.", "Out of its bed: nothing to fish."),
        ("Water level 0.35 m is a good level.", "Water level 0.35 m is a good level."),
    ],
)
def test_a_client_reads_no_class_name(guides, clients):
    assert for_client(guides) == clients
