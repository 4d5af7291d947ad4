"""Money in and back: once each, never from nothing, and the ledger says the same."""

import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.core.management import CommandError, call_command
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from guiding.bookings.models import Booking, Payment
from guiding.bookings.offers import accept, cancel
from guiding.bookings.payments import (
    PaymentRefused,
    refund,
    reverse_payment,
    take_payment,
    to_amount,
)
from guiding.bookings.wanted import BookingRefused
from guiding.ledger.actions import EntryRefused
from guiding.ledger.balances import trial_balance
from guiding.ledger.models import LedgerIsAppendOnly, Posting
from guiding.ledger.vouchers import VoucherRefused, lapse_vouchers, sell_voucher
from tests.bookings.sold import AT, make_offer, own, passed_on
from tests.factories import make_person
from tests.journeys.order import disorder

pytestmark = pytest.mark.django_db
TODAY = AT.date()


def accepted(**changes):
    booking = make_offer(**changes)
    accept(booking, at=AT)
    return booking


def pay(booking, amount, asked_as, **changes):
    fields = {"how": "transfer", "received_on": TODAY, "at": AT, **changes}
    return take_payment(
        booking, person=booking.payer, amount=D(amount), asked_as=asked_as, **fields
    )


def balance(account):
    return next(row.amount for row in trial_balance().balances if row.account == account)


def test_a_request_sent_twice_is_one_payment():
    booking = accepted()

    first, again = pay(booking, "95.00", "form-1"), pay(booking, "95.00", "form-1")

    assert first == again
    assert balance("bank") == D("95.00")
    with pytest.raises(PaymentRefused, match="used before for another payment"):
        pay(booking, "96.00", "form-1")
    assert disorder(AT) == []


def test_a_tip_is_no_sale_and_settles_nothing():
    booking = accepted()

    pay(booking, "20.00", "tip", purpose="tip")

    booking.refresh_from_db()
    assert booking.owed_amount == D("380.00")
    assert (balance("tips"), balance("sales")) == (D("-20.00"), D("0.00"))


def test_a_voucher_half_used_has_the_other_half_left():
    booking = accepted()
    voucher = sell_voucher(
        buyer=make_person(), amount=D(100), on=TODAY, lapses_on=None, asked_as="v", at=AT
    )

    pay(booking, "50.00", "a", how="voucher", voucher=voucher)

    voucher.refresh_from_db()
    assert (voucher.left_amount, balance("vouchers")) == (D("50.00"), D("-50.00"))
    with pytest.raises(VoucherRefused, match=r"has 50\.00 left; 51 was asked"):
        pay(booking, "51", "b", how="voucher", voucher=voucher)
    assert disorder(AT) == []


def test_a_voucher_is_good_on_its_last_day_and_not_after_it():
    booking = accepted()
    voucher = sell_voucher(
        buyer=make_person(), amount=D(100), on=TODAY, lapses_on=TODAY, asked_as="v", at=AT
    )
    pay(booking, "10", "a", how="voucher", voucher=voucher)
    tomorrow = TODAY + timedelta(days=1)

    with pytest.raises(VoucherRefused, match="was good until"):
        pay(booking, "10", "b", how="voucher", voucher=voucher, received_on=tomorrow)
    assert (lapse_vouchers(on=TODAY, at=AT), lapse_vouchers(on=tomorrow, at=AT)) == (0, 1)
    assert balance("vouchers_lapsed") == D("-90.00")
    assert disorder(AT) == []


def test_a_payment_recorded_in_error_is_taken_back_once():
    booking = accepted()
    payment = pay(booking, "95.00", "a")

    reverse_payment(payment, why="wrong trip", on=TODAY, at=AT)

    booking.refresh_from_db()
    assert (booking.owed_amount, balance("bank")) == (D("380.00"), D("0.00"))
    with pytest.raises(PaymentRefused, match="taken back before"):
        reverse_payment(payment, why="again", on=TODAY, at=AT)


def test_a_posting_is_never_altered_nor_deleted():
    accepted()
    posting = Posting.objects.first()

    for act in (posting.save, posting.delete, Posting.objects.all().delete):
        with pytest.raises(LedgerIsAppendOnly):
            act()
    with pytest.raises(LedgerIsAppendOnly):
        Posting.objects.update(amount=1)


def test_tax_falls_due_at_each_lines_own_point():
    booking = accepted(
        lines=(
            own("120.00", tax_point="sold"),
            own("240.00", tax_point="paid"),
            own("60.00", tax_point="fished"),
            passed_on("80.00"),
        )
    )
    assert balance("tax") == D("-20.00")  # 120.00 at 20 % within

    pay(booking, "250.00", "half")  # half of 500.00: half of the 40.00 in the second line

    assert balance("tax") == D("-40.00")
    assert balance("owners") == D("-80.00")


@pytest.mark.parametrize("typed", ["1e5", "NaN", "-1", "0", "10.001", "", "١٢", "1,5", "9" * 20])
def test_what_is_no_amount_is_refused_in_words(typed):
    if typed == "١٢":
        assert to_amount(typed) == 12  # digits of another script are digits
        return
    with pytest.raises(PaymentRefused, match="The amount is"):
        to_amount(typed)


def test_an_offer_is_not_paid_for_before_it_is_accepted():
    with pytest.raises(PaymentRefused, match="once it is accepted"):
        pay(make_offer(), "10", "a")


def test_the_ledger_command_prints_a_balance_that_balances(capsys):
    pay(accepted(), "95.00", "a")

    call_command("ledger", "--json")

    told = json.loads(capsys.readouterr().out)
    assert told["is_balanced"] is True
    assert told["debit"] == told["credit"] == "380.00"
    call_command("ledger", "--json", "--as-of", "2026-02-28")
    assert json.loads(capsys.readouterr().out)["debit"] == "0.00"


def test_the_cost_of_calling_off_is_told_and_nothing_is_changed(capsys):
    booking = accepted()
    before = Posting.objects.count()

    call_command(
        "cancel_cost", booking.reference, "--reason", "client", "--at", "2026-05-25", "--json"
    )

    told = json.loads(capsys.readouterr().out)
    assert (told["kept"], told["still_due"], told["days_to_go"]) == ("230.00", "230.00", 30)
    assert Posting.objects.count() == before
    for wrong, says in (
        ((booking.reference, "--reason", "mood"), "reason is 'mood'; it is one of client"),
        (("none", "--reason", "client"), "There is no booking 'none'"),
    ):
        with pytest.raises(CommandError, match=says):
            call_command("cancel_cost", *wrong)


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["pay", "tip", "voucher", "refund", "reverse", "cancel"]),
        st.integers(1, 30_000).map(lambda pennies: D(pennies) / 100),
        st.sampled_from(["client", "unsafe", "owner", "no_show"]),
    ),
    max_size=8,
)


@settings(suppress_health_check=list(HealthCheck))
@given(steps=STEPS, days=st.integers(0, 110))
def test_whatever_is_done_in_whatever_order_no_credit_comes_from_nothing(steps, days):
    booking = accepted()
    voucher = sell_voucher(
        buyer=booking.payer,
        amount=D(100),
        on=TODAY,
        lapses_on=None,
        asked_as=booking.reference,
        at=AT,
    )
    at = datetime(2026, 3, 5, 12, tzinfo=UTC) + timedelta(days=days)
    for number, (step, amount, reason) in enumerate(steps):
        key = f"{booking.reference}-{number}"
        try:
            if step in ("pay", "tip"):
                pay(booking, amount, key, purpose="tip" if step == "tip" else "trip")
            elif step == "voucher":
                pay(booking, amount, key, how="voucher", voucher=voucher)
            elif step == "refund":
                refund(booking, amount=amount, how="card", paid_on=at.date(), asked_as=key, at=at)
            elif step == "reverse" and (payment := booking.payments.last()):
                reverse_payment(payment, why="error", on=at.date(), at=at)
            elif step == "cancel":
                cancel(booking, reason=reason, at=at)
        except (BookingRefused, EntryRefused):
            pass
        booking = Booking.objects.get(pk=booking.pk)
        assert disorder(at) == []

    given_back = sum(
        payment.amount
        for payment in Payment.objects.filter(purpose="refund", reversed_at=None, booking=booking)
    )
    came_in = sum(
        payment.amount for payment in Payment.objects.filter(purpose="trip", booking=booking)
    )
    assert given_back <= came_in
