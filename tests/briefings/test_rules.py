"""The small language of a rule: when it holds, and that what is not known never does."""

import pytest

from briefings.setups.facts import Fact, facts_from
from briefings.setups.rulecheck import ASKS, FACTS, problems
from briefings.setups.rules import Rule, holding, read_rules
from guiding.gauges.conditions.values import Condition, Kind
from guiding.sources import COMMON_PRACTICE
from tests.briefings.boxes import RULES, advise
from tests.factories import make_conditions

KNOWN = {
    "water_c": Fact(value=6.0, words="water 6"),
    "month": Fact(value=4, words="April"),
    "sky": Fact(value="cloud", words="sky cloud"),
    "night": Fact(value=False, words="daylight"),
}


def make_rule(when=None, asks=None, **changes):
    fields = {"name": "A rule", "rank": 30, "says": "As it is.", "source": COMMON_PRACTICE}
    return Rule(when=when or {}, asks=asks or {"note": True}, **{**fields, **changes})


@pytest.mark.parametrize(
    ("when", "holds"),
    [
        ({}, True),
        ({"water_c": {"from": 6}}, True),
        ({"water_c": {"above": 6}}, False),
        ({"water_c": {"to": 6}}, True),
        ({"water_c": {"below": 6}}, False),
        ({"water_c": {"from": 5, "below": 6.1}}, True),
        ({"water_c": 6}, True),
        ({"month": [3, 4]}, True),
        ({"month": [5]}, False),
        ({"sky": "cloud"}, True),
        ({"sky": ["bright", "dark"]}, False),
        ({"night": False}, True),
        ({"night": True}, False),
        ({"month": [4], "sky": "bright"}, False),
        ({"any": [{"month": [5]}, {"sky": "cloud"}]}, True),
        ({"any": [{"month": [5]}, {"sky": "bright"}]}, False),
        # what is not known never holds, whichever way it is asked
        ({"wind_ms": {"below": 100}}, False),
        ({"wind_ms": {"from": 0}}, False),
        ({"phase": ["settled", "rising", "peak"]}, False),
        ({"dark": False}, False),
        ({"any": [{"wind_ms": {"from": 0}}]}, False),
    ],
)
def test_a_rule_holds_exactly_when_all_its_conditions_are_known_and_met(when, holds):
    assert bool(holding((make_rule(when),), KNOWN)) is holds


def test_the_conditions_that_made_a_rule_hold_are_said():
    rule = make_rule({"month": [4], "any": [{"sky": "bright"}, {"water_c": {"to": 6}}]})

    assert holding((rule,), KNOWN)[0].because == "April, water 6"


def test_rules_that_hold_come_lowest_rank_then_lowest_order_first():
    rules = (
        make_rule(name="C", rank=40),
        make_rule(name="B", rank=30, order=2),
        make_rule(name="A", rank=30, order=1),
    )

    assert [held.rule.name for held in holding(rules, KNOWN)] == ["A", "B", "C"]


def test_unknown_conditions_leave_no_fact_behind():
    nothing = dict.fromkeys(
        [
            *("level", "level_class", "phase", "rise", "water", "water_two_days_ago"),
            *("visibility", "colour", "air", "wind", "sky", "rain"),
        ]
    )

    facts = facts_from(make_conditions(**nothing), fish="salmon", casting=None, rods=1)

    assert set(facts) == {
        "month",
        "part",
        "regime",
        "fish",
        "rods",
        "passes",
        "water_known",
        "night",
        "dark",
    }


@pytest.mark.parametrize(
    ("visibility", "colour", "clarity"),
    [
        (75.0, None, "clear"),
        (74.9, "clear", "coloured"),
        (30.0, None, "coloured"),
        (29.9, None, "dirty"),
        (None, "tea-coloured", "stained"),
        (None, "dirty", "dirty"),
    ],
)
def test_visibility_decides_how_clear_the_water_is_and_the_colour_only_without_it(
    visibility, colour, clarity
):
    # common practice, no source: clear from 75 cm, dirty below 30 cm
    facts = facts_from(
        make_conditions(visibility=visibility, colour=colour),
        fish="salmon",
        casting=None,
        rods=1,
    )

    assert facts["clarity"].value == clarity


def test_water_that_nobody_looked_into_is_called_so_and_takes_the_more_careful_name():
    source = "from the rise and the time since, not seen"
    unseen = {
        name: Condition(what=name, value=value, kind=Kind.INFERRED, source=source)
        for name, value in (("visibility", 90.0), ("colour", "coloured"))
    }

    facts = facts_from(make_conditions(**unseen), fish="salmon", casting=None, rods=1)

    assert facts["clarity"].value == "coloured"
    assert facts["clarity"].words == "water coloured (inferred, not seen)"
    assert facts["visibility_cm"].words == "visibility 90 cm (inferred, not seen)"


# --- what a guide may type ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("when", "asks", "words"),
    [
        ({"wter_c": 5}, {"note": True}, "when.wter_c: no such fact"),
        ({"water_c": "cold"}, {"note": True}, "'cold'; it must be a number"),
        ({"water_c": {"form": 5}}, {"note": True}, "form"),
        ({"water_c": {}}, {"note": True}, "no bounds"),
        ({"water_c": {"from": 60}}, {"note": True}, "60; allowed is -0.5 to 35 degrees C"),
        ({"water_c": {"from": float("nan")}}, {"note": True}, "nan; allowed"),
        ({"water_c": {"from": 10**400}}, {"note": True}, "allowed is -0.5 to 35"),
        ({"water_c": {"from": 9, "below": 6}}, {"note": True}, "nothing lies between"),
        ({"month": [13]}, {"note": True}, "13; allowed is 1 to 12"),
        ({"month": [1.5]}, {"note": True}, "a whole number"),
        ({"month": []}, {"note": True}, "empty list"),
        ({"phase": "flood"}, {"note": True}, "'flood'; allowed are first_rise"),
        ({"phase": [{}]}, {"note": True}, "allowed are first_rise"),
        ({"dark": "yes"}, {"note": True}, "'yes'; it must be true or false"),
        ({"any": {"dark": True}}, {"note": True}, "must be a list of tables"),
        ({"any": [{"drak": True}]}, {"note": True}, "when.any.drak: no such fact"),
        ([], {"note": True}, "must be a table of conditions"),
        ({}, {}, "asks for nothing"),
        ({}, [], "must be a table"),
        ({}, {"flies": 3}, "asks.flies: nothing of that name"),
        ({}, {"no_caution": True}, "No rule can change a caution"),
        ({}, {"line": "floating"}, "must be a list"),
        ({}, {"line": ["flaoting"]}, "'flaoting'; allowed are floating"),
        ({}, {"hook_sizes": 10}, "write it as"),
        ({}, {"hook_sizes": {"from": 12, "to": 10}}, "nothing lies between"),
        ({}, {"length_mm": {"from": 1, "to": 2000}}, "allowed is 5 to 150 mm"),
        ({}, {"leader_m": True}, "it must be a number"),
        ({}, {"leader_m": 40}, "allowed is 0.6 to 8 m"),
        ({}, {"dropper_from_line_m": 2.4}, "needs asks.leader_m"),
        ({}, {"leader_m": 2, "dropper_from_line_m": 2.4}, "must be less than the leader"),
        ({}, {"steps": 0}, "a step is up"),
        ({}, {"colours": "red"}, "must be a list such as"),
        ({}, {"how": " "}, "it must be a sentence"),
        ({}, {"how": "A safe way to wade."}, "is not a word for advice"),
        ({}, {"also": "Not unsafe at all."}, "is not a word for advice"),
        ({"tube": True}, {"tip": "fast"}, "chosen before it is known"),
    ],
)
def test_a_rule_that_cannot_be_read_is_refused_with_what_was_met(when, asks, words):
    rule = Rule(
        name="A rule", rank=30, when=when, asks=asks, says="As it is.", source=COMMON_PRACTICE
    )

    faults = problems(rule)

    assert any(words in fault for fault in faults), faults


def test_every_starting_rule_can_be_read_and_says_who_says_so():
    assert len(RULES) > 50
    for rule in RULES:
        assert problems(rule) == (), rule.name
        assert rule.source.label, rule.name
    assert len({rule.name for rule in RULES}) == len(RULES)


def test_every_word_of_the_language_is_used_by_a_rule_or_open_to_the_guide():
    asked = {key for rule in RULES for key in rule.asks}

    assert asked <= set(ASKS)
    assert set(ASKS) - asked == set()
    assert {"water_c", "month", "phase", "fish"} <= set(FACTS)


def test_an_edited_rule_changes_the_advice_and_carries_its_own_source():
    text = """
    [[rule]]
    name = "My own"
    rank = 30
    order = 0
    when = { level_class = "summer" }
    asks = { colours = ["silver"], leader_m = 5.0, dropper_from_line_m = 3.5 }
    says = "Silver shows here."
    label = "from memory"
    """

    advice = advise(rules=(*read_rules(text), *RULES))

    assert "silver" in advice.setup.point.colours
    assert advice.setup.leader_m == pytest.approx(5.0)
    assert advice.setup.dropper_from_line_m == pytest.approx(3.5)
    mine = next(reason for reason in advice.reasons if "Silver shows" in reason.text)
    assert str(mine.source.label) == "from memory"
