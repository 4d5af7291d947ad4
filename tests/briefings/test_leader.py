"""The leader as sections from owned spools, to the millimetre."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefings.setups.leader import LeaderWanted, knots_for, make_up
from guiding.tackle.setup import Material, Tip
from tests.briefings.boxes import FULL_BOX

SINKING_LEADER = Tip(name="Sinking leader", length_m=3.05, sink_cm_s=4, is_sinking_leader=True)
FAST_TIP = Tip(name="Fast tip", length_m=3.0, sink_cm_s=17)


def wanted(**changes):
    fields = {
        "leader_m": 3.66,
        "tippet_mm": 0.25,
        "material": "nylon",
        "dropper_from_line_m": 2.44,
    }
    return LeaderWanted(**{**fields, **changes})


def length(sections):
    return sum(s.length_m for s in sections if s.part != "dropper tag")


def test_a_dropper_at_eight_feet_on_twelve_is_two_thirds_of_the_way():
    leader = make_up(wanted(), None, FULL_BOX.materials)

    parts = [section.part for section in leader.sections]
    assert parts == ["butt", "tippet", "dropper tag", "tippet"]
    assert length(leader.sections[:2]) == pytest.approx(2.44, abs=1e-9)
    assert length(leader.sections) == pytest.approx(3.66, abs=1e-9)
    assert leader.dropper_from_line_m / length(leader.sections) == pytest.approx(2 / 3, abs=1e-9)


def test_diameters_come_from_owned_spools_and_fall_towards_the_point():
    leader = make_up(wanted(), None, FULL_BOX.materials)

    thick = [s.diameter_mm for s in leader.sections if s.part != "dropper tag"]
    assert thick == sorted(thick, reverse=True)
    assert set(thick) <= {m.diameter_mm for m in FULL_BOX.materials}
    assert thick[-1] == 0.25


def test_a_sinking_leader_is_a_section_and_leaves_a_tippet_behind_it():
    leader = make_up(wanted(leader_m=3.2, dropper_from_line_m=None), SINKING_LEADER, ())

    assert [(s.part, s.length_m) for s in leader.sections] == [
        ("sinking leader", 3.05),
        ("tippet", 0.9),
    ]


def test_a_sinking_tip_is_part_of_the_line_and_not_of_the_leader():
    leader = make_up(wanted(leader_m=1.2, dropper_from_line_m=None), FAST_TIP, ())

    assert [(s.part, s.length_m, s.diameter_mm) for s in leader.sections] == [("tippet", 1.2, None)]


def test_the_other_material_is_taken_only_where_it_is_clearly_nearer():
    spools = (
        Material(material="fluorocarbon", diameter_mm=0.25),
        Material(material="nylon", diameter_mm=0.26),
        Material(material="fluorocarbon", diameter_mm=0.33),
    )

    assert make_up(wanted(), None, spools).tippet == spools[1]
    assert make_up(wanted(material="fluorocarbon"), None, spools).tippet == spools[0]
    assert make_up(wanted(tippet_mm=0.33), None, spools).tippet == spools[2]


def test_knots_are_named_from_the_line_to_the_fly():
    knots = knots_for(make_up(wanted(), None, FULL_BOX.materials), "tucked half blood knot")

    assert [knot.split(" ")[0] for knot in knots] == [
        "loop",
        "double",
        "four-turn",
        "tucked",
        "tucked",
    ]
    assert knots[-1].endswith("point fly")


@given(
    leader_m=st.floats(0.6, 8),
    dropper_m=st.none() | st.floats(0.3, 7.5),
    tip=st.sampled_from([None, SINKING_LEADER, FAST_TIP]),
    tippet_mm=st.floats(0.08, 0.8),
    spools=st.lists(
        st.builds(
            Material,
            material=st.sampled_from(["nylon", "fluorocarbon"]),
            diameter_mm=st.floats(0.08, 0.8),
        ),
        max_size=4,
    ),
)
def test_whatever_is_asked_the_sections_add_up(leader_m, dropper_m, tip, tippet_mm, spools):
    leader = make_up(
        wanted(leader_m=leader_m, dropper_from_line_m=dropper_m, tippet_mm=tippet_mm),
        tip,
        tuple(spools),
    )

    total = length(leader.sections)
    parts = [section.part for section in leader.sections]
    assert all(section.length_m > 0 for section in leader.sections)
    assert parts[-1] == "tippet"
    assert parts.count("dropper tag") == (dropper_m is not None)
    if tip is not SINKING_LEADER:
        assert total == pytest.approx(leader_m, abs=0.0006)
    if dropper_m is not None:
        above = leader.sections[: parts.index("dropper tag")]
        assert length(above) == pytest.approx(leader.dropper_from_line_m, abs=1e-9)
        assert 0 < leader.dropper_from_line_m < total
