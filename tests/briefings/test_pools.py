"""Wading for people in pools: the careful side of every value, and the client's few words."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from briefings import pools
from briefings.gather import circumstances_of, wader_of
from briefings.pack.guide_tables import stop_rows
from briefings.pools import MeasuredPool, judge_pools
from briefings.wading.judge import Sounding
from guiding.gauges.conditions.values import Kind
from guiding.rivers.models import Pool
from tests.briefings.groundworks import make_outlook, make_person_row
from tests.factories import make_condition, make_conditions

DAY = date(2026, 6, 24)
FIT = {"height_m": 1.80, "mass_kg": 80.0, "born_on": date(1980, 1, 1), "wading": "used"}


def sounding(depth_m=0.35, **changes):
    fields = {
        "level_m": 0.35,
        "depth_m": depth_m,
        "speed_ms": 0.5,
        "measured_on": DAY - timedelta(days=20),
    }
    return Sounding(**{**fields, **changes})


def measured(name, *soundings):
    return MeasuredPool(pool=Pool(pk=1, name=name), soundings=soundings, ratio=1.0)


def judged(*measured_pools, person=None, **conditions):
    outlook = make_outlook(make_conditions(day=DAY, **conditions))
    person = person or make_person_row(1, **FIT)
    return judge_pools(measured_pools, [person], outlook, DAY, over_bank_on=None)


def words_of(rows, *, comes_to_fish=True):
    return pools.client_words(rows, comes_to_fish=comes_to_fish)


def test_an_ordinary_run_at_summer_level_has_no_listed_stop_for_a_fit_adult():
    (row,) = judged(measured("Run", sounding()))

    assert row.wading.verdict == "no_stop_found"
    assert words_of([row]) == "Your guide decides at the water."


def test_a_novice_goes_to_the_knee_at_most():
    novice = make_person_row(1, **{**FIT, "wading": "novice"})

    assert words_of(judged(measured("Run", sounding()), person=novice)) == (
        "To the knee, with your guide."
    )


def test_only_named_pools_are_opened_and_everywhere_else_is_bank_only():
    rows = judged(
        measured("Deep One", sounding(1.3)),
        measured("Run", sounding()),
        measured("Deep Two", sounding(1.4)),
    )

    assert words_of(rows) == (
        "Your guide decides at the water, in Run only. Bank only everywhere else."
    )


def test_who_only_watches_stays_on_the_bank_whatever_the_water():
    assert words_of(judged(measured("Run", sounding())), comes_to_fish=False) == "Bank only."


def test_without_a_pool_or_a_sounding_it_is_bank_only():
    assert words_of([]) == "Bank only: no pool of this beat has been measured."
    assert words_of(judged(measured("Run"))) == "Bank only."


def test_the_high_end_of_the_level_counts_not_its_middle():
    likely = make_condition("level", 0.35)
    wide = make_condition("level", 0.35, low=0.30, high=0.75)

    assert judged(measured("Run", sounding()), level=likely)[0].wading.verdict == "no_stop_found"
    assert judged(measured("Run", sounding()), level=wide)[0].wading.verdict != "no_stop_found"


def test_the_low_end_of_the_visibility_and_the_high_end_of_the_rise_count():
    conditions = make_conditions(
        visibility=make_condition("visibility", 60.0, low=20.0, high=100.0),
        rise=make_condition("rise", 1.0, low=0.0, high=7.0),
    )

    circumstances = circumstances_of(conditions)

    assert (circumstances.visibility_cm, circumstances.rise_cm_h) == (20.0, 7.0)


def test_water_that_nobody_looked_into_decides_no_depth():
    unseen = replace(
        make_condition("visibility", 150.0, low=54.0, high=400.0),
        kind=Kind.INFERRED,
        source="from the rise and the time since, not seen, by common practice",
    )

    assert circumstances_of(make_conditions(visibility=unseen)).visibility_cm is None


@pytest.mark.parametrize(
    ("may_ice", "water", "has_ice"),
    [
        (False, 0.0, False),
        (True, None, None),
        (True, 8.0, False),
        (True, -0.2, True),
    ],
)
def test_ice_is_told_from_what_the_conditions_say(may_ice, water, has_ice):
    conditions = make_conditions(may_ice=may_ice, water=water)

    assert circumstances_of(conditions).has_ice is has_ice is conditions.has_ice


def test_what_nobody_knows_stays_not_known():
    circumstances = circumstances_of(make_conditions(rise=None, visibility=None, colour=None))

    assert circumstances.rise_cm_h is circumstances.visibility_cm is None
    assert circumstances.is_coloured is None


def test_a_junior_without_a_birth_date_counts_as_under_sixteen():
    person = make_person_row(1, **{**FIT, "born_on": None, "is_junior": True})

    assert wader_of(person, DAY).age == 15


def test_the_guides_row_names_the_spot_and_the_criterion_that_stop():
    rows = judged(measured("Run", sounding(0.35, spot="head"), sounding(0.6, spot="tail")))

    (row,) = stop_rows([("morning, Beat 1", rows)])

    wading = rows[0].wading
    assert row.pool == "Run (morning, Beat 1)"
    assert (row.spot, row.decider) == (wading.stop_spot, wading.stop_by)
    assert row.spot == "tail"
    assert row.stop_level == f"{wading.stop_level_m:.2f} m"


def test_where_no_level_helps_the_guides_row_says_not_known_and_what_decides():
    frail = make_person_row(1, **{**FIT, "is_frail": True})
    rows = judged(measured("Run", sounding()), person=frail)

    (row,) = stop_rows([("", rows)])

    assert (row.stop_level, row.chance) == ("not known", "not known")
    assert row.decider == rows[0].wading.decider
    assert replace(rows[0], chance=0.5).wading.client_text == "bank only"


def test_parts_in_which_a_pool_is_told_the_same_share_a_row():
    rows = judged(measured("Run", sounding()))
    likelier = [replace(row, chance=0.5) for row in rows]

    alike = stop_rows([("morning", rows), ("afternoon", rows)])
    apart = stop_rows([("morning", rows), ("afternoon", likelier)])

    assert [row.pool for row in alike] == ["Run (morning; afternoon)"]
    assert [row.pool for row in apart] == ["Run (morning)", "Run (afternoon)"]


def test_a_stop_below_what_a_gauge_shows_is_said_in_words():
    (row,) = judged(measured("Run", sounding()))
    stopped = replace(row, wading=replace(row.wading, verdict="stop", stop_level_m=-0.2))
    below_nought = replace(
        row, wading=replace(row.wading, verdict="no_stop_found", stop_level_m=-0.2)
    )

    assert stop_rows([("", [stopped])])[0].stop_level == "at every level"
    # a gauge that reads below nought, and is there: then the number is what the guide needs
    assert stop_rows([("", [below_nought])])[0].stop_level == "-0.20 m"
