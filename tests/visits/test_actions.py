"""Links are made when a letter leaves, kept as a hash, and withheld where nothing would open."""

import hashlib
from datetime import UTC, datetime, timedelta

import pytest

from guiding.bookings.offers import cancel
from guiding.history.models import Event
from guiding.mail.sending import LinkWithheld
from guiding.visits.actions import make_link, note_visit, revoke_links
from guiding.visits.models import PrivateLink, Visit
from tests.factories import make_booking, make_link_row, make_person

pytestmark = pytest.mark.django_db


def test_a_link_is_unguessable_and_only_its_hash_is_kept(settings, moment):
    settings.SITE_ADDRESS = "https://haugh.invalid/"
    booking = make_booking()

    addresses = {make_link(f"{booking.key}:{booking.payer.key}", at=moment) for _ in range(20)}

    assert len(addresses) == 20
    tokens = [address.removeprefix("https://haugh.invalid/v/").rstrip("/") for address in addresses]
    assert {len(token) for token in tokens} == {43}  # 32 bytes in base 64 without padding
    rows = list(PrivateLink.objects.values())
    assert not any(token in str(row) for row in rows for token in tokens)
    hashes = {hashlib.sha256(token.encode()).hexdigest() for token in tokens}
    assert {row["token_sha256"] for row in rows} == hashes


def test_a_link_stays_open_for_thirty_days_after_the_last_day(moment):
    booking = make_booking()

    make_link(f"{booking.key}:{booking.payer.key}", at=moment)

    last = booking.days.last().ends_at
    assert PrivateLink.objects.get().expires_at == last + timedelta(days=30)
    assert PrivateLink.objects.standing(last + timedelta(days=30, seconds=-1)).exists()
    assert not PrivateLink.objects.standing(last + timedelta(days=30)).exists()


def test_a_link_that_would_open_nothing_is_withheld(moment):
    booking = make_booking(reference="T-9")
    theirs = f"{booking.key}:{booking.payer.key}"

    with pytest.raises(LinkWithheld, match="is not in the party of T-9"):
        make_link(f"{booking.key}:{make_person().key}", at=moment)
    with pytest.raises(LinkWithheld, match="T-9 is over"):
        make_link(theirs, at=datetime(2026, 6, 28, tzinfo=UTC))
    cancel(booking, reason="owner", at=moment)
    with pytest.raises(LinkWithheld, match="T-9 was called off"):
        make_link(theirs, at=moment)

    assert not PrivateLink.objects.exists()


@pytest.mark.parametrize(
    "link_for", ["", "nobody", "59a68ba7-b21c-440a-add9-c7aaed2cf71a", "a:b:c"]
)
def test_a_request_that_names_nobody_is_an_error(link_for, moment):
    with pytest.raises(ValueError, match="badly formed"):
        make_link(link_for, at=moment)


def test_links_are_revoked_for_one_person_or_for_all_and_that_is_on_record(moment):
    booking = make_booking()
    mine = make_link_row(booking=booking)
    other = make_link_row(booking=booking, person=make_person())

    assert revoke_links(booking, booking.payer, at=moment) == 1
    assert list(PrivateLink.objects.standing(moment)) == [other]
    assert revoke_links(booking, at=moment) == 1
    assert revoke_links(booking, at=moment) == 0

    mine.refresh_from_db()
    assert mine.revoked_at == moment
    assert Event.objects.filter(what="links revoked").count() == 2


def test_a_page_read_again_within_minutes_is_one_visit(moment):
    link = make_link_row()

    for minutes in (0, 5, 11):
        note_visit(link, "issue 2", at=moment + timedelta(minutes=minutes))
    note_visit(link, "issue 2 PDF", at=moment)

    assert Visit.objects.filter(what="issue 2").count() == 2
    assert Visit.objects.filter(what="issue 2 PDF").count() == 1
