"""Whether it is worth going: yes, no or not known, each with its reason."""

from datetime import date

import pytest

from guiding.gauges.conditions.values import Kind
from guiding.sources import Label
from tests.briefings.boxes import FULL_BOX, RULES, advise
from tests.factories import make_condition


def test_water_at_twenty_degrees_is_a_stop_for_the_fish_on_a_published_word():
    # published source: Natural Resources Wales, warm-weather advice to anglers: stop at 20 C
    advice = advise(water=20.0)

    assert advice.worth_going == "no"
    assert advice.setup is None
    (reason,) = advice.reasons
    assert reason.source.label is Label.PUBLISHED
    assert "Natural Resources Wales" in reason.source.title
    assert "water 20 °C (given)" in reason.because


@pytest.mark.parametrize("water", [18.0, 19.9])
def test_from_eighteen_degrees_care_is_asked_and_the_rivers_rules_are_named(water):
    # published source: the same: extra care at 18 to 20 C
    advice = advise(water=water, water_two_days_ago=water)

    assert advice.worth_going == "yes"
    assert advice.setup is not None
    assert any("only if the river's own rules allow" in line.lower() for line in advice.why)
    care = next(r for r in advice.reasons if "18 to 20 °C: only if" in r.text)
    assert care.source.label is Label.PUBLISHED


def test_below_eighteen_degrees_nothing_is_said_of_warm_water():
    assert not any("20 °C" in line for line in advise(water=17.9, water_two_days_ago=17.9).why)


def test_a_forecast_that_may_reach_twenty_says_so():
    warm = make_condition("water", 17.5, low=16.0, high=20.5, kind=Kind.FORECAST)

    assert any("may reach 20 °C" in line for line in advise(water=warm).why)


def test_no_setting_removes_the_stop_for_the_fish_or_the_river_over_its_bank():
    kept = tuple(rule for rule in RULES if "stop" not in rule.asks and rule.name != "Over the bank")

    hot = advise(rules=kept, water=22.0)
    flooded = advise(rules=(), level_class="over_bank")

    assert (hot.worth_going, hot.setup) == ("no", None)
    assert flooded.worth_going == "no"


# common practice, no source, all of these
@pytest.mark.parametrize(
    ("changes", "answer", "words"),
    [
        ({"level_class": "over_bank", "phase": "peak"}, "no", "Over the bank"),
        ({"phase": "first_rise"}, "no", "dirt and leaves"),
        ({"phase": "rising", "visibility": 40.0}, "no", "Still rising"),
        ({"phase": "rising", "level_class": "high"}, "no", "Still rising"),
        ({"phase": "rising", "level_class": "good"}, "yes", "still clear"),
        ({"phase": "peak", "level_class": "big"}, "no", "at its peak"),
        ({"phase": "peak", "level_class": "good"}, "not_known", "No rule speaks for it"),
        ({"phase": "coloured_falling", "visibility": 10.0}, "no", "no fly"),
        ({"phase": "coloured_falling", "visibility": 40.0}, "yes", "falling"),
        ({"phase": "fining_down", "level_class": "good"}, "yes", "waits for"),
        ({"phase": "settled"}, "yes", "Settled water"),
        ({"phase": "stale", "level_class": "low"}, "no", "On its bones"),
        ({"phase": "stale", "level_class": "low", "fish": "sea_trout"}, "yes", "No rule speaks"),
        ({"phase": "stale", "level_class": "summer"}, "yes", "hard fishing"),
    ],
)
def test_height_and_phase_decide_whether_it_is_worth_going(changes, answer, words):
    advice = advise(**changes)

    assert advice.worth_going == answer
    assert words in " ".join(advice.why)


def test_a_rise_that_the_forecast_allows_stands_beside_every_answer():
    climbing = make_condition("rise", 5.6, kind=Kind.FORECAST)

    assert "may rise up to 6 cm an hour" in " ".join(advise(phase="fining_down", rise=climbing).why)


# one in three is the line; common practice, no source
@pytest.mark.parametrize(
    ("risen", "answer"),
    [(None, "yes"), (0.0, "yes"), (0.33, "yes"), (1 / 3, "not_known"), (1, "not_known")],
)
@pytest.mark.parametrize("phase", ["fining_down", "settled"])
def test_no_yes_stands_where_a_third_of_the_paths_are_up(risen, answer, phase):
    advice = advise(phase=phase, level_class="good", risen=risen)

    assert advice.worth_going == answer
    words = " ".join(advice.why)
    assert ("of the forecast's paths the river is on a first rise" in words) == (answer != "yes")


def test_paths_that_are_up_take_no_no_back():
    assert advise(phase="first_rise", risen=0.9).worth_going == "no"
    assert advise(water=21.0, risen=0.9).worth_going == "no"


@pytest.mark.parametrize(
    ("chances", "words"),
    [
        ((("fining_down", 0.7), ("peak", 0.3)), "fining down (forecast, likely, about 70 %)"),
        ((), "fining down (forecast, how likely is not known)"),
    ],
)
def test_a_phase_that_is_forecast_stands_with_its_share_of_paths(chances, words):
    phase = make_condition("phase", "fining_down", kind=Kind.FORECAST)

    advice = advise(phase=phase, level_class="good", phase_chances=chances)

    assert words in " ".join(advice.why)


def test_a_phase_that_the_paths_do_not_agree_on_says_so():
    split = (("settled", 0.4), ("fining_down", 0.35), ("first_rise", 0.25))

    advice = advise(phase=None, phase_chances=split)

    assert advice.worth_going == "not_known"
    assert "no phase has most of the forecast's paths" in " ".join(advice.why)


@pytest.mark.parametrize(
    ("missing", "words"),
    [
        ("level_class", "height of the river is not known"),
        ("phase", "rising, fining down or settled is not known"),
        ("water", "temperature is not known"),
    ],
)
def test_nothing_unknown_is_shown_as_yes(missing, words):
    advice = advise(**{missing: None})

    assert advice.worth_going == "not_known"
    assert words in " ".join(advice.why)
    assert advice.setup is not None


def test_what_is_known_against_it_is_said_even_where_the_rest_is_not_known():
    assert advise(phase="first_rise", water=None, level_class=None).worth_going == "no"


@pytest.mark.parametrize("regime", ["regulated", "tidal"])
def test_water_that_moves_without_rain_is_not_known_until_somebody_has_looked(regime):
    forecast = make_condition("level_class", "good", kind=Kind.FORECAST)
    seen = make_condition("level_class", "good", kind=Kind.OBSERVED)

    assert advise(regime=regime, level_class=forecast).worth_going == "not_known"
    assert advise(regime=regime, level_class=seen).worth_going == "yes"


def test_a_river_that_may_carry_ice_is_not_known_when_it_is_cold_enough():
    winter = {"day": date(2026, 2, 3), "may_ice": True, "level_class": "good"}
    cold = advise(**winter, water=1.0, water_two_days_ago=1.0)

    assert cold.worth_going == "not_known"
    assert advise(**winter, water=6.0, water_two_days_ago=6.0).worth_going == "yes"


@pytest.mark.parametrize("changes", [{}, {"water": 21.0}, {"water": None}, {"phase": "first_rise"}])
def test_every_answer_names_who_decides(changes):
    last = advise(box=FULL_BOX, **changes).why[-1]

    assert "fishery's own rules" in last
    assert "local regulations" in last
    assert "on the bank" in last
