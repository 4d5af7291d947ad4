"""What calling off costs, worked by hand: own 300.00 in three lines, 80.00 passed on."""

from datetime import UTC, date, datetime
from decimal import Decimal as D
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.bookings.cancellation import (
    CancelQuestion,
    SoldLine,
    TermRow,
    cancel_cost,
    days_to_go,
)

LONDON = ZoneInfo("Europe/London")
FIRST = date(2026, 6, 24)


def term(reason, from_days, keep, bears="client"):
    return TermRow(reason=reason, from_days=from_days, keep_percent=D(keep), permit_borne_by=bears)


TERMS = (
    term("client", 60, 10),
    term("client", 30, 50),
    term("client", 0, 100),
    term("no_show", 0, 100),
    term("guide_ill", 0, 0, "house"),
    term("unsafe", 0, 0, "house"),
    term("unfishable", 0, "33.33"),
)
LINES = (
    SoldLine(words="rod", amount=D("100.00")),
    SoldLine(words="rod", amount=D("100.00")),
    SoldLine(words="tuition", amount=D("100.00")),
    SoldLine(
        words="permit",
        amount=D("80.00"),
        is_passed_on=True,
        owner="Owner",
        comes_back_percent=D(25),
    ),
)


def ask(at, reason="client", paid="380.00", terms=TERMS, lines=LINES, first=FIRST):
    return cancel_cost(
        CancelQuestion(
            reason=reason,
            at=at,
            first_date=first,
            zone=LONDON,
            lines=lines,
            paid_amount=D(paid),
            terms=terms,
        )
    )


@pytest.mark.parametrize(
    ("day", "kept"),
    [
        # the owner keeps 60.00 of the 80.00, and the client bears it
        (date(2026, 4, 25), "90.00"),  # 60 days: 10 % of 300
        (date(2026, 4, 26), None),  # 59 days: the row from 30
        (date(2026, 5, 25), "210.00"),  # 30 days: 50 % of 300
        (date(2026, 5, 26), "360.00"),  # 29 days: all of it
        (date(2026, 6, 24), "360.00"),  # the day itself
        (date(2026, 6, 25), "360.00"),  # the day after
    ],
)
def test_each_boundary_day_has_its_own_share(day, kept):
    cost = ask(datetime(day.year, day.month, day.day, 11, tzinfo=UTC))

    assert cost.kept_amount == D(kept or "210.00")
    assert cost.refund_amount == D("380.00") - cost.kept_amount
    assert cost.still_due_amount == 0


def test_the_last_second_of_a_boundary_day_is_counted_by_the_rivers_clock():
    # London is an hour ahead in May: 22:59:59 UTC is still the 25th there, 23:00 is the 26th
    still = ask(datetime(2026, 5, 25, 22, 59, 59, tzinfo=UTC))
    over = ask(datetime(2026, 5, 25, 23, 0, tzinfo=UTC))

    assert (still.days_to_go, still.kept_amount) == (30, D("210.00"))
    assert (over.days_to_go, over.kept_amount) == (29, D("360.00"))


@pytest.mark.parametrize(
    ("at", "first", "days"),
    [
        (datetime(2026, 3, 29, 0, 30, tzinfo=UTC), date(2026, 3, 30), 1),  # 23 hours that night
        (datetime(2026, 3, 28, 23, 59, tzinfo=UTC), date(2026, 3, 30), 2),
        (datetime(2026, 10, 24, 23, 30, tzinfo=UTC), date(2026, 10, 26), 1),  # 00:30 on the 25th
        (datetime(2026, 10, 25, 23, 30, tzinfo=UTC), date(2026, 10, 26), 1),  # 25 hours that day
        (datetime(2028, 2, 28, 12, tzinfo=UTC), date(2028, 3, 1), 2),  # a leap day lies between
        (datetime(2027, 2, 28, 12, tzinfo=UTC), date(2027, 3, 1), 1),
    ],
)
def test_days_are_dates_whatever_the_clocks_do(at, first, days):
    assert days_to_go(at, first, LONDON) == days


@pytest.mark.parametrize(
    ("reason", "kept", "house"),
    [
        ("client", "360.00", "0.00"),
        ("no_show", "360.00", "0.00"),
        ("guide_ill", "0.00", "60.00"),
        ("unsafe", "0.00", "60.00"),
        ("unfishable", "159.99", "0.00"),  # 33.33 % of 300.00 is 99.99, and 60.00
    ],
)
def test_each_reason_has_its_own_terms_and_says_who_bears_the_permit(reason, kept, house):
    cost = ask(datetime(2026, 6, 24, 7, tzinfo=UTC), reason)

    assert (cost.kept_amount, cost.house_bears_amount) == (D(kept), D(house))


def test_a_reason_without_a_term_is_not_known_rather_than_free():
    cost = ask(datetime(2026, 6, 1, tzinfo=UTC), "closed_by_order")

    assert not cost.is_known
    assert cost.why == "No term is on file for closed_by_order 23 days ahead: decide by hand."


def test_a_deposit_smaller_than_what_is_kept_leaves_the_rest_due():
    cost = ask(datetime(2026, 6, 20, tzinfo=UTC), paid="95.00")

    assert (cost.refund_amount, cost.still_due_amount) == (D("0.00"), D("265.00"))


def test_a_share_that_does_not_divide_still_adds_up_over_the_lines():
    terms = (term("client", 0, "33.3333"),)
    lines = tuple(SoldLine(words="rod", amount=D("33.33")) for _ in range(3))

    cost = ask(datetime(2026, 6, 20, tzinfo=UTC), terms=terms, lines=lines)

    assert cost.kept == (D("11.11"), D("11.11"), D("11.11"))
    assert cost.kept_amount == D("33.33")


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="without a zone"):
        ask(datetime(2026, 6, 20))  # noqa: DTZ001 (that is the case)


AMOUNTS = st.integers(0, 500_000).map(lambda pennies: D(pennies) / 100)


@given(
    amounts=st.lists(st.tuples(AMOUNTS, st.booleans()), min_size=1, max_size=8),
    keep=st.integers(0, 10_000).map(lambda n: D(n) / 100),
    paid=AMOUNTS,
    bears=st.sampled_from(["client", "house"]),
)
def test_nobody_pays_more_than_the_price_and_every_penny_is_somewhere(amounts, keep, paid, bears):
    lines = tuple(
        SoldLine(words="line", amount=amount, is_passed_on=is_passed_on)
        for amount, is_passed_on in amounts
    )

    cost = ask(
        datetime(2026, 6, 20, tzinfo=UTC),
        paid=str(paid),
        terms=(term("client", 0, keep, bears),),
        lines=lines,
    )

    assert sum(cost.kept) == cost.kept_amount <= cost.total_amount
    assert all(0 <= kept <= line.amount for kept, line in zip(cost.kept, lines, strict=True))
    assert paid + cost.still_due_amount - cost.refund_amount == cost.kept_amount
