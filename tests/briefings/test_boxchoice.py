"""Chosen only from what is owned; where nothing fits, the nearest is taken and that is said."""

from dataclasses import asdict, replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefings.setups.boxchoice import steps_of_hook, steps_of_length
from briefings.setups.flyplan import lay_out
from guiding.gauges.conditions.values import Phase
from guiding.tackle.setup import Fly, Line, Material, TackleBox, Tip, setup_as_json
from tests.briefings.boxes import FULL_BOX, RULES, advise, make_fly
from tests.factories import make_conditions

LOW_CLEAR = {"level_class": "low"}


def lacking(advice):
    return " ".join(r.text for r in advice.reasons if r.because == "what the box holds")


def test_a_full_box_lacks_nothing_in_ordinary_water():
    for changes in ({}, LOW_CLEAR, {"level_class": "good"}):
        assert lacking(advise(**changes)) == ""


def test_the_nearest_fly_is_taken_and_the_box_is_said_to_lack_the_right_one():
    only = make_fly(hook_size=6, length_mm=28, dressing="full", colours=("blue",))

    advice = advise(box=replace(FULL_BOX, flies=(only,)), **LOW_CLEAR)

    assert advice.setup.point == only
    assert "no fly that is all that was asked for" in lacking(advice)
    assert "the nearest is Plain Dark" in lacking(advice)
    assert advice.setup.dropper is None
    assert "no dropper to go with" in lacking(advice)


def test_the_nearest_tip_is_taken_and_said():
    slow = tuple(tip for tip in FULL_BOX.tips if tip.name == "Type 3 tip 10 ft")

    advice = advise(
        box=replace(FULL_BOX, tips=slow, lines=FULL_BOX.lines[:1]),
        day=make_conditions().day.replace(month=10),
        level_class="good",
        water=8.0,
        water_two_days_ago=8.0,
    )

    assert advice.setup.tip == slow[0]
    assert "a fast tip" in lacking(advice)
    assert "the nearest is Floating head 38 g with Type 3 tip 10 ft" in lacking(advice)


def test_without_a_spool_the_diameter_is_not_known_and_is_said_so():
    advice = advise(box=replace(FULL_BOX, materials=()))

    assert advice.setup.tippet_mm is None
    assert advice.setup.leader_m == pytest.approx(3.66)
    assert "diameters are not known" in lacking(advice)


@pytest.mark.parametrize(
    ("box", "words"),
    [
        (TackleBox(), "The box has no fly"),
        (replace(FULL_BOX, lines=()), "The box has no line"),
    ],
)
def test_an_empty_box_gives_no_set_up_a_clear_why_and_the_rest_intact(box, words):
    advice = advise(box=box)

    assert advice.setup is None
    assert advice.worth_going == "yes"
    assert any(words in line for line in advice.why)
    assert advice.alternatives == ()
    assert advice.reasons


def test_a_surface_lure_is_never_taken_by_day():
    lure_and_large = (
        make_fly(is_surface_lure=True, hook_size=10),
        make_fly(hook_size=4, length_mm=35),
    )

    assert not advise(box=replace(FULL_BOX, flies=lure_and_large)).setup.point.is_surface_lure


def test_one_hook_size_is_one_step_and_so_is_a_fifth_in_length():
    # common practice, no source
    assert steps_of_hook(10) == 0
    assert steps_of_hook(8) == 1
    assert steps_of_length(19 * 1.2) == pytest.approx(1)


# --- laws -----------------------------------------------------------------------------------------

CLASSES = ["low", "summer", "good", "high", "big", "over_bank"]
COLOURS = ["black", "yellow", "red", "orange", "silver", "hot orange"]
flies = st.builds(
    Fly,
    pattern=st.sampled_from(["A", "B", "C", "D"]),
    role=st.sampled_from(["point", "dropper"]),
    length_mm=st.integers(5, 150),
    hook_size=st.none() | st.integers(1, 24),
    is_tube=st.booleans(),
    weight_g=st.none() | st.floats(0, 20),
    dressing=st.sampled_from(["full", "medium", "sparse"]),
    colours=st.lists(st.sampled_from(COLOURS), max_size=3).map(tuple),
    is_surface_lure=st.booleans(),
)
lines = st.builds(
    Line,
    name=st.sampled_from(["One", "Two"]),
    kind=st.sampled_from(["floating", "intermediate", "sinking"]),
    takes_tips=st.booleans(),
)
tips = st.builds(
    Tip,
    name=st.sampled_from(["Tip", "Other tip"]),
    length_m=st.floats(0.5, 10),
    sink_cm_s=st.floats(0, 30),
    is_sinking_leader=st.booleans(),
)
materials = st.builds(
    Material,
    material=st.sampled_from(["nylon", "fluorocarbon"]),
    diameter_mm=st.floats(0.08, 0.8),
)
boxes = st.builds(
    TackleBox,
    flies=st.lists(flies, max_size=8).map(tuple),
    lines=st.lists(lines, max_size=3).map(tuple),
    tips=st.lists(tips, max_size=3).map(tuple),
    materials=st.lists(materials, max_size=4).map(tuple),
)


def maybe(strategy):
    return st.none() | strategy


any_conditions = st.fixed_dictionaries(
    {
        "day": st.dates(min_value=date(2020, 1, 1), max_value=date(2040, 12, 31)),
        "part": st.sampled_from(["morning", "afternoon", "evening", "night"]),
        "regime": st.sampled_from(["natural", "regulated", "tidal"]),
        "is_peaty": st.booleans(),
        "may_ice": st.booleans(),
        "level": maybe(st.floats(-1, 20)),
        "level_class": maybe(st.sampled_from(CLASSES)),
        "phase": maybe(st.sampled_from([str(phase) for phase in Phase])),
        "rise": maybe(st.floats(-100, 200)),
        "water": maybe(st.floats(-0.5, 35)),
        "water_two_days_ago": maybe(st.floats(-0.5, 35)),
        "visibility": maybe(st.floats(0, 1000)),
        "colour": maybe(st.sampled_from(["clear", "tea-coloured", "coloured", "dirty"])),
        "air": maybe(st.floats(-40, 45)),
        "wind": maybe(st.floats(0, 60)),
        "sky": maybe(st.sampled_from(["bright", "cloud", "dark"])),
    }
)


@given(
    box=boxes,
    changes=any_conditions,
    fish=st.sampled_from(["salmon", "sea_trout"]),
    casting=st.sampled_from([None, "novice", "used", "strong"]),
    rods=st.integers(1, 6),
    rules=st.sampled_from([RULES, (), RULES[::2]]),
)
def test_any_river_and_any_box_give_an_honest_answer(box, changes, fish, casting, rods, rules):
    advice = advise(box=box, rules=rules, fish=fish, casting=casting, rods=rods, **changes)
    day = lay_out(make_conditions(**changes), box, advice, rods=rods)

    assert advice.worth_going in ("yes", "no", "not_known")
    assert advice.why
    if None in (changes["level_class"], changes["phase"], changes["water"]):
        assert advice.worth_going != "yes"
    if changes["water"] is not None and changes["water"] >= 20:
        assert (advice.worth_going, advice.setup) == ("no", None)
    for setup in [advice.setup, *(other.setup for other in advice.alternatives)]:
        if setup is not None:
            check_set_up(setup, box)
    assert {*day.points, *day.droppers} <= set(box.flies)
    owned_points = {fly for fly in box.flies if fly.role == "point"}
    starts = [point for point, _ in day.starts]
    assert len(set(starts)) >= min(len(starts), len(owned_points))
    assert "safe" not in str([asdict(advice), asdict(day)]).lower()


def check_set_up(setup, box):
    assert {setup.point, *([setup.dropper] if setup.dropper else [])} <= set(box.flies)
    assert setup.line in box.lines
    assert setup.tip is None or setup.tip in box.tips
    assert setup.dropper is None or setup.dropper.role == "dropper"
    spools = {m.diameter_mm for m in box.materials}
    assert {s.diameter_mm for s in setup.leader} <= spools | {None}
    above = []
    for section in setup.leader:
        if section.part == "dropper tag":
            break
        above.append(section.length_m)
    if setup.dropper_from_line_m is not None:
        assert sum(above) == pytest.approx(setup.dropper_from_line_m, abs=1e-9)
    assert (setup.dropper is None) == (setup.dropper_from_line_m is None)
    said = setup_as_json(setup)
    whole = sum(s["length_m"] for s in said["leader"] if s["part"] != "dropper tag")
    assert whole == pytest.approx(said["leader_m"], abs=1e-6)
