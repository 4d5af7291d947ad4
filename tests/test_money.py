"""Money to the penny, and shares that add up."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.money import percent_of, share_out, tax_within, to_money

PENNIES = st.integers(-10_000_000, 10_000_000).map(lambda pennies: Decimal(pennies) / 100)


def test_half_a_penny_goes_away_from_nought():
    assert to_money(Decimal("2.345")) == Decimal("2.35")
    assert to_money(Decimal("-2.345")) == Decimal("-2.35")
    assert str(to_money(Decimal("-0.001"))) == "0.00"


def test_a_hundred_among_three_is_a_hundred():
    assert share_out(Decimal("100.00"), [1, 1, 1]) == (
        Decimal("33.34"),
        Decimal("33.33"),
        Decimal("33.33"),
    )


def test_tax_is_taken_out_of_a_price_that_holds_it():
    # 120.00 at 20 % is 100.00 and 20.00
    assert tax_within(Decimal("120.00"), Decimal(20)) == Decimal("20.00")
    assert percent_of(Decimal("99.99"), Decimal("12.5")) == Decimal("12.50")


@given(amount=PENNIES, weights=st.lists(st.integers(0, 1000), min_size=1, max_size=12))
def test_shares_add_up_to_the_penny_and_none_has_the_wrong_sign(amount, weights):
    if sum(weights) == 0:
        return

    parts = share_out(amount, weights)

    assert sum(parts) == amount
    assert all(part * amount >= 0 for part in parts)
    for part, weight in zip(parts, weights, strict=True):
        exact = amount * weight / sum(weights)
        assert abs(part - exact) < Decimal("0.01")


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1]])
def test_weights_that_share_nothing_are_refused(weights):
    with pytest.raises(ValueError, match="weights are"):
        share_out(Decimal(1), weights)


@pytest.mark.parametrize("amount", [Decimal("NaN"), Decimal("Infinity"), Decimal("1e12"), 1.5])
def test_what_is_no_amount_is_refused(amount):
    with pytest.raises(ValueError, match="amount is"):
        to_money(amount)
