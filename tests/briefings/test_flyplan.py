"""The few flies laid out for the day, and who starts with which."""

import pytest

from briefings.setups.flyplan import lay_out
from guiding.tackle.setup import TackleBox
from tests.briefings.boxes import FULL_BOX, advise, make_fly
from tests.factories import make_conditions


def laid(box=FULL_BOX, rods=1, **changes):
    advice = advise(box=box, rods=rods, **changes)
    conditions = make_conditions(**{k: v for k, v in changes.items() if k not in {"fish"}})
    return advice, lay_out(conditions, box, advice, rods=rods)


@pytest.mark.parametrize("changes", [{}, {"level_class": "low"}, {"water": 5.0}, {"water": None}])
def test_four_or_five_point_flies_and_two_or_three_droppers_are_laid_out(changes):
    # common practice, no source
    advice, day = laid(**changes)

    assert 4 <= len(day.points) <= 5
    assert 2 <= len(day.droppers) <= 3
    assert day.points[0] == advice.setup.point
    assert len({fly.pattern for fly in day.points}) >= 3
    assert len(set(day.points)) == len(day.points)
    assert day.says == ()


def test_the_fly_that_the_likeliest_change_would_ask_for_is_laid_out_too():
    advice, day = laid()

    assert advice.alternatives[0].setup.point in day.points


@pytest.mark.parametrize("rods", [1, 2, 3, 4, 6])
def test_no_two_rods_start_on_the_same_point_fly_while_the_box_allows(rods):
    # common practice, no source
    advice, day = laid(rods=rods)

    points = [point for point, _ in day.starts]
    assert len(set(points)) == rods
    assert points[0] == advice.setup.point
    assert set(points[:5]) <= set(day.points)
    assert 4 <= len(day.points) <= 5  # few patterns, however many rods


def test_two_rods_start_on_different_patterns():
    # common practice, no source
    _, day = laid(rods=2)

    (first, first_dropper), (second, second_dropper) = day.starts
    assert first.pattern != second.pattern
    assert first_dropper.pattern != second_dropper.pattern


def test_where_the_set_up_has_no_dropper_nobody_starts_with_one():
    _, day = laid(rods=2, wind=12.0)

    assert [dropper for _, dropper in day.starts] == [None, None]
    assert day.droppers


def test_a_box_of_one_fly_says_what_it_lacks():
    box = TackleBox(flies=(make_fly(),), lines=FULL_BOX.lines)

    _, day = laid(box=box, rods=2)

    assert day.points == box.flies
    assert [point for point, _ in day.starts] == [*box.flies, *box.flies]
    assert "1 point flies" in day.says[0] or "1 point fly" in day.says[0]
    assert any("too few point flies for 2 rods" in line for line in day.says)


def test_a_box_without_a_line_still_lays_out_its_flies():
    advice, day = laid(box=TackleBox(flies=FULL_BOX.flies))

    assert advice.setup is None
    assert day.points
    assert day.starts == ()


def test_at_a_stop_nothing_is_laid_out_and_that_is_said():
    _, day = laid(water=21.0)

    assert (day.points, day.droppers, day.starts) == ((), (), ())
    assert day.says


def test_fewer_than_one_rod_is_refused():
    with pytest.raises(ValueError, match="rods is 0"):
        lay_out(make_conditions(), FULL_BOX, advise(), rods=0)
