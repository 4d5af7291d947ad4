"""One depth and one speed against every criterion."""

from dataclasses import replace

import pytest

from briefings.wading import judge as wading
from briefings.wading.criteria import RULE_OF_TEN_M2S, limits_for, verdict_of
from briefings.wading.hazard import aidr_class, arr_adult_class, hazard_rating
from briefings.wading.judge import Circumstances, Wader, judge
from guiding.sources import Label

# 1.80 m x 80 kg = 144 m kg: an adult in AR&R's table
FIT = Wader(height_m=1.80, mass_kg=80, age=40, confidence="used")
STRONG = Wader(height_m=1.90, mass_kg=90, age=40, confidence="strong")
# 1.60 m x 25 kg = 40 m kg: the light column
LIGHT = Wader(height_m=1.60, mass_kg=25, age=40, confidence="used")
CALM = Circumstances(
    rise_cm_h=0,
    rise_is_flagged=False,
    is_coloured=False,
    visibility_cm=200,
    has_ice=False,
    is_night=False,
    was_walked_today=True,
)


def named(answer, name):
    [criterion] = [c for c in answer.criteria if c.name == name]
    return criterion


def deciding_over(answer):
    return [c.name for c in answer.criteria if c.decides and c.verdict in ("over", "at_limit")]


# sources.md A3 (derived from the formulas A1, A10 to A14): depth, speed, product, ft2/s, rating
# with the pasture debris factor, AIDR class, AR&R for an adult
WORKED = [
    (0.30, 0.50, 0.150, 1.61, 0.30, "H1", "low"),
    (0.50, 0.80, 0.400, 4.31, 0.65, "H2", "low"),
    (0.60, 0.60, 0.360, 3.88, 0.66, "H3", "low"),
    (0.70, 1.00, 0.700, 7.53, 1.05, "H4", "moderate"),
    (0.80, 1.00, 0.800, 8.61, 1.70, "H4", "moderate"),
    (0.90, 1.00, 0.900, 9.69, 1.85, "H4", "significant"),
    (1.00, 1.00, 1.000, 10.76, 2.00, "H4", "significant"),
]


@pytest.mark.parametrize(("depth", "speed", "product", "feet2", "rating", "aidr", "arr"), WORKED)
def test_the_worked_table_comes_out(depth, speed, product, feet2, rating, aidr, arr):
    answer = judge(depth_m=depth, speed_ms=speed, wader=FIT, circumstances=CALM)

    ten = named(answer, "rule of ten")
    assert ten.value == pytest.approx(product)
    assert ten.value / RULE_OF_TEN_M2S * 10 == pytest.approx(feet2, abs=0.005)
    assert (ten.verdict == "under") is (feet2 < 10)
    assert named(answer, "flood hazard rating").value == pytest.approx(rating)
    assert hazard_rating(depth, speed) == pytest.approx(rating)
    assert aidr_class(depth, speed) == aidr
    assert arr_adult_class(depth, speed) == arr
    assert (answer.verdict == "stop") is (aidr >= "H4")


def test_the_rule_of_ten_is_ten_square_feet_a_second():
    assert pytest.approx(0.9290304, abs=1e-12) == RULE_OF_TEN_M2S


def test_where_the_rule_of_ten_passes_but_aidr_does_not_aidr_decides():
    """sources.md A3, the design point: d = 0.9 m, v = 1.0 m/s."""
    answer = judge(depth_m=0.9, speed_ms=1.0, wader=STRONG, circumstances=CALM)

    assert named(answer, "rule of ten").verdict == "under"
    assert answer.verdict == "stop"
    assert answer.decider == "AIDR class H4 or above, depth x speed"
    assert answer.client_text == "bank only"


@pytest.mark.parametrize(
    ("depth", "speed", "rating"),
    [(0.75, 1.0, 1.125), (0.7501, 1.0, 1.62515), (0.2, 2.0, 0.5), (0.2, 2.1, 1.02)],
)
def test_debris_counts_above_075_m_or_above_2_ms(depth, speed, rating):
    """FD2321 Table 3.1, pasture; d (v + 0.5) + DF by hand."""
    assert hazard_rating(depth, speed) == pytest.approx(rating)


@pytest.mark.parametrize(
    ("depth", "speed", "name"),
    [(0.1, 2.5, "H5"), (1.3, 0.1, "H4"), (2.1, 0.1, "H5"), (0.1, 4.5, "H6"), (1.2, 0.5, "H3")],
)
def test_aidr_holds_depth_and_speed_apart_from_their_product(depth, speed, name):
    assert aidr_class(depth, speed) == name


@pytest.mark.parametrize(
    ("depth", "speed", "word"),
    [(0.4, 3.0, "significant"), (0.1, 3.1, "extreme"), (1.3, 0.1, "extreme"), (1.2, 0.5, "low")],
)
def test_arr_for_an_adult_ends_at_its_footnotes(depth, speed, word):
    assert arr_adult_class(depth, speed) == word


def test_a_fit_adult_at_an_ordinary_depth_has_no_listed_stop():
    answer = judge(depth_m=0.60, speed_ms=0.60, wader=FIT, circumstances=CALM)

    assert answer.verdict == "no_stop_found"
    assert answer.text == "no listed stop found; not checked at the water"
    assert answer.client_text == "your guide decides at the water"
    # 0.60/1.80/0.42 = 0.794 is more of its limit than 0.36/0.6 = 0.6
    assert answer.decider == "depth as a share of body height"
    assert answer.unchecked == ()


# --- each criterion alone -------------------------------------------------------------------------

ALONE = [
    ("AIDR class H4 or above, speed", 0.20, 2.01, FIT, {}),
    ("depth as a share of body height", 0.76, 0.20, FIT, {}),
    ("AR&R light or young (height x mass 25 to 50), depth x speed", 0.41, 1.0, LIGHT, {}),
    (
        "AR&R light or young (height x mass 25 to 50), depth",
        *(0.51, 0.10, replace(LIGHT, height_m=2.0, mass_kg=20), {}),
    ),
    (
        "AR&R frail, or height x mass 25 or under",
        *(0.05, 0.05, replace(FIT, is_frail=True), {}),
    ),
    (
        "AR&R frail, or height x mass 25 or under",
        *(0.05, 0.05, Wader(height_m=1.25, mass_kg=20, age=8), {}),
    ),
    ("flood hazard rating", 0.90, 0.60, STRONG, {"rise_cm_h": 0.1}),
    ("flood hazard rating", 0.90, 0.60, STRONG, {"is_coloured": True}),
    ("rise", 0.30, 0.30, FIT, {"rise_cm_h": 5.1}),
    ("flagged rise", 0.30, 0.30, FIT, {"rise_is_flagged": True}),
    (
        "depth against visibility",
        0.30,
        0.30,
        replace(FIT, confidence="novice"),
        {"visibility_cm": 29},
    ),
    ("depth against visibility", 0.30, 0.30, replace(FIT, confidence=None), {"visibility_cm": 29}),
    ("depth against visibility", 0.30, 0.30, replace(FIT, is_nervous=True), {"visibility_cm": 0}),
    ("depth against visibility", 0.30, 0.30, replace(FIT, age=15), {"visibility_cm": 29}),
    ("ice", 0.30, 0.30, FIT, {"has_ice": True}),
    (
        "night in a pool not walked that day",
        *(0.30, 0.30, FIT, {"is_night": True, "was_walked_today": False}),
    ),
    ("regulated or tidal water", 0.30, 0.30, FIT, {"regime": "regulated"}),
    ("regulated or tidal water", 0.30, 0.30, FIT, {"regime": "tidal"}),
]


@pytest.mark.parametrize(("name", "depth", "speed", "wader", "changes"), ALONE)
def test_a_criterion_stops_when_no_other_does(name, depth, speed, wader, changes):
    answer = judge(
        depth_m=depth, speed_ms=speed, wader=wader, circumstances=replace(CALM, **changes)
    )

    assert deciding_over(answer) == [name]
    assert answer.decider == name
    assert answer.verdict == "stop"
    assert answer.client_text == "bank only"
    assert name in answer.text


KEPT = [
    # criteria that a stricter one always joins: kept by themselves they still stop
    (FIT, "AIDR class H4 or above, depth x speed", (0.6, 1.01), (0.6, 1.0), (0.6, 0.99)),
    (FIT, "AIDR class H4 or above, depth", (1.201, 0.1), (1.2, 0.1), (1.199, 0.1)),
    (FIT, "AIDR class H4 or above, speed", (0.1, 2.01), (0.1, 2.0), (0.1, 1.99)),
    (FIT, "rule of ten", (1.0, 0.93), (1.0, 0.9290304), (1.0, 0.929)),
    (FIT, "depth as a share of body height", (0.757, 0.1), (0.756, 0.1), (0.755, 0.1)),
    (FIT, "AR&R adult, depth x speed", (0.5, 1.21), (0.5, 1.2), (0.5, 1.19)),
    (FIT, "AR&R adult, depth", (1.21, 0.1), (1.2, 0.1), (1.19, 0.1)),
    (FIT, "AR&R adult, speed", (0.1, 3.01), (0.1, 3.0), (0.1, 2.99)),
    (
        LIGHT,
        "AR&R light or young (height x mass 25 to 50), depth x speed",
        *((0.4, 1.01), (0.4, 1.0), (0.4, 0.99)),
    ),
    (
        LIGHT,
        "AR&R light or young (height x mass 25 to 50), depth",
        *((0.501, 0.1), (0.5, 0.1), (0.499, 0.1)),
    ),
    (
        LIGHT,
        "AR&R light or young (height x mass 25 to 50), speed",
        *((0.1, 3.01), (0.1, 3.0), (0.1, 2.99)),
    ),
]


@pytest.mark.parametrize(("wader", "name", "over", "at", "under"), KEPT)
def test_a_criterion_left_alone_still_stops(monkeypatch, wader, name, over, at, under):
    def only_this(*args, **kwargs):
        return tuple(limit for limit in limits_for(*args, **kwargs) if limit.name == name)

    monkeypatch.setattr(wading, "limits_for", only_this)

    for (depth, speed), verdict in ((over, "stop"), (at, "at_limit"), (under, "no_stop_found")):
        answer = judge(depth_m=depth, speed_ms=speed, wader=wader, circumstances=CALM)
        assert (answer.verdict, answer.decider) == (verdict, name)


def test_every_deciding_criterion_has_a_case_of_its_own():
    tested = {row[0] for row in ALONE} | {row[1] for row in KEPT}
    in_spate = replace(CALM, is_coloured=True)
    known = {
        limit.name
        for wader in (FIT, LIGHT, Wader())
        for limit in limits_for(wader, in_spate, omitted_is_absent=False)
        if limit.decides
    }

    assert known == tested


# --- who is who -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "share"),
    [
        ({"confidence": "novice"}, 0.27),
        ({"confidence": None}, 0.27),
        ({"confidence": "used"}, 0.42),
        ({"confidence": "strong"}, 0.50),
        ({"confidence": "strong", "is_nervous": True}, 0.27),
        ({"confidence": "strong", "age": 15}, 0.27),
        ({"confidence": "strong", "age": 16}, 0.50),
        ({"confidence": "strong", "age": None}, 0.27),
        ({"confidence": "strong", "mass_kg": None}, 0.27),
        ({"confidence": "strong", "mass_kg": 50 / 1.8}, 0.27),
        ({"confidence": "strong", "is_frail": True}, 0.27),
    ],
)
def test_the_share_of_height_goes_by_the_person(changes, share):
    answer = judge(depth_m=0.3, speed_ms=0.3, wader=replace(FIT, **changes), circumstances=CALM)

    assert named(answer, "depth as a share of body height").limit == share


@pytest.mark.parametrize(
    "changes",
    [{"confidence": "novice"}, {"confidence": None}, {"is_nervous": True}, {"age": 15}],
)
def test_the_careful_ones_go_to_the_knee_at_most(changes):
    answer = judge(depth_m=0.3, speed_ms=0.3, wader=replace(FIT, **changes), circumstances=CALM)

    assert answer.client_text == "to the knee, with your guide"


def test_height_times_mass_of_fifty_is_not_yet_an_adult():
    heavier = Wader(height_m=1.25, mass_kg=40.001, age=30, confidence="used")
    lighter = replace(heavier, mass_kg=40.0)

    columns = [
        {c.name for c in judge(depth_m=0.1, speed_ms=0.1, wader=w, circumstances=CALM).criteria}
        for w in (heavier, lighter)
    ]

    assert "AR&R adult, depth x speed" in columns[0]
    assert "AR&R light or young (height x mass 25 to 50), depth x speed" in columns[1]


def test_an_unknown_height_is_never_cleared():
    answer = judge(
        depth_m=0.05, speed_ms=0.05, wader=Wader(confidence="strong"), circumstances=CALM
    )

    assert answer.verdict == "not_known"
    assert named(answer, "depth as a share of body height").verdict == "not_known"
    assert answer.client_text == "bank only"
    assert "height" in answer.text


# --- at the limit, and what decides when ----------------------------------------------------------


def test_equal_within_a_billionth_is_at_the_limit():
    assert verdict_of(0.6 + 9e-10, 0.6) == "at_limit"
    assert verdict_of(0.6 + 2e-9, 0.6) == "over"
    assert verdict_of(0.6 - 2e-9, 0.6) == "under"


def test_at_a_limit_is_bank_only():
    answer = judge(depth_m=0.6, speed_ms=1.0, wader=STRONG, circumstances=CALM)

    assert answer.verdict == "at_limit"
    assert answer.client_text == "bank only"
    assert answer.text.startswith("at a limit: AIDR class H4 or above, depth x speed 0.6")


def test_a_rise_of_five_centimetres_an_hour_is_at_the_limit():
    answer = judge(depth_m=0.3, speed_ms=0.3, wader=FIT, circumstances=replace(CALM, rise_cm_h=5.0))

    assert (answer.verdict, answer.decider) == ("at_limit", "rise")


def test_the_hazard_rating_does_not_decide_in_a_clear_and_falling_river():
    falling = replace(CALM, rise_cm_h=-2.0)
    answer = judge(depth_m=0.9, speed_ms=0.6, wader=STRONG, circumstances=falling)

    rating = named(answer, "flood hazard rating")
    assert (rating.verdict, rating.decides) == ("over", False)
    assert answer.verdict == "no_stop_found"


@pytest.mark.parametrize("unknown", ["rise_cm_h", "rise_is_flagged", "is_coloured"])
def test_not_knowing_rise_or_colour_lets_the_hazard_rating_decide(unknown):
    answer = judge(
        depth_m=0.9, speed_ms=0.6, wader=STRONG, circumstances=replace(CALM, **{unknown: None})
    )

    assert named(answer, "flood hazard rating").decides
    assert answer.verdict == "stop"


@pytest.mark.parametrize(("wader", "limit"), [(FIT, 1.25), (LIGHT, 0.75), (Wader(), 0.75)])
def test_the_hazard_rating_is_stricter_for_all_but_adults(wader, limit):
    answer = judge(
        depth_m=0.3, speed_ms=0.3, wader=wader, circumstances=replace(CALM, is_coloured=True)
    )

    assert named(answer, "flood hazard rating").limit == limit


def test_the_older_figures_are_shown_and_never_decide():
    """sources.md A7: 0.4 m2/s, 1.2 m, 0.8 m/s."""
    answer = judge(depth_m=0.5, speed_ms=1.0, wader=FIT, circumstances=CALM)

    older = [c for c in answer.criteria if c.name.startswith("older planning figure")]
    assert [(c.limit, c.verdict) for c in older] == [(0.4, "over"), (1.2, "under"), (0.8, "over")]
    assert not any(c.decides for c in older)
    assert answer.verdict == "no_stop_found"


def test_visibility_does_not_decide_for_a_confident_adult():
    answer = judge(
        depth_m=0.5, speed_ms=0.3, wader=FIT, circumstances=replace(CALM, visibility_cm=10)
    )

    criterion = named(answer, "depth against visibility")
    assert (criterion.verdict, criterion.decides) == ("over", False)
    assert answer.verdict == "no_stop_found"


def test_a_walked_pool_may_be_waded_at_night_and_an_unknown_one_not():
    night = replace(CALM, is_night=True)

    walked = judge(depth_m=0.3, speed_ms=0.3, wader=FIT, circumstances=night)
    unknown = judge(
        depth_m=0.3,
        speed_ms=0.3,
        wader=FIT,
        circumstances=replace(night, was_walked_today=None),
    )

    assert walked.verdict == "no_stop_found"
    assert (unknown.verdict, unknown.unchecked) == ("not_known", ("light",))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"rise_cm_h": None}, "rise"),
        ({"rise_is_flagged": None}, "rise"),
        ({"has_ice": None}, "ice"),
        ({"is_night": None, "was_walked_today": None}, "light"),
        ({"is_night": None, "was_walked_today": False}, "light"),
    ],
)
def test_what_is_not_known_stays_not_known(changes, said):
    answer = judge(depth_m=0.3, speed_ms=0.3, wader=FIT, circumstances=replace(CALM, **changes))

    assert answer.verdict == "not_known"
    assert answer.unchecked == (said,)
    assert answer.client_text == "bank only"


def test_what_is_omitted_on_request_is_absent_but_listed():
    answer = judge(
        depth_m=0.9,
        speed_ms=0.6,
        wader=replace(STRONG, age=None),
        circumstances=Circumstances(),
        omitted_is_absent=True,
    )

    assert answer.verdict == "no_stop_found"
    assert answer.unchecked == ("rise", "colour", "visibility", "ice", "light")
    assert "AR&R adult, depth x speed" in {c.name for c in answer.criteria}


def test_every_criterion_says_where_it_comes_from():
    answer = judge(depth_m=0.3, speed_ms=0.3, wader=FIT, circumstances=CALM)

    labels = {c.name: c.source.label for c in answer.criteria}
    assert labels["AR&R adult, depth x speed"] is Label.MEMORY
    assert labels["rule of ten"] is Label.PUBLISHED
    assert labels["depth as a share of body height"] is Label.PRACTICE
    assert all(c.source.title for c in answer.criteria if c.source.label is not Label.PRACTICE)


# --- bad input ------------------------------------------------------------------------------------

NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize("depth", [0, -1.0, 10.01, NAN, INF, -INF])
def test_an_impossible_depth_is_refused(depth):
    with pytest.raises(ValueError, match=r"depth_m is .*; a depth is above 0 and at most 10 m\."):
        judge(depth_m=depth, speed_ms=0.5, wader=FIT, circumstances=CALM)


@pytest.mark.parametrize("speed", [-0.1, 6.01, NAN, INF])
def test_an_impossible_speed_is_refused(speed):
    with pytest.raises(ValueError, match=r"speed_ms is .*; a speed is 0 to 6 m/s\."):
        judge(depth_m=0.5, speed_ms=speed, wader=FIT, circumstances=CALM)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        *(("height_m", v) for v in (0.49, 2.31, NAN, INF, -1)),
        *(("mass_kg", v) for v in (9.9, 251, NAN, INF)),
        *(("age", v) for v in (-1, 121)),
        ("confidence", "brave"),
    ],
)
def test_an_impossible_person_is_refused(field, value):
    with pytest.raises(ValueError, match=f"{field} is "):
        Wader(**{field: value})


@pytest.mark.parametrize(
    ("field", "value"),
    [
        *(("visibility_cm", v) for v in (-1, 1001, NAN)),
        *(("rise_cm_h", v) for v in (NAN, INF, 2101)),
        ("regime", "wild"),
    ],
)
def test_impossible_circumstances_are_refused(field, value):
    with pytest.raises(ValueError, match=f"{field} is "):
        Circumstances(**{field: value})
