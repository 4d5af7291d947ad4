"""A pool at a level: from soundings to depth, speed, verdict and stop level."""

from dataclasses import replace
from datetime import date
from math import log

import pytest

from briefings.wading.depth import speed_exponent, spots_of
from briefings.wading.judge import Sounding, Wader, judge_pool
from tests.briefings.test_wading import CALM, FIT, STRONG

TODAY = date(2026, 5, 20)
MAY = date(2026, 5, 1)


def sounding(level, depth, speed=0.5, **changes):
    fields = {"level_m": level, "depth_m": depth, "speed_ms": speed, "measured_on": MAY}
    return Sounding(**{**fields, **changes})


def pool(*soundings, level=0.30, wader=FIT, **changes):
    fields = {
        "soundings": soundings,
        "level_m": level,
        "ratio": 1.0,
        "over_bank_since": None,
        "today": TODAY,
        "wader": wader,
        "circumstances": CALM,
    }
    return judge_pool(**{**fields, **changes})


# --- depth and speed ------------------------------------------------------------------------------


def test_depth_moves_with_the_ratio_and_speed_with_the_depth():
    """0.45 + 0.8 x (0.50 - 0.30) = 0.61 m; 0.60 x 0.61/0.45 = 0.8133 m/s with m = 1."""
    answer = pool(sounding(0.30, 0.45, 0.60), level=0.50, ratio=0.8)

    assert answer.depth_m == pytest.approx(0.61)
    assert answer.speed_ms == pytest.approx(0.60 * 0.61 / 0.45)


def test_the_nearest_sounding_speaks_and_the_lower_on_a_tie():
    low, high = sounding(0.30, 0.40, 0.4), sounding(0.70, 0.70, 0.5)

    assert pool(low, high, level=0.49).depth_m == pytest.approx(0.59)
    assert pool(low, high, level=0.51).depth_m == pytest.approx(0.51)
    # 0.70 - 0.50 comes out a hair under 0.50 - 0.30 in binary: still a tie
    assert pool(low, high, level=0.50).depth_m == pytest.approx(0.60)
    assert pool(high, low, level=0.50).depth_m == pytest.approx(0.60)


def test_of_two_soundings_at_one_level_the_newest_speaks():
    old, new = sounding(0.3, 0.6, measured_on=date(2025, 6, 1)), sounding(0.3, 0.5)

    assert pool(old, new).depth_m == pytest.approx(0.5)


def test_the_exponent_is_one_until_two_levels_were_measured_far_enough_apart():
    assert speed_exponent([sounding(0.3, 0.5, 0.5)]) == 1.0
    assert speed_exponent([sounding(0.3, 0.5, 0.5), sounding(0.49, 0.69, 0.9)]) == 1.0
    assert speed_exponent([sounding(0.3, 0.5, 0.5), sounding(0.9, 1.1, None)]) == 1.0
    assert speed_exponent([sounding(0.3, 0.5, 0.0), sounding(0.9, 1.1, 0.5)]) == 1.0
    assert speed_exponent([sounding(0.3, 0.5, 0.5), sounding(0.9, 0.5, 0.9)]) == 1.0


def test_the_exponent_of_two_soundings_is_the_ratio_of_logarithms():
    """ln(0.55/0.50) / ln(0.60/0.54) is 0.9046..., between 2/3 and 1.2.

    The levels are 0.2 m apart, which 0.7 - 0.5 misses by a hair in binary.
    """
    measured = [sounding(0.5, 0.54, 0.50), sounding(0.7, 0.60, 0.55)]

    assert speed_exponent(measured) == pytest.approx(log(0.55 / 0.50) / log(0.60 / 0.54))
    assert speed_exponent(measured) == pytest.approx(0.9046, abs=1e-4)


@pytest.mark.parametrize(
    ("speeds", "slope"),
    [
        ((0.5, 1.0, 1.0), 2 / 3),  # (0, 1, 1) ln 2 against (0, 1, 2) ln 2: 1/2, kept at 2/3
        ((0.5, 1.0, 2.0), 1.0),  # (0, 1, 2) against (0, 1, 2)
        ((0.5, 0.5, 1.0), 2 / 3),  # (0, 0, 1) against (0, 1, 2): 1/2, kept at 2/3
        ((0.5, 0.5, 2.0), 1.0),  # (0, 0, 2) against (0, 1, 2)
    ],
)
def test_the_exponent_of_three_soundings_is_a_least_squares_slope(speeds, slope):
    measured = [
        sounding(level, depth, speed)
        for level, depth, speed in zip((0.0, 0.4, 1.2), (0.4, 0.8, 1.6), speeds, strict=True)
    ]

    assert speed_exponent(measured) == pytest.approx(slope)


def test_the_exponent_is_kept_between_manning_and_twelve_tenths():
    assert speed_exponent([sounding(0.3, 0.5, 0.5), sounding(0.9, 1.1, 0.4)]) == 2 / 3
    assert speed_exponent([sounding(0.3, 0.5, 0.2), sounding(0.9, 1.1, 2.0)]) == 1.2


def test_a_fitted_exponent_is_used():
    measured = (sounding(0.3, 0.5, 0.5), sounding(0.9, 1.1, 0.5))
    answer = pool(*measured, level=0.50)

    assert answer.speed_ms == pytest.approx(0.5 * (0.7 / 0.5) ** (2 / 3))


# --- where there is no estimate -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("level", "depth"),
    [(0.049, None), (0.05, 0.25), (0.60, 0.80), (0.601, None)],
)
def test_no_estimate_outside_half_to_one_point_six_times_the_measured_depth(level, depth):
    """0.50 m at 0.30 m: from 0.25 m (level 0.05) to 0.80 m (level 0.60)."""
    answer = pool(sounding(0.30, 0.50, 0.1), level=level, wader=STRONG)

    assert answer.depth_m == (None if depth is None else pytest.approx(depth))
    if depth is None:
        # above the reach is above a level that stops; below it nothing is known
        assert answer.verdict == ("stop" if level > 0.30 else "not_known")
        assert answer.client_text == "bank only"
        assert answer.stop_level_m is not None


def test_a_river_that_rises_past_the_soundings_never_gets_a_milder_answer():
    found = [pool(sounding(0.30, 0.50, 0.60), level=n / 100).verdict for n in range(30, 200)]

    first = next(place for place, verdict in enumerate(found) if verdict != "no_stop_found")
    assert set(found[first:]) <= {"at_limit", "stop"}


def test_the_bounds_go_by_the_least_and_the_greatest_measured_depth():
    measured = (sounding(0.30, 0.40, 0.1), sounding(0.60, 0.70, 0.1))

    assert pool(*measured, level=0.10).depth_m == pytest.approx(0.20)
    assert pool(*measured, level=1.01, wader=STRONG).depth_m == pytest.approx(1.11)
    assert pool(*measured, level=0.09).depth_m is None
    assert pool(*measured, level=1.03).depth_m is None


def test_the_reach_of_the_soundings_is_itself_a_stop_level():
    """Slow, 0.45 m deep at 0.30: 1.6 x 0.45 = 0.72 m at 0.57, under the share of 0.756 m."""
    answer = pool(sounding(0.30, 0.45, 0.1))
    at_it = pool(sounding(0.30, 0.45, 0.1), level=0.57)

    assert answer.verdict == "no_stop_found"
    assert answer.stop_level_m == pytest.approx(0.57, abs=1e-6)
    assert answer.stop_by == "reach of the soundings"
    assert (at_it.verdict, at_it.client_text) == ("at_limit", "bank only")


def test_no_sounding_is_not_known():
    answer = pool()

    assert (answer.verdict, answer.stop_level_m) == ("not_known", None)
    assert answer.client_text == "bank only"
    assert "no sounding" in answer.text


def test_no_level_is_not_known_but_the_stop_level_stands():
    answer = pool(sounding(0.30, 0.45, 0.1), level=None)

    assert answer.verdict == "not_known"
    assert answer.stop_level_m == pytest.approx(0.57, abs=1e-6)


def test_a_sounding_without_a_speed_is_not_known():
    answer = pool(sounding(0.30, 0.45, None))

    assert (answer.verdict, answer.stop_level_m) == ("not_known", None)


def test_ice_stops_where_nothing_was_measured():
    answer = pool(circumstances=replace(CALM, has_ice=True))

    assert (answer.verdict, answer.decider) == ("stop", "ice")


# --- void and old ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("measured", "over_bank", "is_void"),
    [
        (MAY, date(2026, 4, 30), False),
        (MAY, MAY, True),
        (MAY, date(2026, 5, 2), True),
        (None, date(2020, 1, 1), True),
    ],
)
def test_a_level_over_the_bank_voids_what_was_measured_before(measured, over_bank, is_void):
    answer = pool(
        sounding(0.30, 0.45, 0.3, measured_on=measured),
        over_bank_since=over_bank,
        omitted_is_absent=True,
    )

    assert answer.verdict == ("not_known" if is_void else "no_stop_found")
    assert (answer.stop_level_m is None) is is_void


@pytest.mark.parametrize(
    ("measured", "verdict"),
    [
        (date(2024, 5, 20), "no_stop_found"),
        (date(2024, 5, 19), "not_known"),
        (None, "not_known"),
    ],
)
def test_a_sounding_is_old_after_two_seasons_and_then_never_clears(measured, verdict):
    answer = pool(sounding(0.30, 0.45, 0.3, measured_on=measured))

    assert answer.verdict == verdict
    assert answer.depth_m == pytest.approx(0.45)


def test_an_old_sounding_still_stops():
    answer = pool(sounding(0.30, 0.80, 0.3, measured_on=date(2020, 5, 1)))

    assert (answer.verdict, answer.decider) == ("stop", "depth as a share of body height")


def test_an_old_sounding_is_left_out_where_there_is_a_newer_one():
    old = sounding(0.32, 0.80, 0.3, measured_on=date(2020, 5, 1))
    answer = pool(old, sounding(0.30, 0.45, 0.3), level=0.32)

    assert answer.depth_m == pytest.approx(0.47)
    assert answer.verdict == "no_stop_found"


def test_a_sounding_of_a_leap_day_ages():
    spots, _ = spots_of(
        [sounding(0.3, 0.5, measured_on=date(2024, 2, 29))],
        ratio=1,
        over_bank_since=None,
        today=date(2026, 3, 1),
        undated_is_old=True,
    )

    assert spots[0].is_old


# --- the stop level -------------------------------------------------------------------------------


def test_the_stop_level_is_where_the_first_criterion_meets_its_limit():
    """At 0.30 m: 0.45 m, 0.60 m/s. v = 0.60/0.45 d, so d x v = 0.6 at d = sqrt(0.45) = 0.67082 m.

    That is level 0.52082; the share, 0.42 x 1.80 = 0.756 m, is met at 0.606 and 1.6 x 0.45 at 0.57.
    """
    answer = pool(sounding(0.30, 0.45, 0.60))

    assert answer.stop_level_m == pytest.approx(0.30 + 0.45**0.5 - 0.45, abs=1e-6)
    assert answer.stop_by == "AIDR class H4 or above, depth x speed"
    assert pool(sounding(0.30, 0.45, 0.60), level=0.5207).verdict == "no_stop_found"
    assert pool(sounding(0.30, 0.45, 0.60), level=0.5209).verdict == "stop"
    at_it = pool(sounding(0.30, 0.45, 0.60), level=answer.stop_level_m)
    assert at_it.verdict == "at_limit"


def test_a_share_of_height_is_met_where_the_hand_says():
    """Novice, 1.80 m: 0.27 x 1.80 = 0.486 m; 0.45 m at 0.30 and ratio 0.9: 0.30 + 0.036/0.9."""
    answer = pool(sounding(0.30, 0.45, 0.3), ratio=0.9, wader=replace(FIT, confidence="novice"))

    assert answer.stop_level_m == pytest.approx(0.34, abs=1e-6)
    assert answer.stop_by == "depth as a share of body height"


def test_a_jump_of_the_debris_factor_is_a_stop_level():
    """0.60 m and 0.48 m/s at 0.30: at 0.75 m it runs 0.6 m/s, 0.75 x 1.1 = 0.825, under 1.25.

    Just above, the debris factor adds 0.5: 1.325. So wading stops at 0.30 + 0.15 = 0.45 m.
    """
    answer = pool(
        sounding(0.30, 0.60, 0.48),
        wader=replace(STRONG, height_m=2.0),
        circumstances=replace(CALM, is_coloured=True),
    )

    assert answer.stop_level_m == pytest.approx(0.45, abs=1e-6)
    assert answer.stop_by == "flood hazard rating"


def test_the_lowest_stop_level_of_all_spots_is_the_pools():
    head, tail = sounding(0.3, 0.45, 0.6, spot="head"), sounding(0.3, 0.45, 0.1, spot="tail")
    answer = pool(head, tail)

    assert answer.stop_level_m == pytest.approx(0.30 + 0.45**0.5 - 0.45, abs=1e-6)
    assert answer.stop_spot == "head"


def test_the_worst_spot_speaks_for_the_pool():
    easy = sounding(0.3, 0.3, 0.3, spot="body")
    deep = sounding(0.3, 0.9, 0.3, spot="tail")
    answer = pool(easy, deep)

    assert (answer.verdict, answer.spot) == ("stop", "tail")
    assert answer.depth_m == pytest.approx(0.9)


def test_a_spot_that_is_not_known_is_worse_than_one_without_a_stop():
    easy = sounding(0.3, 0.3, 0.3, spot="body")
    void = sounding(0.3, 0.3, 0.3, spot="tail", measured_on=date(2026, 1, 1))
    answer = pool(easy, void, over_bank_since=date(2026, 2, 1))

    assert (answer.verdict, answer.spot) == ("not_known", "tail")
    assert answer.stop_level_m is None


def test_where_every_estimate_stops_the_stop_level_is_the_lowest_that_the_soundings_reach():
    """1.60 m at 0.30: half of it, 0.80 m at level -0.50, is over the share of 0.756 m already."""
    answer = pool(sounding(0.30, 1.60, 0.1))

    assert answer.verdict == "stop"
    assert answer.stop_level_m == pytest.approx(-0.50)


@pytest.mark.parametrize(
    ("wader", "changes"),
    [
        (replace(FIT, is_frail=True), {}),
        (FIT, {"circumstances": replace(CALM, regime="regulated")}),
        (replace(FIT, height_m=None), {}),
        (FIT, {"soundings": (sounding(0.3, 0.45, measured_on=date(2020, 1, 1)),)}),
    ],
)
def test_there_is_no_stop_level_where_none_helps_or_none_is_known(wader, changes):
    answer = pool(sounding(0.30, 0.45, 0.3), wader=wader, **changes)

    assert answer.stop_level_m is None
    assert answer.verdict in ("stop", "not_known")


@pytest.mark.parametrize("changes", [{"has_ice": True}, {"rise_cm_h": 9.0}, {"is_night": None}])
def test_what_passes_does_not_take_the_stop_level_away(changes):
    answer = pool(sounding(0.30, 0.45, 0.1), circumstances=replace(CALM, **changes))

    assert answer.stop_level_m == pytest.approx(0.57, abs=1e-6)


def test_soundings_that_contradict_each_other_never_clear_above_a_stop_level():
    """0.60 m at 0.30 meets 0.756 m at 0.456; 0.50 m at 0.90 would clear what lies from 0.60 on."""
    measured = (sounding(0.30, 0.60, 0.2), sounding(0.90, 0.50, 0.2))
    answer = pool(*measured, level=0.90)

    assert answer.stop_level_m == pytest.approx(0.456, abs=1e-6)
    assert (answer.verdict, answer.client_text) == ("stop", "bank only")
    assert answer.decider == "depth as a share of body height"
    assert "disagree" in answer.text


def test_no_depth_below_the_soundings_reach_is_looked_at_between_two_of_them():
    """0.60 m at 0.30 and 0.20 m at 0.90: just above 0.60 the second would give -0.10 m.

    Nothing stops a strong 2.10 m tall person (share 1.05 m) in slow water before 1.6 x 0.60 =
    0.96 m, which the second sounding gives at 0.90 + 0.76 = 1.66 m.
    """
    measured = (sounding(0.30, 0.60, 0.1), sounding(0.90, 0.20, 0.1))
    answer = pool(*measured, level=0.65, wader=replace(STRONG, height_m=2.1))

    assert (answer.verdict, answer.depth_m) == ("not_known", None)
    assert answer.stop_level_m == pytest.approx(1.66, abs=1e-6)


# --- bad input ------------------------------------------------------------------------------------


@pytest.mark.parametrize("level", [-99, 20.1, float("nan"), float("inf")])
def test_an_impossible_level_is_refused(level):
    with pytest.raises(ValueError, match=r"level_m is .*; a level is -1 to 20 m\."):
        pool(sounding(0.3, 0.5), level=level)
    with pytest.raises(ValueError, match="level_m is "):
        sounding(level, 0.5)


@pytest.mark.parametrize("ratio", [0, -1, 5.1, float("nan")])
def test_an_impossible_ratio_is_refused(ratio):
    with pytest.raises(ValueError, match="ratio is "):
        pool(sounding(0.3, 0.5), ratio=ratio)


def test_a_sounding_is_checked_like_any_depth_and_speed():
    with pytest.raises(ValueError, match="depth_m is -1; a depth is above 0 and at most 10 m"):
        sounding(0.3, -1)
    with pytest.raises(ValueError, match="speed_ms is 7; a speed is 0 to 6 m/s"):
        sounding(0.3, 0.5, 7)


def test_a_light_or_unknown_person_stops_lower_than_a_fit_one():
    measured = sounding(0.30, 0.45, 0.3)
    levels = [
        pool(measured, wader=wader).stop_level_m
        for wader in (
            STRONG,
            FIT,
            replace(FIT, mass_kg=None),
            Wader(height_m=1.60, mass_kg=25, age=12),
        )
    ]

    assert levels == sorted(levels, reverse=True)
    assert levels[0] > levels[2] > levels[3]
