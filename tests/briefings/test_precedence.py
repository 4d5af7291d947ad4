"""Where rules disagree, one fixed order decides, and the page shows who was overruled.

The order and all rules here: common practice, no source.
"""

from datetime import date

import pytest

from briefings.setups.precedence import settle
from briefings.setups.rules import Held, Rule
from guiding.sources import COMMON_PRACTICE
from tests.briefings.boxes import advise

APRIL, OCTOBER = date(2026, 4, 14), date(2026, 10, 14)


def overruled(advice):
    return {lost.rule: lost for lost in advice.overruled}


def held(name, rank, order=0, **asks):
    rule = Rule(
        name=name, rank=rank, order=order, asks=asks, says=f"{name}.", source=COMMON_PRACTICE
    )
    return Held(rule=rule, because="always")


@pytest.mark.parametrize("level_class", ["low", "summer"])
def test_ten_degrees_low_and_clear_in_april_is_a_floating_line_and_a_small_sparse_fly(level_class):
    # common practice, no source: the river as it is, before the calendar
    advice = advise(day=APRIL, water=10.0, water_two_days_ago=10.0, level_class=level_class)

    assert advice.setup.line.kind == "floating"
    assert advice.setup.tip is None
    assert advice.setup.point.length_mm <= 19
    assert advice.setup.point.dressing == "sparse"
    assert "deep" not in advice.setup.how
    lost = overruled(advice)["Spring habit"]
    assert "a fast tip" in lost.asked
    assert "40 to 75 mm" in lost.asked
    assert "a tube" in lost.asked
    assert lost.by.startswith(("Low and clear, cool", "Summer level and clear"))
    assert lost.reason.because == "April"


def test_sudden_cold_in_autumn_comes_before_the_river_as_it_is():
    advice = advise(day=OCTOBER, level_class="low", water=9.0, water_two_days_ago=13.0)

    assert advice.setup.hold_s == 5
    assert advice.setup.line.kind == "floating"
    assert advice.setup.tip.name == "Type 7 tip 10 ft"
    assert "sizes 12 to 14" in overruled(advice)["Low and clear, cool"].asked


@pytest.mark.parametrize(
    ("water", "two_days_ago", "is_sudden_cold"),
    [
        (5.0, 5.0, True),  # 5 C or less
        (5.1, 5.1, False),
        (5.3, 9.3, True),  # down 4 C or more in two days; 9.3 - 5.3 falls short of 4 in binary
        (9.0, 12.9, False),
        (4.0, None, True),
        (9.0, None, False),  # what is not known never holds
    ],
)
def test_sudden_cold_begins_at_five_degrees_or_a_fall_of_four(water, two_days_ago, is_sudden_cold):
    advice = advise(day=OCTOBER, level_class="good", water=water, water_two_days_ago=two_days_ago)

    assert (advice.setup.hold_s == 5) is is_sudden_cold


def test_the_same_cold_in_spring_is_no_cold_snap():
    advice = advise(day=APRIL, level_class="good", water=5.0, water_two_days_ago=9.0)

    assert advice.setup.hold_s is None
    assert advice.setup.point.is_tube


def test_in_sudden_cold_red_comes_before_what_the_sky_would_ask():
    advice = advise(
        day=OCTOBER, level_class="good", water=5.0, water_two_days_ago=9.0, sky="bright"
    )

    assert "red" in advice.setup.point.colours
    sky = overruled(advice)["Bright or cloudy sky: black and yellow"]
    assert sky.by == "Sudden cold in autumn: red first"
    assert "black and yellow" in sky.asked


def test_the_fish_care_stop_comes_before_everything_and_shows_what_it_overrules():
    advice = advise(water=20.0, water_two_days_ago=24.0, day=OCTOBER, level_class="good")

    assert advice.setup is None
    assert overruled(advice)["Sudden cold in autumn"].by == "Fish care: stop at 20 °C"
    assert overruled(advice)["Autumn habit"].by == "Fish care: stop at 20 °C"


def test_season_habits_come_before_the_temperature_table():
    advice = advise(day=date(2026, 3, 10), level_class="good", water=7.0, water_two_days_ago=7.0)

    assert advice.setup.point.is_tube
    lost = overruled(advice)["6 to 9 °C"]
    assert "Spring habit" in lost.by
    assert "a medium tip" in lost.asked


@pytest.mark.parametrize(
    ("water", "line", "tip"),
    # sources F, common practice: each band includes its lower edge
    [
        (5.9, "floating", "Type 7 tip 10 ft"),
        (6.0, "intermediate", None),
        (8.9, "intermediate", None),
        (9.0, "floating", "Sinking leader 10 ft"),
        (11.9, "floating", "Sinking leader 10 ft"),
        (12.0, "floating", None),
        (15.9, "floating", None),
        (16.0, "floating", None),
        (19.9, "floating", None),
    ],
)
def test_the_bands_of_the_temperature_table_include_their_lower_edge(water, line, tip):
    setup = advise(
        day=date(2026, 6, 24), level_class="good", water=water, water_two_days_ago=water, air=25.0
    ).setup

    assert setup.line.kind == line
    if tip is not None or line == "floating":
        assert (setup.tip.name if setup.tip else None) == tip


@pytest.mark.parametrize(
    ("water", "sizes"), [(12.0, (8, 10, 12)), (16.0, (10, 12, 14)), (18.0, (10, 12, 14))]
)
def test_the_temperature_table_gives_sizes_at_good_height(water, sizes):
    # sources F, common practice, no source
    setup = advise(level_class="good", water=water, water_two_days_ago=water).setup

    assert setup.point.hook_size in sizes


# --- the order as such ----------------------------------------------------------------------------


def test_the_lower_rank_wins_and_the_loser_says_what_it_wanted():
    wanted = settle((held("First", 20, tip="fast"), held("Second", 40, tip="slow", dropper=True)))

    assert wanted.asks["tip"] == "fast"
    assert wanted.asks["dropper"] is True
    (lost,) = wanted.overruled
    assert (lost.rule, lost.by, lost.asked) == ("Second", "First", "a slow tip")


def test_a_rule_that_agrees_with_the_winner_is_not_overruled():
    assert settle((held("First", 20, tip="fast"), held("Second", 40, tip="fast"))).overruled == ()


def test_what_belongs_together_is_claimed_together():
    wanted = settle((held("First", 20, line=["floating"]), held("Second", 40, tip="fast")))

    assert "tip" not in wanted.asks or wanted.asks["tip"] != "fast"
    assert wanted.overruled[0].asked == "a fast tip"


def test_steps_add_up_but_do_not_reach_a_size_that_ranks_above_them():
    large, larger = held("Large", 30, steps=1), held("Larger", 30, order=1, steps=2)

    free = settle((large, larger, held("Table", 50, hook_sizes={"from": 8, "to": 10})))
    bound = settle((held("Cold", 20, hook_sizes={"from": 8, "to": 10}), large, larger))

    assert free.steps == 3
    assert bound.steps == 0
    assert [lost.asked for lost in bound.overruled] == ["1 step larger", "2 steps larger"]


# --- low clear water that nobody has measured -----------------------------------------------------


@pytest.mark.parametrize("day", [OCTOBER, APRIL, date(2026, 6, 24)])
def test_low_clear_water_of_unknown_temperature_gets_no_habit_of_the_season(day):
    # the starting rules, common practice, no source: the river as it is, before the calendar
    advice = advise(day=day, level_class="low", water=None, water_two_days_ago=None)

    assert advice.setup.line.kind == "floating"
    assert advice.setup.tip is None
    assert not advice.setup.point.is_tube
    assert advice.setup.point.length_mm <= 16
    assert "Measure the water first" in advice.setup.how
    assert advice.setup.hold_s is None
    assert advice.worth_going == "not_known"


def test_a_measured_temperature_decides_as_before():
    advice = advise(day=OCTOBER, level_class="low", water=7.0, water_two_days_ago=7.0)

    assert advice.setup.tip is not None
    assert not any("not known" in reason.text for reason in advice.reasons)


# --- a reason says what its rule decided, and no more ---------------------------------------------


def test_a_rule_that_decides_a_part_is_quoted_for_that_part_alone():
    advice = advise(day=OCTOBER, level_class="good", water=7.0, water_two_days_ago=7.0)

    texts = [reason.text for reason in advice.reasons]
    # the autumn habit comes before the table, which is left the dressing and the way to fish it
    table = next(text for text in texts if "Dressing" in text)
    assert "a medium dressing" in table
    assert "25 to 50 mm" not in table
    assert "medium tip" not in table
    assert any(
        text.endswith("a fast-sinking tip and a short leader; the fly not huge.") for text in texts
    )


def test_lengths_in_a_quoted_part_stand_in_both_units():
    rules = (
        Rule(
            name="First", rank=30, asks={"dressing": "full"}, says="Full.", source=COMMON_PRACTICE
        ),
        Rule(
            name="Second",
            rank=40,
            says="Second, all of it.",
            source=COMMON_PRACTICE,
            asks={"dressing": "sparse", "leader_m": 1.2, "tippet_mm": 0.3},
        ),
    )

    texts = [reason.text for reason in advise(rules=rules).reasons]

    assert "Dressing. Full." in texts
    assert "Leader, tippet: 1.20 m (3 ft 11 in) of leader, a tippet of 0.30 mm (0.012 in)." in texts


def test_a_step_is_quoted_without_the_part_that_was_overruled():
    rules = (
        Rule(name="First", rank=30, asks={"tippet_mm": 0.2}, says="Fine.", source=COMMON_PRACTICE),
        Rule(
            name="Second",
            rank=30,
            order=9,
            says="Larger, on a stout tippet.",
            asks={"steps": 1, "tippet_mm": 0.34},
            source=COMMON_PRACTICE,
        ),
        Rule(
            name="Third",
            rank=50,
            asks={"hook_sizes": {"from": 8, "to": 10}},
            says="Sizes.",
            source=COMMON_PRACTICE,
        ),
    )

    assert "1 step larger." in [reason.text for reason in advise(rules=rules).reasons]
