"""A price list and a party -> lines, counted by hand."""

from datetime import date
from decimal import Decimal as D

from guiding.bookings.pricing import PartyCount, PriceOnFile, lines_for, total_of

MAY = (date(2026, 5, 1), date(2026, 5, 31))
YEAR = (date(2026, 1, 1), date(2026, 12, 31))
DAY = date(2026, 5, 20)


def price(kind, words, per, amount, *, season=YEAR, **changes):
    fields = {
        "water": "",
        "part": "",
        "is_always": True,
        "is_passed_on": False,
        "owner": "",
        "tax_treatment": "standard",
        "tax_percent": D(20),
        "tax_point": "fished",
        **changes,
    }
    return PriceOnFile(
        kind=kind,
        words=words,
        per=per,
        amount=D(amount),
        first_date=season[0],
        last_date=season[1],
        **fields,
    )


LIST = (
    price("rod", "a rod", "rod_part", "60.00"),
    price("rod", "a rod on Long Water", "rod_part", "75.00", water="Long Water"),
    price("rod", "a rod on Long Water in May", "rod_part", "90.00", water="Long Water", season=MAY),
    price("sharing", "sharing a rod", "person_part", "15.00"),
    price("guiding", "the guide", "party_day", "200.00"),
    price("tuition", "an hour of casting", "trip", "40.00", is_always=False),
    price("permit", "permit", "rod_part", "24.00", is_passed_on=True, owner="Owner"),
)


def lines(*, rods=1, sharers=0, water="Long Water", parts=("morning",), wants=(), day=DAY):
    return lines_for(
        LIST,
        water=water,
        days=[(day, part) for part in parts],
        party=PartyCount(rods=rods, sharers=sharers, people=rods + sharers),
        wants=wants,
    )


def of(kind, found):
    return [(line.quantity, line.unit_amount) for line in found if line.kind == kind]


def test_the_narrowest_price_is_taken_water_before_season():
    assert of("rod", lines()) == [(1, D("90.00"))]
    assert of("rod", lines(day=date(2026, 7, 1))) == [(1, D("75.00"))]
    assert of("rod", lines(water="Other Water")) == [(1, D("60.00"))]


def test_two_who_share_a_rod_are_one_rod_and_one_who_shares():
    found = lines(rods=1, sharers=1)

    assert of("rod", found) == [(1, D("90.00"))]
    assert of("sharing", found) == [(1, D("15.00"))]
    assert of("permit", found) == [(1, D("24.00"))]


def test_a_price_a_day_is_asked_once_a_day_and_one_a_part_in_each():
    found = lines(rods=2, parts=("morning", "afternoon"))

    assert of("guiding", found) == [(1, D("200.00"))]
    assert of("rod", found) == [(2, D("90.00")), (2, D("90.00"))]
    assert total_of(found) == D("656.00")  # 4 x 90, 4 x 24, 200


def test_what_is_not_always_taken_is_on_the_bill_only_where_it_was_asked_for():
    assert of("tuition", lines()) == []
    assert of("tuition", lines(wants=("tuition",))) == [(1, D("40.00"))]


def test_what_is_passed_on_carries_no_tax_of_ours():
    by_kind = {line.kind: line for line in lines()}

    assert by_kind["rod"].tax_amount == D("15.00")  # 90.00 at 20 % within
    assert by_kind["permit"].tax_amount == D("0.00")
