"""How a river clears: common practice, the guide's own notes, and how wide the guess is."""

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.looks import note_of
from guiding.gauges.hydrology.clearing import (
    CLEARING_HOURS,
    Clearing,
    Note,
    fit_clearing,
)
from tests.gauges.drawn import HOUR, NOW, hourly

STEP = timedelta(hours=1)


def notes_of(clear_cm, stirred, hours, count=40, *, scatter=0.15, wild=0, seed=5):
    """Return looks at a river that clears so; `wild` of them say five times too much."""
    draw = np.random.default_rng(seed)
    notes = []
    for k in range(count):
        climbed, since = draw.uniform(0.1, 1.0), draw.uniform(0, 120)
        drop = stirred * math.sqrt(climbed) * math.exp(-since / hours)
        seen = clear_cm * math.exp(-drop + draw.normal(0, scatter)) * (5 if k < wild else 1)
        notes.append(Note(visibility_cm=seen, climbed_m=climbed, hours=since, spate=k // 3))
    return notes


def test_common_practice_by_hand():
    # ln 150 - 3.27 sqrt(0.3) = 3.2196 at the crest, a third of it (1/e) left of the drop 50 h later
    crest = Clearing().seen(climbed_m=0.3, hours=0)
    later = Clearing().seen(climbed_m=0.3, hours=50)

    assert crest.middle_cm == pytest.approx(25.02, abs=0.01)
    assert later.middle_cm == pytest.approx(
        150 * math.exp(-3.27 * math.sqrt(0.3) / math.e), rel=1e-9
    )
    # 80 % of a normal law lie within 1.2816 standard deviations
    assert crest.high_cm / crest.middle_cm == pytest.approx(math.exp(1.2816 * 0.8))
    assert crest.learned_from.startswith("by common practice: 0 notes of visibility")


@pytest.mark.parametrize(
    ("clear_cm", "stirred", "hours"), [(200, 3.0, 24), (120, 4.5, 90), (300, 2.0, 150)]
)
def test_the_notes_of_a_river_give_its_clearing_time(clear_cm, stirred, hours):
    found = fit_clearing(notes_of(clear_cm, stirred, hours))

    assert found.is_fitted
    assert found.clear_cm == pytest.approx(clear_cm, rel=0.2)
    assert found.stirred == pytest.approx(stirred, rel=0.25)
    assert found.hours == pytest.approx(hours, rel=0.3)


def test_a_few_wild_notes_do_not_carry_it_away():
    calm, wild = fit_clearing(notes_of(200, 3, 40)), fit_clearing(notes_of(200, 3, 40, wild=4))

    assert wild.clear_cm == pytest.approx(calm.clear_cm, rel=0.25)
    assert wild.hours == pytest.approx(calm.hours, rel=0.4)


@pytest.mark.parametrize("count", [0, 1, 7])
def test_fewer_than_eight_notes_leave_common_practice_and_say_how_many_there_are(count):
    found = fit_clearing(notes_of(300, 2, 150, count))

    assert not found.is_fitted
    assert (found.clear_cm, found.hours) == (150, CLEARING_HOURS)
    assert f"{count} notes of visibility" in found.seen(climbed_m=0.3, hours=5).learned_from


def test_eight_notes_of_one_spate_are_too_few_as_well():
    found = fit_clearing([replace(note, spate=1) for note in notes_of(300, 2, 150, 8)])

    assert not found.is_fitted


@given(
    seen=st.lists(
        st.tuples(st.floats(1, 1000), st.floats(0, 4), st.floats(0, 500)), min_size=8, max_size=30
    )
)
def test_no_notes_whatever_carry_it_out_of_its_bounds(seen):
    notes = [
        Note(visibility_cm=v, climbed_m=climbed, hours=hours, spate=k)
        for k, (v, climbed, hours) in enumerate(seen)
    ]

    found = fit_clearing(notes)

    assert 30 <= found.clear_cm <= 1000.001
    assert 0.2 <= found.stirred <= 8
    assert 5.99 <= found.hours <= 240.01
    assert found.spread >= 0.25


@given(
    climbed=st.floats(0, 3),
    more=st.floats(0, 2),
    hours=st.floats(0, 300),
    longer=st.floats(0, 100),
)
def test_a_bigger_spate_is_never_clearer_and_a_longer_wait_never_dirtier(
    climbed, more, hours, longer
):
    clearing = fit_clearing(notes_of(200, 3, 40))

    now = clearing.seen(climbed_m=climbed, hours=hours)

    assert clearing.seen(climbed_m=climbed + more, hours=hours).middle_cm <= now.middle_cm
    assert clearing.seen(climbed_m=climbed, hours=hours + longer).middle_cm >= now.middle_cm
    assert 0 < now.low_cm < now.middle_cm < now.high_cm


def test_beyond_what_was_noted_the_guess_is_wider_and_that_is_said():
    clearing = fit_clearing(notes_of(200, 3, 40))

    def wide(**spate):
        seen = clearing.seen(**spate)
        return seen.high_cm / seen.low_cm, seen.says

    within, said = wide(climbed_m=0.5, hours=24)
    assert said == ()
    bigger, said = wide(climbed_m=2.0, hours=24)
    assert bigger > within
    assert "more than in any spate with a note" in said[0]
    later, said = wide(climbed_m=0.5, hours=200)
    assert later > within
    assert "longer than any note" in said[0]
    climbing, said = wide(climbed_m=0.5, hours=0, is_climbing=True)
    assert climbing > within
    assert "still climbs" in said[0]


def test_fewer_notes_make_a_wider_guess():
    few = replace(fit_clearing(notes_of(200, 3, 40)), notes=8, spread=0.3)
    many = replace(few, notes=80)

    def wide(clearing):
        seen = clearing.seen(climbed_m=0.5, hours=24)
        return seen.high_cm / seen.low_cm

    assert wide(few) > wide(many)


def test_what_is_kept_comes_back():
    found = fit_clearing(notes_of(200, 3, 40))

    assert Clearing.from_json(found.as_json()) == found


def spate(h):
    """Return 0.3 m, and from six days ago a climb of 0.6 m in ten hours that falls away again."""
    since = h + 144
    if since <= 0:
        return 0.3
    return 0.3 + (0.06 * since if since <= 10 else 0.6 * math.exp(-(since - 10) / 48))


def test_a_look_stands_beside_the_spate_it_was_made_in():
    levels = hourly(spate, 20)

    note = note_of(60.0, NOW - 86 * HOUR, levels, STEP)

    assert note.climbed_m == pytest.approx(0.6, abs=0.02)
    assert note.hours == pytest.approx(48, abs=1)
    again = note_of(70.0, NOW - 80 * HOUR, levels, STEP)
    assert again.spate == note.spate


def test_a_look_at_a_settled_river_has_no_spate_and_levels_after_it_are_not_looked_at():
    levels = hourly(spate, 20)

    assert note_of(150.0, NOW - 146 * HOUR, levels, STEP) == Note(
        visibility_cm=150.0, climbed_m=0.0, hours=0.0, spate=0
    )


def test_a_look_without_levels_beside_it_is_no_note():
    assert note_of(150.0, NOW, [], STEP) is None
