"""What must hold for any water, person and circumstances."""

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import assume, given
from hypothesis import strategies as st

from briefings.wading.judge import Circumstances, Sounding, Wader, judge, judge_pool

TODAY = date(2026, 5, 20)
CLIENT_TEXTS = {"bank only", "to the knee, with your guide", "your guide decides at the water"}

depths = st.floats(0.01, 4)
speeds = st.floats(0, 4)
maybe = st.none() | st.booleans()
waders = st.builds(
    Wader,
    height_m=st.none() | st.floats(0.5, 2.3),
    mass_kg=st.none() | st.floats(10, 250),
    age=st.none() | st.integers(0, 100),
    is_frail=st.booleans(),
    is_nervous=st.booleans(),
    confidence=st.sampled_from([None, "novice", "used", "strong"]),
)
circumstances = st.builds(
    Circumstances,
    rise_cm_h=st.none() | st.floats(-20, 20),
    rise_is_flagged=maybe,
    is_coloured=maybe,
    visibility_cm=st.none() | st.floats(0, 1000),
    has_ice=maybe,
    is_night=maybe,
    was_walked_today=maybe,
    regime=st.sampled_from(["natural", "natural", "natural", "regulated", "tidal"]),
)
# calm water and able people, so that the laws meet both answers and not only stops
able = st.builds(
    Wader,
    height_m=st.floats(1.5, 2.1),
    mass_kg=st.floats(50, 120),
    age=st.integers(16, 80),
    confidence=st.sampled_from(["novice", "used", "strong"]),
)
calm = st.builds(
    Circumstances,
    rise_cm_h=st.floats(-3, 3),
    rise_is_flagged=st.just(False),
    is_coloured=st.booleans(),
    visibility_cm=st.floats(20, 300),
    has_ice=st.just(False),
    is_night=st.just(False),
)
soundings = st.builds(
    Sounding,
    level_m=st.floats(-0.5, 2),
    depth_m=st.floats(0.1, 1.5),
    speed_ms=st.floats(0, 1.5),
    spot=st.sampled_from(["head", "tail"]),
    measured_on=st.dates(TODAY - timedelta(days=400), TODAY),
)
pools = st.lists(soundings, min_size=1, max_size=4).map(tuple)


def at(measured, level_m, wader, around, *, ratio=1.0):
    return judge_pool(
        soundings=measured,
        level_m=level_m,
        ratio=ratio,
        over_bank_since=None,
        today=TODAY,
        wader=wader,
        circumstances=around,
    )


@given(depths, speeds, st.floats(0, 1), st.floats(0, 1), waders | able, circumstances | calm)
def test_deeper_or_faster_never_turns_a_stop_into_no_stop(d, v, deeper, faster, wader, around):
    here = judge(depth_m=d, speed_ms=v, wader=wader, circumstances=around)
    there = judge(depth_m=d + deeper, speed_ms=v + faster, wader=wader, circumstances=around)

    if there.verdict == "no_stop_found":
        assert here.verdict == "no_stop_found"
    if here.verdict == "stop":
        assert there.verdict == "stop"


@given(depths, speeds, waders, circumstances | calm, st.booleans())
def test_no_answer_promises_anything(d, v, wader, around, omitted):
    answer = judge(
        depth_m=d, speed_ms=v, wader=wader, circumstances=around, omitted_is_absent=omitted
    )

    assert "safe" not in f"{answer.text} {answer.client_text}".lower()
    assert answer.client_text in CLIENT_TEXTS
    assert (answer.client_text == "bank only") is (answer.verdict != "no_stop_found")
    names = [criterion.name for criterion in answer.criteria]
    assert len(names) == len(set(names))
    if wader.height_m is None:
        assert answer.verdict != "no_stop_found"
    if wader.is_frail:
        assert answer.verdict == "stop"


@given(depths, speeds, waders | able, circumstances | calm)
def test_the_decider_has_the_largest_share_of_its_limit(d, v, wader, around):
    answer = judge(depth_m=d, speed_ms=v, wader=wader, circumstances=around)

    shares = {c.name: c.share for c in answer.criteria if c.decides and c.share is not None}
    assert shares[answer.decider] == max(shares.values())


@given(depths, speeds, able, calm, st.sampled_from(["has_ice", "is_night", "rise_cm_h"]))
def test_knowing_less_never_clears(d, v, wader, around, forgotten):
    known = judge(depth_m=d, speed_ms=v, wader=wader, circumstances=around)
    less = judge(
        depth_m=d, speed_ms=v, wader=wader, circumstances=replace(around, **{forgotten: None})
    )

    assert less.verdict != "no_stop_found"
    if known.verdict == "stop":
        assert less.verdict == "stop"


@given(pools, st.floats(0.3, 2), st.floats(-1, 4), able, calm)
def test_at_or_above_the_stop_level_no_pool_is_without_a_stop(measured, ratio, level, who, around):
    answer = at(measured, level, who, around, ratio=ratio)

    assert answer.stop_level_m is not None
    if level >= answer.stop_level_m:
        assert answer.verdict != "no_stop_found"
    at_it = at(measured, min(max(answer.stop_level_m, -1), 20), who, around, ratio=ratio)
    assert at_it.verdict != "no_stop_found"
    assert at_it.stop_level_m == answer.stop_level_m


@given(pools, able, calm, st.floats(1e-6, 0.5))
def test_below_the_stop_level_depth_and_speed_do_not_stop(measured, who, around, below):
    stop_m = at(measured, 0.0, who, around).stop_level_m
    assume(-1 <= stop_m - below <= 20)

    answer = at(measured, stop_m - below, who, around)

    assert answer.verdict in ("no_stop_found", "not_known")


@given(pools, able, calm, st.data())
def test_a_weaker_person_never_has_a_higher_stop_level(measured, wader, around, data):
    order = ["novice", "used", "strong"]
    weaker = Wader(
        height_m=wader.height_m - data.draw(st.floats(0, 0.5)),
        mass_kg=wader.mass_kg - data.draw(st.floats(0, 40)),
        age=data.draw(st.sampled_from([wader.age, 10])),
        is_nervous=data.draw(st.booleans()),
        confidence=data.draw(st.sampled_from([None, *order[: order.index(wader.confidence) + 1]])),
    )

    strong = at(measured, 0.0, wader, around).stop_level_m
    weak = at(measured, 0.0, weaker, around).stop_level_m

    if weak is not None:
        assert weak <= strong + 1e-6


@given(pools, st.floats(-1, 4), able, calm)
def test_the_order_of_soundings_does_not_matter(measured, level, who, around):
    one, other = (at(order, level, who, around) for order in (measured, measured[::-1]))

    assert (one.verdict, one.stop_level_m) == (other.verdict, other.stop_level_m)
