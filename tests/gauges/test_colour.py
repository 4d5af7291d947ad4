import pytest

from guiding.gauges.conditions.colour import read_colour, read_visibility
from guiding.gauges.conditions.phases import Spate
from guiding.gauges.conditions.values import Condition, Kind, Phase
from tests.gauges.drawn import HOUR, NOW, measured

NO_RISE = Condition(what="rise")
UNSEEN = Condition(what="visibility")


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
