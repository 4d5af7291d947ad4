"""Each fact of the trade shows in the advice, tied to a reason.

Unless another source stands beside a test, every one of them is: common practice, no source.
"""

from datetime import date, timedelta
from itertools import pairwise

import pytest

from guiding.sources import Label
from guiding.units import FOOT_M
from tests.briefings.boxes import FULL_BOX, advise
from tests.factories import make_light

APRIL, JUNE, OCTOBER = date(2026, 4, 14), date(2026, 6, 24), date(2026, 10, 14)
AUTUMN = {
    "day": OCTOBER,
    "water": 9.0,
    "water_two_days_ago": 9.0,
    "air": 11.0,
    "level_class": "good",
    "phase": "fining_down",
}
COLD_SNAP = {**AUTUMN, "water": 5.0}
BIG_AND_DIRTY = {
    "level_class": "big",
    "visibility": 20.0,
    "colour": "dirty",
    "phase": "coloured_falling",
}


def reason_with(advice, words):
    found = [reason for reason in advice.reasons if words in reason.text]
    assert found, f"no reason says {words!r}: {[r.text for r in advice.reasons]}"
    return found[0]


# --- size, brightness, dressing -------------------------------------------------------------------


def test_the_bigger_and_dirtier_the_water_the_bigger_brighter_and_fuller_the_fly():
    # common practice, no source
    low, plain, big = (
        advise(level_class="low").setup.point,
        advise().setup.point,
        advise(**BIG_AND_DIRTY).setup.point,
    )

    assert low.length_mm < plain.length_mm < big.length_mm
    assert (low.dressing, plain.dressing, big.dressing) == ("sparse", "medium", "full")
    assert "orange" in big.colours
    assert "visibility 20 cm (given)" in reason_with(advise(**BIG_AND_DIRTY), "fuller").because


def test_low_clear_water_asks_for_a_longer_finer_leader_and_sizes_14_to_16():
    # common practice, no source
    plain, low = advise().setup, advise(level_class="low").setup

    assert low.point.hook_size in (14, 16)
    assert low.leader_m > plain.leader_m
    assert low.tippet_mm < plain.tippet_mm
    assert low.line.kind == "floating"


def test_in_low_clear_water_the_smaller_of_two_that_fit_is_taken():
    # common practice, no source: if in doubt, smaller still
    assert advise(level_class="low").setup.point.hook_size == 16


@pytest.mark.parametrize(("warmer", "cooler"), list(pairwise((17.5, 14.0, 10.5, 7.5, 4.0))))
def test_colder_water_never_asks_for_a_smaller_fly(warmer, cooler):
    # from sources F: the table by temperature (common practice, no source)
    def length(water):
        changes = {"level_class": "good", "water": water, "water_two_days_ago": water}
        return advise(**changes, air=water + 1).setup.point.length_mm

    assert length(cooler) >= length(warmer)


def test_a_falling_temperature_is_about_a_step_larger_and_says_who_says_so():
    # published source: the step rule for salmon flies, after Keachie
    level = {"level_class": "good", "water": 13.0}
    steady = advise(**level, water_two_days_ago=13.0)
    cooling = advise(**level, water_two_days_ago=15.0)

    assert cooling.setup.point.length_mm > steady.setup.point.length_mm
    reason = reason_with(cooling, "step larger")
    assert reason.source.label is Label.PUBLISHED
    assert "water down 2" in reason.because


# --- seasons --------------------------------------------------------------------------------------


def test_cold_big_water_in_spring_is_a_heavy_large_tube_fished_deep():
    # common practice, no source
    setup = advise(day=date(2026, 3, 3), level_class="big", water=5.0, water_two_days_ago=5.0).setup

    assert setup.point.is_tube
    assert setup.point.length_mm >= 50
    assert setup.point.weight_g >= 4
    assert setup.tip.name == "Type 7 tip 10 ft"
    assert "deep" in setup.how


def test_autumn_is_a_fast_tip_a_short_leader_and_a_fly_that_is_not_huge():
    # common practice, no source
    advice = advise(**AUTUMN)

    assert advice.setup.tip.name == "Type 7 tip 10 ft"
    assert advice.setup.leader_m < 2
    assert advice.setup.point.length_mm <= 45
    assert reason_with(advice, "not huge").because == "October"


def test_a_mild_october_at_summer_level_is_autumn_and_not_summer():
    # common practice, no source
    mild = {"day": OCTOBER, "water": 12.5, "water_two_days_ago": 12.5, "level_class": "summer"}

    assert advise(**mild).setup.tip.name == "Type 7 tip 10 ft"
    assert advise(**mild | {"day": JUNE}).setup.tip is None


def test_even_big_dirty_water_in_autumn_does_not_make_the_fly_huge():
    # common practice, no source
    point = advise(**AUTUMN | BIG_AND_DIRTY).setup.point

    assert point.length_mm <= 50
    assert point.length_mm > advise(**AUTUMN).setup.point.length_mm


def test_red_draws_in_the_back_end():
    # common practice, no source
    advice = advise(**AUTUMN, sky="bright")

    assert "red" in advice.setup.point.colours
    assert any(lost.rule.startswith("Bright or cloudy") for lost in advice.overruled)


# --- colour and sky -------------------------------------------------------------------------------


@pytest.mark.parametrize("sky", ["bright", "cloud"])
def test_black_and_yellow_gives_an_outline_against_the_sky(sky):
    # common practice, no source
    advice = advise(sky=sky)

    assert set(advice.setup.point.colours) == {"black", "yellow"}
    assert f"sky {sky} (given)" in reason_with(advice, "outline").because


def test_peat_water_that_one_sees_far_into_is_fished_by_the_sky():
    # common practice, no source: from a metre of visibility peat does not change the colours
    stained = advise(is_peaty=True, colour="tea-coloured", visibility=99.0)
    clear = advise(is_peaty=True, colour="tea-coloured", visibility=100.0)

    assert {"red", "orange"} & set(stained.setup.point.colours)
    assert set(clear.setup.point.colours) == {"black", "yellow"}


@pytest.mark.parametrize("day", [date(2026, 2, 20), APRIL, JUNE, OCTOBER])
def test_peat_stained_water_shows_red_and_orange_at_any_season(day):
    # common practice, no source
    advice = advise(day=day, is_peaty=True, colour="tea-coloured", visibility=None)

    assert {"red", "orange"} & set(advice.setup.point.colours)
    assert "tea-coloured" in reason_with(advice, "Peat-stained").because


# --- two flies on a summer leader -----------------------------------------------------------------


@pytest.mark.parametrize("water", [12.0, 14.0, 15.9])
def test_summer_level_is_a_floating_line_and_two_flies_on_twelve_feet(water):
    # common practice, no source: about 12 ft, the dropper about 8 ft from the line, sizes 10 to 12
    setup = advise(water=water, water_two_days_ago=water, level_class="summer").setup

    assert setup.line.kind == "floating"
    assert setup.tip is None
    assert setup.leader_m == pytest.approx(12 * FOOT_M, abs=0.005)
    assert setup.dropper_from_line_m == pytest.approx(8 * FOOT_M, abs=0.005)
    assert setup.leader_m - setup.dropper_from_line_m == pytest.approx(4 * FOOT_M, abs=0.005)
    assert setup.point.hook_size in (10, 12)
    assert setup.dropper is not None
    assert setup.dropper.pattern != setup.point.pattern


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"casting": "novice"}, "learning to cast"),
        ({"wind": 10.8}, "strong wind"),  # published source: Beaufort 6 begins at 10.8 m/s
        ({"part": "night"}, "at night"),
    ],
)
def test_there_is_no_dropper_by_default_where_two_flies_tangle(changes, words):
    # common practice, no source
    advice = advise(**changes)

    assert advise(wind=10.7, casting="used").setup.dropper is not None
    assert advice.setup.dropper is None
    assert advice.setup.dropper_from_line_m is None
    assert all(section.part != "dropper tag" for section in advice.setup.leader)
    assert reason_with(advice, words).text.startswith("Dropper")


def test_a_tube_on_a_fast_tip_carries_no_dropper_even_where_the_season_asks_for_one():
    # common practice, no source
    advice = advise(day=date(2026, 3, 3), level_class="big", water=5.0, water_two_days_ago=5.0)

    assert advice.setup.dropper is None
    assert reason_with(advice, "No dropper with a tube").because == "a tube, a fast tip"


def test_fluorocarbon_is_tied_direct_and_nylon_may_have_a_loop():
    # common practice, no source
    nylon = FULL_BOX
    fluorocarbon = type(nylon)(
        flies=nylon.flies,
        lines=nylon.lines,
        tips=nylon.tips,
        materials=tuple(
            type(m)(material="fluorocarbon", diameter_mm=m.diameter_mm) for m in nylon.materials
        ),
    )

    advice = advise(box=fluorocarbon)

    assert "no loop" in advice.setup.knots[-1]
    assert "loop" in advise(box=nylon).setup.knots[-1]
    assert reason_with(advice, "tie direct").because == "a fluorocarbon tippet"


# --- how it is fished -----------------------------------------------------------------------------


def test_a_cold_snap_in_autumn_is_one_small_fly_drawn_and_held_for_five_seconds():
    # common practice, no source
    advice = advise(**COLD_SNAP)

    assert advice.setup.hold_s == 5
    assert advice.setup.dropper is None
    assert advice.setup.point.length_mm <= 23
    assert not advice.setup.point.is_tube
    assert advice.setup.tip.name == "Type 7 tip 10 ft"
    assert advice.setup.leader_m < 2
    assert "hold" in advice.setup.how
    assert "red" in advice.setup.point.colours


@pytest.mark.parametrize("changes", [{}, {"level_class": "low"}, AUTUMN, BIG_AND_DIRTY, COLD_SNAP])
def test_the_fly_is_always_given_some_movement(changes):
    # common practice, no source
    advice = advise(**changes)

    assert "some movement" in advice.setup.how
    assert reason_with(advice, "some movement").because == "always"


@pytest.mark.parametrize(("water", "air"), [(7.0, 3.0), (14.0, 9.0)])
def test_air_colder_than_the_water_means_fish_that_lie_deep(water, air):
    # common practice, no source
    colder = advise(water=water, water_two_days_ago=water, air=air)
    warmer = advise(water=water, water_two_days_ago=water, air=water)

    assert "lie deep" in reason_with(colder, "Air colder").text
    assert not any("Air colder" in reason.text for reason in warmer.reasons)
    assert colder.setup.how != warmer.setup.how


def test_air_colder_than_a_cold_river_asks_for_a_faster_tip():
    # common practice, no source
    cold = {"water": 7.0, "water_two_days_ago": 7.0}

    colder, warmer = advise(**cold, air=3.0).setup, advise(**cold, air=9.0).setup

    assert colder.tip.sink_cm_s > (warmer.tip.sink_cm_s if warmer.tip else 0)


def test_a_pool_fished_without_response_is_worth_a_much_larger_fly_or_another_depth():
    # common practice, no source
    advice = advise()
    by_switch = {other.switch_when: other.setup for other in advice.alternatives}

    larger = by_switch["the pool was fished through without response: worth one pass"]
    deeper = by_switch["the pool was fished through twice without response: worth one more pass"]
    assert larger.point.length_mm >= 1.4 * advice.setup.point.length_mm
    assert deeper.tip is not None


@pytest.mark.parametrize(
    "words",
    [
        "Temperature and height decide first",
        "Carry few patterns",
        "After a pull",
        "has caught in like conditions",
    ],
)
def test_what_stands_on_any_day_is_said_on_any_day(words):
    # common practice, no source
    for changes in ({}, AUTUMN, BIG_AND_DIRTY):
        assert reason_with(advise(**changes), words).because == "always"


def test_two_people_are_told_to_fish_different_set_ups():
    # common practice, no source
    assert reason_with(advise(rods=2), "never the same fly").because == "2 rods"
    assert not any("Two people" in reason.text for reason in advise(rods=1).reasons)


# --- sea trout in the dark ------------------------------------------------------------------------


def test_sea_trout_after_full_dark_have_a_table_of_their_own():
    # common practice, no source
    advice = advise(fish="sea_trout", part="night", sky="dark")
    salmon = advise()
    later = {other.setup.line.kind: other for other in advice.alternatives}
    lures = [o for o in advice.alternatives if o.setup.point.is_surface_lure]

    assert advice.setup.line.kind == "floating"
    assert advice.setup.dropper is None
    assert advice.setup.tippet_mm > salmon.setup.tippet_mm
    assert "full dark" in advice.setup.how
    assert "later than civil dusk" in reason_with(advice, "wait for full dark").text
    assert "walked in daylight" in reason_with(advice, "wait for full dark").text
    assert "sinking" in later
    assert lures


def test_by_day_or_for_salmon_the_table_of_the_dark_does_not_hold():
    for changes in ({"fish": "sea_trout"}, {"fish": "salmon", "sky": "dark"}):
        assert not any("table of their own" in r.text for r in advise(**changes).reasons)


def test_between_civil_dusk_and_full_dark_it_is_night_but_not_dark():
    light = make_light()

    advice = advise(
        fish="sea_trout",
        part="evening",
        starts_at=light.civil_dusk_at,
        ends_at=light.full_dark_at,
    )

    assert advice.setup.dropper is None
    # these hours end before full dark: nobody is told to wait for what they never see
    assert "Wait for full dark" not in advice.setup.how
    assert not any("table of their own" in reason.text for reason in advice.reasons)


@pytest.mark.parametrize("part", ["evening", "night"])
@pytest.mark.parametrize(
    ("minutes", "is_told"), [(-20, False), (5, False), (29, False), (30, True)]
)
def test_nobody_waits_for_a_full_dark_of_which_the_hours_see_less_than_half_an_hour(
    part, minutes, is_told
):
    # common practice, no source
    light = make_light()

    advice = advise(
        fish="sea_trout",
        part=part,
        starts_at=light.civil_dusk_at,
        ends_at=light.full_dark_at + timedelta(minutes=minutes),
    )

    told = " ".join((advice.setup.how, *(reason.text for reason in advice.reasons)))
    assert ("ait for full dark" in told) == is_told
    assert "Full dark does not come" not in told
    # the table of the dark is that of a night which reaches into it
    assert ("table of their own" in told) == (is_told and part == "night")


def test_hours_that_begin_in_full_dark_count_from_their_own_beginning():
    # common practice, no source
    light = make_light()
    begins = light.full_dark_at + timedelta(hours=1)

    short, whole = (
        advise(
            fish="sea_trout", part="night", starts_at=begins, ends_at=begins + timedelta(minutes=m)
        )
        for m in (20, 120)
    )

    assert not any("table of their own" in reason.text for reason in short.reasons)
    assert any("table of their own" in reason.text for reason in whole.reasons)


def test_where_full_dark_never_comes_the_darkest_hours_stand_for_it():
    # common practice, no source
    light = make_light(full_dark_at=None)

    advice = advise(
        fish="sea_trout",
        part="night",
        starts_at=light.civil_dusk_at,
        ends_at=light.civil_dusk_at + timedelta(hours=4),
        light=light,
    )

    assert "Full dark does not come" in advice.setup.how
    assert "before the first cast" not in advice.setup.how
    table = reason_with(advice, "table of their own")
    assert "the darkest hours" in table.because


# --- the answer itself ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "changes", [{}, {"level_class": "low"}, AUTUMN, COLD_SNAP, BIG_AND_DIRTY, {"water": None}]
)
def test_every_set_up_has_its_reasons_and_a_next_best_that_differs(changes):
    advice = advise(**changes)
    parts = " ".join(reason.text.split(".")[0] for reason in advice.reasons).lower()

    for part in ("line and tip", "fly", "dressing", "leader", "tippet", "dropper", "movement"):
        assert part in parts
    assert all(reason.because for reason in advice.reasons)
    assert advice.alternatives
    for other in advice.alternatives:
        assert other.setup != advice.setup
        assert other.switch_when


def test_a_condition_is_shown_with_its_value_and_how_it_is_known():
    reason = reason_with(advise(), "Summer level at 12")

    assert reason.because == "June, level summer (given), water 14 °C (given)"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"fish": "pike"}, "fish is 'pike'"),
        ({"casting": "good"}, "casting is 'good'"),
        ({"rods": 0}, "rods is 0"),
    ],
)
def test_a_question_that_cannot_be_is_refused(changes, words):
    with pytest.raises(ValueError, match=words):
        advise(**changes)


def test_another_method_gets_no_set_up_and_is_told_why():
    advice = advise(method="spin")

    assert advice.setup is None
    assert "only the fly" in advice.why[0]


@pytest.mark.parametrize("level_class", ["summer", "good", "high", "big"])
@pytest.mark.parametrize(("water", "largest_mm"), [(10.0, 40), (12.0, 32), (14.0, 32), (17.0, 32)])
def test_warm_water_early_in_the_year_overrules_the_spring_habit(level_class, water, largest_mm):
    """The river as it is, temperature among it, comes before the calendar."""
    advice = advise(
        day=APRIL,
        water=water,
        water_two_days_ago=water,
        air=water + 1,
        level_class=level_class,
        phase="settled",
        visibility=150.0,
    )

    assert advice.setup.line.kind == "floating"
    assert advice.setup.tip is None or advice.setup.tip.sink_cm_s < 5
    assert not advice.setup.point.is_tube
    assert advice.setup.point.length_mm <= largest_mm
    assert "Spring habit" in [lost.rule for lost in advice.overruled]


@pytest.mark.parametrize("water", [9.0, 10.5, 11.9, 12.0, 15.9])
def test_from_nine_degrees_up_the_fly_is_on_a_hook(water):
    advice = advise(day=JUNE, water=water, water_two_days_ago=water, phase="settled")

    assert not advice.setup.point.is_tube


def test_the_fly_does_not_shrink_when_the_river_goes_over_its_bank():
    big, over = (
        advise(day=JUNE, level_class=level_class, phase="coloured_falling", visibility=20.0)
        for level_class in ("big", "over_bank")
    )

    assert over.worth_going == "no"
    if over.setup:
        assert over.setup.point.length_mm >= big.setup.point.length_mm


@pytest.mark.parametrize(
    "changes",
    [
        {"day": date(2026, 9, 14), "water": 3.0, "water_two_days_ago": 8.0},  # a cold snap
        {"day": date(2026, 10, 14), "water": 4.0, "water_two_days_ago": 4.0, "sky": "dark"},
        {"day": date(2026, 11, 14), "water": None, "water_two_days_ago": None, "sky": "dark"},
        {"day": date(2026, 3, 14), "water": 3.0, "water_two_days_ago": 8.0},
    ],
)
@pytest.mark.parametrize("level_class", ["low", "summer", "good", "high", "big", None])
def test_cold_and_dark_days_have_a_next_best_too(changes, level_class):
    advice = advise(level_class=level_class, **changes)

    assert advice.setup is not None
    assert advice.alternatives
    assert advice.alternatives[0].setup != advice.setup
