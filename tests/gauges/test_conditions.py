from datetime import UTC, datetime

import pytest

from guiding.gauges.conditions.values import (
    Condition,
    Given,
    Kind,
    Light,
    Phase,
    condition_as_json,
    may_have_ice,
)
from guiding.sun import Light as SunLight
from tests.factories import make_conditions


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("level_m", -99.0, "level_m is -99.0; a river's level here is -1 to 20 m."),
        ("level_m", 20.01, "level_m is 20.01; a river's level here is -1 to 20 m."),
        ("water_c", 40.0, "water_c is 40.0; a river's water here is -0.5 to 35 degrees C."),
        ("water_c_two_days_ago", -1, "water_c_two_days_ago is -1; a river's water"),
        ("air_c", 46, "air_c is 46; the air here is -40 to 45 degrees C."),
        ("visibility_cm", -1, "visibility_cm is -1; visibility here is 0 to 1000 cm."),
        ("wind_ms", 61, "wind_ms is 61; the wind here is 0 to 60 m/s."),
        ("wind_from_deg", 361, "wind_from_deg is 361; the wind comes from 0 to 360 degrees."),
        ("level_m", float("nan"), "level_m is nan; a river's level"),
        ("air_c", float("inf"), "air_c is inf; the air"),
        ("level_m", "0.3", "level_m is 0.3; a river's level"),
        ("level_m", True, "level_m is True; a river's level"),
        ("phase", "flood", "phase is flood; it is one of first_rise, rising, peak,"),
        ("sky", "grey", "sky is grey; it is one of bright, cloud, dark."),
    ],
)
def test_what_no_river_can_be_is_refused_with_what_is_allowed(name, value, words):
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        Given(**{name: value})


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("level_m", -1),
        ("level_m", 20),
        ("water_c", -0.5),
        ("water_c", 35),
        ("air_c", -40),
        ("visibility_cm", 0),
        ("visibility_cm", 1000),
        ("wind_ms", 0),
        ("wind_ms", 60),
    ],
)
def test_both_ends_of_a_range_are_taken(name, value):
    assert getattr(Given(**{name: value}), name) == value


def test_a_phase_may_be_typed_as_a_word():
    assert Given(phase="fining_down").phase is Phase.FINING_DOWN


def test_a_condition_is_known_exactly_when_it_has_a_value():
    with pytest.raises(ValueError, match="level: a value is there exactly when it is known"):
        Condition(what="level", value=0.3)
    with pytest.raises(ValueError, match="exactly when it is known"):
        Condition(what="level", kind=Kind.OBSERVED)


def test_a_condition_prints_nine_keys():
    at = datetime(2026, 5, 20, 8, tzinfo=UTC)
    condition = Condition(
        what="level",
        value=0.3,
        low=0.2,
        high=0.4,
        unit="m",
        kind=Kind.FORECAST,
        at=at,
        age_hours=1.0,
        source="the gauge",
    )

    assert condition_as_json(condition) == {
        "what": "level",
        "value": 0.3,
        "low": 0.2,
        "high": 0.4,
        "unit": "m",
        "kind": "forecast",
        "at": "2026-05-20T08:00:00+00:00",
        "age_hours": 1.0,
        "source": "the gauge",
    }


def test_a_condition_that_is_not_known_prints_nulls():
    printed = condition_as_json(Condition(what="level", unit="m", source="no reading"))

    assert printed["value"] is None
    assert printed["at"] is None
    assert printed["kind"] == "not_known"


@pytest.mark.parametrize(
    ("may_ice", "value", "low", "air_c", "expected"),
    [
        (False, 0.0, None, -12.0, False),
        (True, None, None, None, None),
        (True, 0.5, None, None, True),
        (True, 0.6, None, 4.0, None),
        (True, 3.0, None, 4.0, None),
        (True, 4.0, 2.9, 4.0, None),
        (True, 4.0, 3.1, 4.0, False),
        (True, 6.0, None, None, False),
        (True, 6.0, None, -5.0, None),
    ],
)
def test_ice_is_ruled_out_only_by_water_well_above_it_and_no_hard_frost(
    may_ice, value, low, air_c, expected
):
    kind = Kind.NOT_KNOWN if value is None else Kind.INFERRED
    water = Condition(what="water", value=value, low=low, kind=kind)
    air = Condition(
        what="air", value=air_c, kind=Kind.NOT_KNOWN if air_c is None else Kind.FORECAST
    )

    assert may_have_ice(may_ice, water, air) is expected


def test_conditions_tell_whether_there_may_be_ice():
    assert make_conditions(may_ice=True, water=0.3).has_ice is True
    assert make_conditions(may_ice=False, water=0.3).has_ice is False


def test_the_light_of_the_conditions_is_the_suns():
    assert Light is SunLight
