"""What somebody gives overrides the record, and is not mixed with it."""

from briefings.setups.facts import facts_from
from guiding.gauges.conditions.values import Kind
from tests.factories import make_condition, make_conditions


def facts(**changes):
    return facts_from(make_conditions(**changes), fish="salmon", casting=None, rods=1)


def observed(what, value):
    return make_condition(what, value, kind=Kind.OBSERVED)


RECORD = {
    "level": observed("level", 0.5),
    "phase": observed("phase", "rising"),
    "rise": observed("rise", 6.0),
    "water": observed("water", 11.0),
    "water_two_days_ago": observed("water_two_days_ago", 8.0),
}


def test_the_records_rise_is_not_that_of_a_given_river():
    assert "rise_cm_h" in facts(**RECORD)
    assert "rise_cm_h" not in facts(**{**RECORD, "level": 0.2})
    assert "rise_cm_h" not in facts(**{**RECORD, "phase": "settled"})


def test_a_given_temperature_is_not_compared_with_another_day_of_the_record():
    assert "water_drop_c" in facts(**RECORD)
    assert "water_drop_c" not in facts(**{**RECORD, "water": 11.0})
    assert "water_drop_c" in facts(**{**RECORD, "water": 7.0, "water_two_days_ago": 12.0})
