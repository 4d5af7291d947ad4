"""What people bring, are lent and buy, and what the guide packs."""

from dataclasses import replace
from datetime import date
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefings.kit.person import (
    FOOT_QUESTION,
    HAND_QUESTION,
    HEIGHT_QUESTION,
    Guest,
    LoanStock,
    for_guide,
    for_person,
)
from guiding.sun import light_on
from guiding.tackle.setup import Fly, LeaderSection, Line, SetUp, Tip
from tests.factories import make_conditions, make_light

GUEST = Guest(
    role="rod",
    foot_eu=43,
    height_m=1.80,
    hand="right",
    brings=(),
    is_junior=False,
    units="metric",
)


def item(kind, size="", *, foot=(None, None), height=(None, None), left=1):
    return LoanStock(
        kind=kind,
        size=size,
        smallest_foot_eu=foot[0],
        largest_foot_eu=foot[1],
        smallest_height_m=height[0],
        largest_height_m=height[1],
        left=left,
    )


STOCK = (
    item("waders", "medium", foot=(39, 42), height=(1.63, 1.78)),
    item("waders", "large", foot=(42, 45), height=(1.74, 1.88)),
    item("boots", "43", foot=(43, 43.9)),
    item("jacket", "large", height=(1.76, 2.05)),
    item("buoyancy", "large", height=(1.65, 2.05)),
    item("staff"),
    item("glasses"),
)


def text(lines):
    return "\n".join(lines)


def test_somebody_with_nothing_is_lent_everything_in_their_size():
    answer = for_person(GUEST, STOCK, make_conditions())

    assert answer.set_aside == (
        *(
            ("glasses", ""),
            ("waders", "large"),
            ("boots", "43"),
            ("staff", ""),
            ("jacket", "large"),
        ),
    )
    assert "Chest waders, size large" in answer.lent
    assert (answer.buy, answer.missing) == ((), ())


def test_what_they_have_is_brought_and_not_lent():
    own = replace(GUEST, brings=("breathable waders", "wading boots size 43", "polarised glasses"))
    answer = for_person(own, STOCK, make_conditions())

    assert answer.set_aside == (("staff", ""), ("jacket", "large"))
    assert "Chest waders: your own (breathable waders)" in answer.bring


@pytest.mark.parametrize(
    ("line", "lent"),
    [
        ("no waders", "waders"),
        ("waders: need to borrow", "waders"),
        ("wellington boots", "boots"),
        ("life jacket", "jacket"),
        ("waterproof trousers", "jacket"),
    ],
)
def test_words_that_only_sound_like_kit_are_not_kit(line, lent):
    answer = for_person(replace(GUEST, brings=(line,)), STOCK, make_conditions())

    assert lent in {kind for kind, _ in answer.set_aside}


def test_what_fits_nobody_here_has_to_be_bought():
    big = replace(GUEST, foot_eu=49, height_m=2.1)
    answer = for_person(big, STOCK, make_conditions())

    assert "Chest waders in your size (none of ours fits EU 49, 2.10 m (6 ft 11 in))" in answer.buy
    assert {kind for kind, _ in answer.set_aside} == {"glasses", "staff"}
    assert answer.missing == ()


def test_both_foot_and_height_must_fit_waders():
    narrow = replace(GUEST, foot_eu=40, height_m=1.85)
    answer = for_person(narrow, STOCK, make_conditions())

    assert "waders" not in {kind for kind, _ in answer.set_aside}
    assert "Chest waders" in text(answer.buy)


def test_what_is_out_already_is_not_lent_again():
    none_left = tuple(replace(thing, left=0) for thing in STOCK)
    answer = for_person(GUEST, none_left, make_conditions())

    assert answer.set_aside == ()
    assert text(answer.buy).count("we have none left to lend") == 5
    assert "Eye protection" in text(answer.buy)


@pytest.mark.parametrize(
    ("changes", "question"),
    [({"foot_eu": None}, FOOT_QUESTION), ({"height_m": None}, HEIGHT_QUESTION)],
)
def test_an_unknown_size_is_a_question_and_never_a_guess(changes, question):
    answer = for_person(replace(GUEST, **changes), STOCK, make_conditions())

    assert question in answer.missing
    assert "waders" not in {kind for kind, _ in answer.set_aside}
    assert "Chest waders" not in text(answer.buy)
    assert "Chest waders: lent or to buy once we know your size" in answer.bring


def test_no_question_is_asked_whose_answer_would_change_nothing():
    """No waders of ours fit EU 49 at any height, so only the jacket asks for the height."""
    big = replace(GUEST, foot_eu=49, height_m=None, brings=("jacket",))
    answer = for_person(big, STOCK, make_conditions())

    assert answer.missing == ()
    assert "Chest waders in your size (none of ours fits EU 49)" in answer.buy


def test_sized_kit_without_a_range_on_file_is_known_to_fit_nobody():
    stock = (item("waders", "large"), item("staff"))
    answer = for_person(GUEST, stock, make_conditions())

    assert answer.set_aside == (("staff", ""),)


def test_a_rod_without_a_hand_is_asked_and_a_watcher_is_not():
    left = replace(GUEST, hand="")

    assert HAND_QUESTION in for_person(left, STOCK, None).missing
    assert HAND_QUESTION not in for_person(replace(left, role="guest"), STOCK, None).missing


def test_a_guest_who_watches_needs_boots_and_hat_but_no_waders():
    answer = for_person(replace(GUEST, role="guest"), STOCK, make_conditions())

    everything = text((*answer.bring, *answer.lent, *answer.buy))
    assert {kind for kind, _ in answer.set_aside} == {"glasses", "jacket"}
    assert "Boots with a sole that grips wet rock" in everything
    assert "Hat with a brim" in everything


@pytest.mark.parametrize("changes", [{"is_junior": True}, {"is_nervous": True}])
@pytest.mark.parametrize("role", ["rod", "shares", "guest"])
def test_juniors_and_the_nervous_are_lent_a_buoyancy_aid(changes, role):
    answer = for_person(replace(GUEST, role=role, **changes), STOCK, make_conditions())

    assert ("buoyancy", "large") in answer.set_aside
    assert ("buoyancy", "large") not in for_person(GUEST, STOCK, None).set_aside


def test_no_buoyancy_aid_in_their_size_is_said():
    small = replace(GUEST, is_junior=True, height_m=1.20, foot_eu=35)

    assert "A buoyancy aid in your size; speak to us first" in text(
        for_person(small, STOCK, None).buy
    )


def test_the_day_decides_gloves_cream_and_lamp_and_an_unknown_day_brings_all():
    cold = text(for_person(GUEST, STOCK, make_conditions(air=5)).bring)
    warm = text(for_person(GUEST, STOCK, make_conditions(air=20)).bring)
    dark = text(for_person(GUEST, STOCK, make_conditions(air=15, part="night")).bring)
    early = text(for_person(GUEST, STOCK, None).bring)
    unknown = text(for_person(GUEST, STOCK, make_conditions(air=None)).bring)

    assert [w in cold for w in ("Gloves", "Sun cream", "Head lamp")] == [True, False, False]
    assert [w in warm for w in ("Gloves", "Sun cream", "Head lamp")] == [False, True, False]
    assert [w in dark for w in ("Gloves", "Sun cream", "Head lamp")] == [False, False, True]
    assert all(w in early for w in ("Gloves", "Sun cream", "Head lamp"))
    assert [w in unknown for w in ("Gloves", "Sun cream")] == [True, True]


# The sun at noon stands at 90 degrees less latitude plus declination (Meeus 1998, equation 13.6 at
# hour angle 0). Declinations of 21 March, 21 June, 20 November and 21 December, from memory:
# 0, 23.4, -19.7 and -23.4 degrees. Which height asks for what is common practice, no source.
@pytest.mark.parametrize(
    ("day", "latitude", "sun_deg", "gloves", "cream"),
    [
        (date(2026, 11, 20), 57.5, 12.8, True, False),
        (date(2026, 12, 21), 57.5, 9.1, True, False),
        (date(2026, 3, 21), 57.5, 32.5, True, True),
        (date(2026, 6, 21), 57.5, 55.9, False, True),
        (date(2026, 6, 21), -54.0, 12.6, True, False),  # the south has its winter then
        (date(2026, 12, 21), -54.0, 59.4, False, True),
    ],
)
def test_on_a_day_too_far_off_the_sun_of_the_season_decides_gloves_and_cream(
    day, latitude, sun_deg, gloves, cream
):
    noon = light_on(day, latitude, -4.5, ZoneInfo("UTC")).sun_at_noon_deg

    brought = text(for_person(GUEST, STOCK, None, noon_sun_deg=noon).bring)

    assert noon == pytest.approx(sun_deg, abs=0.5)
    assert ("Gloves and a warm hat" in brought) == gloves
    assert ("Sun cream" in brought) == cream
    assert ("Insect repellent" in brought) == cream
    assert "Hat with a brim" in brought
    assert "Head lamp" in brought


def test_a_high_sun_burns_on_a_cool_day_and_a_warm_day_asks_for_cream_under_a_low_one():
    def brought(air, noon):
        light = make_light(sun_at_noon_deg=noon)
        return text(for_person(GUEST, STOCK, make_conditions(air=air, light=light)).bring)

    assert "Sun cream" in brought(8, 50.0)
    assert "Gloves" in brought(8, 50.0)  # the air is known, and it is cold
    assert "Sun cream" in brought(20, 15.0)
    assert "Gloves" not in brought(20, 15.0)
    assert "Sun cream" not in brought(8, 15.0)
    assert "Insect repellent" not in brought(8, 50.0)


def test_a_day_that_ends_after_sunset_brings_a_lamp():
    conditions = make_conditions()
    late = replace(
        conditions,
        light=make_light(conditions.day, sunset_at=conditions.starts_at),
    )

    assert "Head lamp" in text(for_person(GUEST, STOCK, late).bring)


def test_somebody_who_does_not_come_has_no_kit():
    with pytest.raises(ValueError, match="role is 'payer'"):
        replace(GUEST, role="payer")


sizes = st.none() | st.floats(34, 50)
heights = st.none() | st.floats(1.2, 2.2)
guests = st.builds(
    Guest,
    role=st.sampled_from(["rod", "shares", "guest"]),
    foot_eu=sizes,
    height_m=heights,
    hand=st.sampled_from(["", "left", "right"]),
    brings=st.lists(st.sampled_from(["waders", "boots", "hat", "no glasses", "cap"])).map(tuple),
    is_junior=st.booleans(),
    is_nervous=st.booleans(),
    units=st.sampled_from(["metric", "imperial"]),
)
stocks = st.lists(
    st.builds(
        item,
        st.sampled_from(["waders", "boots", "jacket", "buoyancy", "staff", "glasses", "other"]),
        st.sampled_from(["", "a", "b"]),
        foot=st.tuples(sizes, sizes),
        height=st.tuples(heights, heights),
        left=st.integers(0, 2),
    )
).map(tuple)


@given(guests, stocks, st.booleans(), st.none() | st.floats(-90, 90))
def test_eye_protection_hat_and_belt_are_on_every_list(guest, stock, is_known, noon):
    conditions = make_conditions() if is_known else None
    answer = for_person(guest, stock, conditions, noon_sun_deg=noon)

    everything = text((*answer.bring, *answer.lent, *answer.buy)).lower()
    assert all(thing in everything for thing in ("eye protection", "hat with a brim", "belt"))
    assert "safe" not in everything
    left = {(thing.kind, thing.size) for thing in stock if thing.left > 0}
    assert set(answer.set_aside) <= left
    ours = sum("we bring them" in line for line in answer.lent)
    assert ours == guest.wades
    assert len(answer.set_aside) == len(answer.lent) - ours
    if guest.is_junior or guest.is_nervous:
        assert "buoyancy aid" in everything
    if guest.foot_eu is None:
        assert "boots" not in {kind for kind, _ in answer.set_aside}


@pytest.mark.parametrize(
    ("brings", "lent", "brought"),
    [
        ((), "Rod, reel, line, leader and flies: we bring them, ready to fish", None),
        (("no rod",), "Rod, reel, line, leader and flies: we bring them, ready to fish", None),
        (
            ("15 ft rod and reel",),
            "Line, leader and flies: we bring them",
            "Rod and reel: your own (15 ft rod and reel); we bring one for you as well",
        ),
    ],
)
def test_everybody_who_fishes_is_told_whose_rod_it_is(brings, lent, brought):
    answer = for_person(replace(GUEST, brings=brings), (), None)

    assert lent in answer.lent
    assert brought is None or brought in answer.bring


def test_whoever_only_watches_is_told_of_no_rod():
    answer = for_person(replace(GUEST, role="guest"), (), None)

    assert not any("rod" in line.lower() for line in (*answer.bring, *answer.lent))


# --- the guide's own list -------------------------------------------------------------------------

SHRIMP = Fly(pattern="ember shrimp", role="point", length_mm=19, hook_size=10, count=9)
GOLD = Fly(pattern="small black-and-gold", role="dropper", length_mm=14, hook_size=12, count=2)
SUMMER = SetUp(
    line=Line(name="floating line", kind="floating"),
    tip=None,
    leader=(
        LeaderSection(part="butt", length_m=2.4, diameter_mm=0.35, material="nylon"),
        LeaderSection(part="tippet", length_m=1.2, diameter_mm=0.25, material="nylon"),
        LeaderSection(part="dropper tag", length_m=0.1, diameter_mm=0.25, material="nylon"),
    ),
    point=SHRIMP,
    dropper=GOLD,
    dropper_from_line_m=2.4,
    hold_s=None,
    how="",
    knots=(),
)
DEEP = replace(
    SUMMER,
    tip=Tip(name="fast tip", length_m=3.0, sink_cm_s=15),
    leader=(LeaderSection(part="tippet", length_m=1.2, diameter_mm=0.30, material="nylon"),),
    dropper=None,
    dropper_from_line_m=None,
)


def test_tackle_is_counted_a_rod_with_spares():
    """Two rods and a spare; 3 leaders a rod: 2.4 x 6 = 14.4 m of butt, 1.3 x 6 = 7.8 m."""
    packed = for_guide((SUMMER,), rods=2)

    assert packed[:6] == (
        "3 rods with reels: 2 to fish, 1 spare",
        "3 x floating line: 2 to fish, 1 spare",
        "15 m of 0.35 mm nylon: 3 leaders a rod",
        "8 m of 0.25 mm nylon: 3 leaders a rod",
        "5 x ember shrimp, 19 mm, size 10",
        "5 x small black-and-gold, 14 mm, size 12: only 2 in the box",
    )


def test_a_set_up_used_twice_is_packed_once_and_another_adds_what_differs():
    once, twice = for_guide((SUMMER,), rods=2), for_guide((SUMMER, SUMMER), rods=2)
    both = for_guide((SUMMER, DEEP), rods=2)

    assert once == twice
    assert both.count("3 x floating line: 2 to fish, 1 spare") == 1
    assert "3 x fast tip: 2 to fish, 1 spare" in both
    assert "8 m of 0.30 mm nylon: 3 leaders a rod" in both


def test_more_rods_need_more():
    few, many = text(for_guide((SUMMER,), rods=1)), text(for_guide((SUMMER,), rods=4))

    assert "2 rods with reels: 1 to fish, 1 spare" in few
    assert "9 x ember shrimp" in many
    assert "29 m of 0.35 mm nylon" in many


def test_without_a_set_up_nothing_is_made_up():
    packed = text(for_guide((), rods=2))

    assert "No set-up is chosen yet" in packed
    assert "First-aid kit" in packed


def test_a_day_without_rods_still_packs_for_people():
    packed = for_guide((SUMMER,), rods=0)

    assert "First-aid kit, checked" in packed
    assert "rod" not in text(packed)


def test_a_day_has_no_fewer_than_no_rods():
    with pytest.raises(ValueError, match="rods is -1; a day has 0 rods or more"):
        for_guide((SUMMER,), rods=-1)


def test_no_gaff_and_no_tailer_is_packed():
    """Prohibited instruments in England and Wales: SFFA 1975 s.1, sources.md D14."""
    packed = text(for_guide((SUMMER, DEEP), rods=2)).lower()

    assert "gaff" not in packed
    assert "tailer" not in packed
