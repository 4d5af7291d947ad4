"""Who gets which loan kit: turns, sizes, and what is out elsewhere on the day."""

from dataclasses import replace
from datetime import date

import pytest

from briefings.loans import everybody_out, kits_on, share_out
from guiding.bookings.models import PartyMember
from guiding.bookings.offers import cancel
from guiding.bookings.wanted import PartyWanted
from guiding.tackle.models import LoanItem
from tests.briefings.groundworks import LOANS, make_person_row
from tests.factories import (
    make_booking,
    make_conditions,
    make_day,
    make_light,
    make_person,
    make_water,
)

DAY = date(2026, 5, 28)
WADERS = ("waders", "medium")


def member(pk, **person):
    return PartyMember(pk=pk, role="rod", person=make_person_of_size(pk, **person))


def make_person_of_size(pk, **changes):

    return make_person_row(pk, **{"foot_eu": 42, "height_m": 1.8, "hand": "right", **changes})


def test_the_one_pair_goes_to_whose_turn_comes_first():
    kits = share_out([member(1), member(2)], LOANS, DAY, [None])

    assert kits[1].set_aside == (WADERS,)
    assert kits[2].set_aside == ()
    assert any("none left to lend" in line for line in kits[2].buy)


def test_a_pair_that_does_not_fit_is_left_for_the_next():
    kits = share_out([member(1, foot_eu=48), member(2)], LOANS, DAY, [None])

    assert kits[1].set_aside == ()
    assert kits[2].set_aside == (WADERS,)


def test_a_size_not_known_sets_nothing_aside_and_asks():
    kits = share_out([member(1, foot_eu=None), member(2)], LOANS, DAY, [None])

    assert "What is your shoe size? We need it for boots and waders." in kits[1].missing
    assert kits[2].set_aside == (WADERS,)


def test_a_day_of_two_parts_asks_for_one_pair_and_for_the_lamp_of_the_evening():
    morning = make_conditions(day=DAY)
    evening = replace(make_conditions(day=DAY), part="evening", light=make_light(DAY))
    two = tuple(replace(item, left=2) for item in LOANS)

    kits = share_out([member(1), member(2)], two, DAY, [morning, evening])

    assert [kit.set_aside for kit in kits.values()] == [(WADERS,), (WADERS,)]
    assert "Head lamp and a spare" in kits[1].bring
    assert len(kits[1].bring) == len(set(kits[1].bring))


@pytest.mark.django_db
def test_turns_go_by_reference_whichever_pack_is_written_first(moment):
    LoanItem.objects.create(
        kind="waders", size="medium", smallest_foot_eu=39, largest_foot_eu=44, count=1
    )
    water = make_water()
    rods = [make_person(foot_eu=42), make_person(foot_eu=42), make_person(foot_eu=42)]
    later, sooner, off = (
        make_booking(
            reference=reference,
            water=water,
            payer=rod,
            party=(PartyWanted(person=rod, role="rod"),),
            days=(make_day(water, DAY),),
        )
        for reference, rod in zip(("B-2", "B-1", "A-0"), rods, strict=True)
    )
    cancel(off, reason="client", at=moment)

    out = everybody_out([DAY])
    kits = kits_on([DAY], [None])

    assert [row.booking_id for row in out] == [sooner.pk, later.pk]
    assert kits[out[0].pk].set_aside == (("waders", "medium"),)
    assert kits[out[1].pk].set_aside == ()
