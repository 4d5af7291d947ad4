import re
from xml.etree import ElementTree as Tree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefings.pack.drawings import draw_page
from briefings.pack.fly_drawing import fly_drawing
from briefings.pack.leader_drawing import leader_drawing
from tests.briefings.pack_examples import BLEAK, BOX, FINAL, SUNK

SVG = "{http://www.w3.org/2000/svg}"


def leader_of(content, **changes):
    setup = content.as_json()["setup"]
    return {**setup["leader"], **changes}, setup["flies"]


def straight_lines(chart):
    for path in Tree.fromstring(chart).iter(f"{SVG}path"):  # noqa: S314
        found = re.fullmatch(r"M([\d.-]+) ([\d.-]+) L([\d.-]+) ([\d.-]+)", path.get("d"))
        if found:
            yield (*map(float, found.groups()), float(path.get("stroke-width")))


def upright_ticks(chart):
    """Return the places of the measuring ticks, each once, from left to right."""
    return sorted({x0 for x0, _, x1, _, width in straight_lines(chart) if x0 == x1 and width < 1})


def words_in(chart):
    return [text.text for text in Tree.fromstring(chart).iter(f"{SVG}text")]  # noqa: S314


@pytest.mark.parametrize("width", [493.0, 352.0, 265.0])
def test_the_dropper_stands_two_thirds_along_a_twelve_foot_leader(width):
    # 8 ft of 12 ft
    line, dropper, point = upright_ticks(leader_drawing(*leader_of(FINAL), width=width))

    assert (dropper - line) / (point - line) == pytest.approx(2 / 3, abs=1e-4)


def test_tip_and_leader_share_one_scale():
    # 3 m of tip and 1.07 m of leader
    line, leader, point = upright_ticks(leader_drawing(*leader_of(SUNK), width=493))

    assert (leader - line) / (point - leader) == pytest.approx(3.0 / 1.07, rel=1e-3)


def test_lengths_are_said_in_the_readers_units():
    imperial = " ".join(words_in(leader_drawing(*leader_of(FINAL), width=493)))
    metric = " ".join(words_in(leader_drawing(*leader_of(SUNK), width=493)))

    assert "8 ft (2.44 m)" in imperial
    assert "4 ft (1.22 m)" in imperial
    assert "12 ft (3.66 m) of leader" in imperial
    assert "3.00 m (9 ft 10 in) of tip" in metric


@given(
    leader_m=st.floats(0.3, 8),
    share=st.one_of(st.none(), st.floats(0.05, 0.95)),
    tip_m=st.one_of(st.none(), st.floats(0.5, 6)),
    width=st.sampled_from([493.0, 352.0, 265.0]),
)
def test_any_leader_is_drawn_to_scale_inside_the_paper(leader_m, share, tip_m, width):
    dropper_m = None if share is None else share * leader_m
    picture, flies = leader_of(
        FINAL,
        leader_m=leader_m,
        tip_m=tip_m,
        tip_words="a sinking tip" if tip_m else "",
        dropper_from_line_m=dropper_m,
        sections=[
            ["butt", leader_m * 0.6, "butt"],
            ["tippet", leader_m * 0.4, "tippet"],
            ["dropper tag", 0.1, "tag"],
        ],
    )

    chart = leader_drawing(picture, flies, width=width)

    ticks = upright_ticks(chart)
    metres = (tip_m or 0) + leader_m
    scale = (ticks[-1] - ticks[0]) / metres
    known = [0.0, *([tip_m] if tip_m else []), metres]
    if dropper_m is not None:
        known.append((tip_m or 0) + dropper_m)
    for tick, metre in zip(ticks, sorted(known), strict=True):
        assert tick - ticks[0] == pytest.approx(metre * scale, abs=0.05)
    assert ticks[-1] < width


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"leader_m": 0}, "both have a length"),
        ({"tip_m": -1}, "both have a length"),
        ({"dropper_from_line_m": 9.0}, "dropper is at 9.0 m"),
    ],
)
def test_a_leader_that_cannot_be_is_refused(changes, says):
    with pytest.raises(ValueError, match=says):
        leader_drawing(*leader_of(FINAL, **changes), width=493)


@pytest.mark.parametrize("fly", [*BOX], ids=lambda fly: fly.pattern)
def test_a_fly_is_as_long_as_its_dressing_in_millimetres(fly):
    chart = fly_drawing({name: getattr(fly, name) for name in fly.__slots__})

    root = Tree.fromstring(chart)  # noqa: S314
    width = float(root.get("viewBox").split()[2])
    assert root.get("width") == f"{width:g}mm"  # one unit of the drawing is one millimetre
    level = [x1 - x0 for x0, y0, x1, y1, w in straight_lines(chart) if y0 == y1 and w == 0.25]
    assert level == [pytest.approx(fly.length_mm, abs=0.02)]
    # and the hairs reach from near the head to the very end, not beyond
    ends = [
        float(x)
        for path in root.iter(f"{SVG}path")
        for x in re.findall(r"L?([\d.-]+) [\d.-]+", path.get("d"))
    ]
    left = (width - fly.length_mm) / 2
    assert max(ends) == pytest.approx(left + fly.length_mm, abs=0.02)


def test_a_fuller_dressing_has_more_hairs_and_a_dark_body_is_filled():
    fly = {name: getattr(BOX[0], name) for name in BOX[0].__slots__}

    counts = [
        fly_drawing({**fly, "dressing": dressing}).count("<path")
        for dressing in ("sparse", "medium", "full")
    ]
    dark, light = (fly_drawing({**fly, "colours": [colour]}) for colour in ("black", "yellow"))

    assert counts == sorted(set(counts))
    assert 'Z" fill="currentColor"' in dark
    assert 'Z" fill="#fff"' in light


@pytest.mark.parametrize("length", [0, -3, 400])
def test_a_fly_without_a_credible_length_is_not_drawn(length):
    fly = {name: getattr(BOX[0], name) for name in BOX[0].__slots__}

    assert fly_drawing({**fly, "length_mm": length}) is None


def test_a_page_gets_the_river_and_the_leader_twice_and_a_bleak_one_gets_neither():
    rich, bleak = draw_page(FINAL.as_json()), draw_page(BLEAK.as_json())

    assert rich["river"] != rich["river_phone"]
    assert len(rich["setups"][0]["leaders"]) == 2
    assert (bleak["river"], bleak["river_phone"], bleak["setups"]) == (None, None, [])
