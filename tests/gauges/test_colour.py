import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.colour import (
    read_colour,
    read_turbid_visibility,
    read_unseen_visibility,
    read_visibility,
    was_seen,
)
from guiding.gauges.conditions.phases import Spate
from guiding.gauges.conditions.values import Condition, Kind, Phase
from guiding.gauges.hydrology.clearing import Clearing
from tests.gauges.drawn import HOUR, NOW, measured

NO_RISE = Condition(what="rise")
UNSEEN = Condition(what="visibility")
COMMON = Clearing()


def phase(name):
    """Return a phase as a condition."""
    return Condition(what="phase", value=name, kind=Kind.FORECAST, at=NOW, age_hours=0.0)


def colour(name, *, crest_hours_ago=None, climbed_m=None, rise=NO_RISE, is_peaty=False):
    """Return the colour in words of a river in a phase."""
    crest_at = None if crest_hours_ago is None else NOW - crest_hours_ago * HOUR
    spate = Spate(phase=Phase(name), why="drawn", crest_at=crest_at, climbed_m=climbed_m)
    read = read_colour(UNSEEN, phase(name), spate, rise, at=NOW, is_peaty=is_peaty)
    return read.value


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("settled", "clear"),
        ("stale", "clear"),
        ("coloured_falling", "coloured"),
        ("first_rise", "coloured"),
        ("rising", "coloured"),
        ("peak", "coloured"),
    ],
)
def test_each_phase_has_its_colour(name, word):
    assert colour(name) == word


def test_a_big_climb_or_a_fast_one_is_dirty():
    fast = Condition(what="rise", value=5.0, kind=Kind.FORECAST)

    assert colour("rising", climbed_m=0.3) == "dirty"
    assert colour("peak", climbed_m=0.29) == "coloured"
    assert colour("first_rise", rise=fast) == "dirty"


def test_fining_down_is_coloured_for_two_days_after_the_crest_or_while_nobody_knows():
    assert colour("fining_down", crest_hours_ago=47) == "coloured"
    assert colour("fining_down", crest_hours_ago=48) == "clear"
    assert colour("fining_down") == "coloured"


def test_peat_is_never_clear():
    assert colour("settled", is_peaty=True) == "tea-coloured"
    assert colour("fining_down", crest_hours_ago=60, is_peaty=True) == "tea-coloured"


@pytest.mark.parametrize(
    ("seen_cm", "word"), [(29, "dirty"), (30, "coloured"), (74, "coloured"), (75, "clear")]
)
def test_a_known_visibility_decides_before_the_phase(seen_cm, word):
    seen = Condition(what="visibility", value=seen_cm, kind=Kind.OBSERVED, at=NOW, age_hours=1.0)
    spate = Spate(phase=Phase.SETTLED, why="drawn")

    read = read_colour(seen, phase("settled"), spate, NO_RISE, at=NOW, is_peaty=False)

    assert (read.value, read.kind, read.source) == (word, Kind.INFERRED, "from the visibility")
    assert read.age_hours == 1.0


def test_colour_is_labelled_as_not_seen_and_unknown_without_a_phase():
    spate = Spate(phase=Phase.NOT_KNOWN, why="drawn")

    read = read_colour(UNSEEN, Condition(what="phase"), spate, NO_RISE, at=NOW, is_peaty=False)
    known = read_colour(UNSEEN, phase("settled"), spate, NO_RISE, at=NOW, is_peaty=False)

    assert read.kind is Kind.NOT_KNOWN
    assert known.source == "from the rise and the time since, not seen"


def test_a_fresh_visibility_is_observed_once_the_hours_have_begun():
    seen = measured([(NOW - HOUR, 80.0)])

    read = read_visibility(seen, phase("rising"), NOW - HOUR, NOW)

    assert (read.kind, read.value, read.low, read.high) == (Kind.OBSERVED, 80.0, None, None)


def test_a_visibility_is_carried_to_the_next_hours_of_a_steady_river_from_half_to_twice():
    seen = measured([(NOW - HOUR, 80.0)])

    read = read_visibility(seen, phase("settled"), NOW + 3 * HOUR, NOW)

    assert (read.kind, read.value, read.low, read.high) == (Kind.INFERRED, 80.0, 40.0, 160.0)


def test_the_evenings_look_speaks_for_tomorrow_and_not_for_the_day_after():
    seen = measured([(NOW - 11 * HOUR, 80.0)])

    assert read_visibility(seen, phase("settled"), NOW + 25 * HOUR, NOW).kind is Kind.INFERRED
    assert read_visibility(seen, phase("settled"), NOW + 26 * HOUR, NOW).kind is Kind.NOT_KNOWN


@pytest.mark.parametrize("name", ["first_rise", "rising", "peak", "coloured_falling", None])
def test_a_visibility_says_nothing_of_a_river_that_moves(name):
    seen = measured([(NOW - HOUR, 80.0)])
    ahead = phase(name) if name else Condition(what="phase")

    assert read_visibility(seen, ahead, NOW + 3 * HOUR, NOW).kind is Kind.NOT_KNOWN


def test_a_look_of_this_morning_is_not_called_observed_in_the_afternoon():
    seen = measured([(NOW - 6 * HOUR, 80.0)])

    assert read_visibility(seen, phase("settled"), NOW - HOUR, NOW).kind is Kind.INFERRED
    assert read_visibility(seen, phase("rising"), NOW - HOUR, NOW).kind is Kind.NOT_KNOWN


def test_a_stale_visibility_or_none_is_not_known():
    old = measured([(NOW - 13 * HOUR, 80.0)])

    assert read_visibility(old, phase("settled"), NOW, NOW).source == "the newest reading is stale"
    assert read_visibility(measured([]), phase("settled"), NOW, NOW).source == "not measured"


def spate_of(name, *, crest_hours_ago=None, climbed_m=None):
    crest_at = None if crest_hours_ago is None else NOW - crest_hours_ago * HOUR
    return Spate(phase=Phase(name), why="drawn", crest_at=crest_at, climbed_m=climbed_m)


def unseen(name, clearing=COMMON, **spate):
    return read_unseen_visibility(phase(name), spate_of(name, **spate), clearing, NOW)


def test_a_visibility_nobody_saw_is_inferred_from_the_spate_with_a_band_and_says_so():
    read, says = unseen("fining_down", crest_hours_ago=50, climbed_m=0.3)

    # 150 cm x exp(-3.27 sqrt(0.3) / e), common practice
    assert (read.kind, read.value) == (Kind.INFERRED, 78)
    assert read.low < 30 < 200 < read.high
    assert "not seen" in read.source
    assert "0 notes of visibility" in read.source
    assert not was_seen(read)
    assert says == ()


def test_the_guides_own_notes_decide_where_there_are_enough():
    quick = Clearing(clear_cm=300, stirred=3, hours=12, spread=0.3, notes=20, spates=6, most_m=1)

    read, _ = unseen("fining_down", quick, crest_hours_ago=48, climbed_m=0.3)

    assert read.value > 280
    assert "learned from 20 notes" in read.source


def test_a_settled_river_is_taken_as_clear_and_a_climbing_one_as_a_wide_guess():
    calm, _ = unseen("settled")
    climbing, says = unseen("rising", climbed_m=0.3)

    assert calm.value == 150
    assert climbing.high / climbing.low > calm.high / calm.low
    assert "still climbs" in says[0]


def test_a_spate_whose_size_is_not_on_file_leaves_the_visibility_unknown():
    assert unseen("fining_down")[0].kind is Kind.NOT_KNOWN
    assert unseen("coloured_falling", crest_hours_ago=5)[0].kind is Kind.NOT_KNOWN


def test_a_phase_that_somebody_gave_is_not_answered_from_the_records_spate():
    read, _ = read_unseen_visibility(phase("settled"), spate_of("rising"), Clearing(), NOW)

    assert read.kind is Kind.NOT_KNOWN


def test_an_inferred_visibility_never_makes_the_water_cleaner_than_its_phase():
    small = unseen("rising", climbed_m=0.02)[0]
    big = unseen("peak", crest_hours_ago=1, climbed_m=0.28)[0]

    def word(visibility, name, **spate):
        read = read_colour(
            visibility, phase(name), spate_of(name, **spate), NO_RISE, at=NOW, is_peaty=False
        )
        assert read.source == "from the rise and the time since, not seen"
        return read.value

    assert small.value > 75
    assert word(small, "rising", climbed_m=0.02) == "coloured"
    assert big.value < 30
    assert word(big, "peak", crest_hours_ago=1, climbed_m=0.28) == "dirty"


def test_turbidity_gives_a_wide_inferred_visibility_that_nobody_saw():
    # 400 / (9.6 + 0.4) = 40 cm, by hand
    read = read_turbid_visibility(measured([(NOW, 9.6)]), phase("rising"), NOW - HOUR, NOW)

    assert (read.kind, read.value, read.low, read.high) == (Kind.INFERRED, 40, 16, 100)
    assert not was_seen(read)
    assert read.source == "from a turbidity of 9.6 NTU, not seen"


def test_turbidity_is_carried_on_a_steady_river_only_and_wider_and_a_stale_one_is_not_used():
    turbid = measured([(NOW, 9.6)])

    ahead = read_turbid_visibility(turbid, phase("settled"), NOW + 3 * HOUR, NOW)

    assert (ahead.low, ahead.high) == (8, 200)
    moving = read_turbid_visibility(turbid, phase("rising"), NOW + 3 * HOUR, NOW)
    stale = read_turbid_visibility(turbid, phase("settled"), NOW, NOW + 9 * HOUR)
    assert moving.kind is stale.kind is Kind.NOT_KNOWN


@given(ntu=st.floats(0, 10_000))
def test_any_turbidity_ends_in_a_visibility_between_nothing_and_ten_metres(ntu):
    read = read_turbid_visibility(measured([(NOW, ntu)]), phase("rising"), NOW - HOUR, NOW)

    assert 0 <= read.low <= read.value <= 1000


def test_what_was_read_given_or_carried_from_a_look_was_seen():
    looked = measured([(NOW - HOUR, 80.0)])

    assert was_seen(read_visibility(looked, phase("rising"), NOW - HOUR, NOW))
    assert was_seen(read_visibility(looked, phase("settled"), NOW + 3 * HOUR, NOW))
    assert not was_seen(UNSEEN)
