"""The outbox is drained against a real SMTP server."""

from datetime import timedelta

import pytest

from guiding.bookings.calendars import trip_invitation
from guiding.mail.models import LINK_PLACEHOLDER, Letter
from guiding.mail.sending import (
    LEASE,
    LONGEST_WAIT,
    MOST_TRIES,
    LinkWithheld,
    Sent,
    send_due,
    wait_after,
)
from tests.factories import make_booking, make_document, make_letter

# the server's thread sees nothing of the database, so one transaction a test is enough
pytestmark = pytest.mark.django_db

LINK = "https://haugh.invalid/v/Zk3rX9&unusable/"


def no_link(link_for, *, at):
    raise AssertionError("no letter of this test asks for a link")


def link(link_for, *, at):
    return LINK


def parts(message):
    return [part.get_content_type() for part in message.walk()]


def test_a_letter_arrives_whole_and_is_sent_once(postman, moment):
    data = bytes(range(256)) * 400 + b"%%EOF"
    document = make_document(data=data, name="T-1-ada-final-2.pdf", at=moment)
    booking = make_booking(day=moment.date())
    entry = trip_invitation(
        booking,
        booking.payer,
        sequence=0,
        at=moment,
        organizer_name="The Guide",
        organizer_address="guide@spatebook.invalid",
    )
    letter = make_letter(
        to_name='Reed, Łucja "Lu"',
        to_address="lu@example.org",
        subject="Donnerstag: Fluß fällt – Ŵater",
        text=f"Meet at 08:30.\nYour page: {LINK_PLACEHOLDER}\n",
        html=f'<p>Meet at 08:30. <a href="{LINK_PLACEHOLDER}">Your page</a></p>',
        documents=[document],
        calendar_text=entry,
        link_for="booking:person",
        at=moment,
    )

    first = send_due(at=moment, make_link=link)
    again = send_due(at=moment + timedelta(days=1), make_link=link)

    assert (first, again) == (Sent(sent=1), Sent())
    (message,) = postman.arrived
    assert message["Message-ID"] == letter.message_id
    assert message["Subject"] == letter.subject
    (to,) = message["To"].addresses
    assert (to.display_name, to.addr_spec) == ('Reed, Łucja "Lu"', "lu@example.org")
    assert parts(message) == [
        "multipart/mixed",
        "multipart/alternative",
        "text/plain",
        "text/html",
        "text/calendar",
        "application/pdf",
    ]
    text, html, calendar, pdf = (p for p in message.walk() if not p.is_multipart())
    assert text.get_content().splitlines() == ["Meet at 08:30.", f"Your page: {LINK}"]
    assert f'href="{LINK.replace("&", "&amp;")}"' in html.get_content()
    assert calendar.get_param("method") == "REQUEST"
    assert calendar.get_param("charset").lower() == "utf-8"
    assert calendar.get_content_disposition() is None
    assert calendar.get_content().splitlines() == entry.splitlines()
    assert pdf.get_payload(decode=True) == document.read() == data
    assert pdf.get_filename() == "T-1-ada-final-2.pdf"
    letter.refresh_from_db()
    assert letter.sent_at is not None
    assert (letter.tries, letter.claimed_until, letter.last_error) == (1, None, "")


def test_no_table_holds_the_link_that_was_mailed(postman, moment):
    make_letter(text=f"See {LINK_PLACEHOLDER}", link_for="b:p", at=moment)

    send_due(at=moment, make_link=link)

    assert LINK in postman.arrived[0].get_content()
    assert all(LINK not in str(row) for row in Letter.objects.values())


def test_a_refused_address_is_given_up_with_the_servers_words_and_stops_nobody(postman, moment):
    postman.moods = {"gone@example.org": "unknown", "late@example.org": "busy"}
    gone = make_letter(to_address="gone@example.org", at=moment)
    late = make_letter(to_address="late@example.org", at=moment)
    make_letter(to_address="here@example.org", at=moment)

    result = send_due(at=moment, make_link=no_link)

    assert result == Sent(sent=1, failed=1, given_up=1)
    assert [m["To"].addresses[0].addr_spec for m in postman.arrived] == ["here@example.org"]
    gone.refresh_from_db()
    late.refresh_from_db()
    assert "no such mailbox" in gone.last_error
    assert gone.given_up_at is not None
    assert "try again later" in late.last_error
    assert late.given_up_at is None
    assert late.due_at > moment
    assert not Letter.objects.due(moment + timedelta(seconds=50)).exists()


def test_a_letter_that_failed_goes_later_under_the_same_message_id(postman, moment):
    postman.moods = {"ada@example.org": "busy"}
    letter = make_letter(to_address="ada@example.org", at=moment)
    send_due(at=moment, make_link=no_link)
    postman.moods = {}

    too_early = send_due(at=moment + timedelta(seconds=30), make_link=no_link)
    later = send_due(at=moment + timedelta(minutes=2), make_link=no_link)

    assert (too_early, later) == (Sent(), Sent(sent=1))
    assert [m["Message-ID"] for m in postman.arrived] == [letter.message_id]


def test_a_dropped_connection_is_tried_again(postman, moment):
    postman.moods = {"ada@example.org": "hangs_up"}
    letter = make_letter(to_address="ada@example.org", at=moment)
    other = make_letter(to_address="bo@example.org", at=moment)

    assert send_due(at=moment, make_link=no_link) == Sent(sent=1, failed=1)

    letter.refresh_from_db()
    assert "Disconnected" in letter.last_error
    assert [m["Message-ID"] for m in postman.arrived] == [other.message_id]


def test_a_server_that_is_not_there_loses_nothing(settings, postman, moment):
    settings.EMAIL_PORT = 1  # nobody listens on it
    make_letter(at=moment)
    assert send_due(at=moment, make_link=no_link) == Sent(failed=1)
    settings.EMAIL_PORT = postman.port

    assert send_due(at=moment + timedelta(minutes=2), make_link=no_link) == Sent(sent=1)


def test_a_server_that_quotes_the_letter_leaves_no_link_behind(postman, moment):
    postman.moods = {"ada@example.org": "quotes"}
    make_letter(
        to_address="ada@example.org", text=f"See {LINK_PLACEHOLDER} now", link_for="b:p", at=moment
    )

    assert send_due(at=moment, make_link=link) == Sent(given_up=1)

    said = Letter.objects.get().last_error
    assert "not wanted" in said
    assert "Zk3rX9" not in said


def test_a_withheld_link_gives_the_letter_up_and_a_broken_one_is_tried_again(postman, moment):
    def withhold(link_for, *, at):
        raise LinkWithheld("the trip was called off")

    def stumble(link_for, *, at):
        raise OSError("disk full")

    letter = make_letter(text=f"See {LINK_PLACEHOLDER}", link_for="b:p", at=moment)

    assert send_due(at=moment, make_link=stumble) == Sent(failed=1)
    assert send_due(at=moment + timedelta(minutes=2), make_link=withhold) == Sent(given_up=1)

    letter.refresh_from_db()
    assert letter.last_error == "LinkWithheld: the trip was called off"
    assert postman.arrived == []


def test_a_changed_document_is_never_sent(postman, moment):
    document = make_document(data=b"the pack", at=moment)
    document.path.write_bytes(b"another")
    letter = make_letter(documents=[document], at=moment)

    assert send_due(at=moment, make_link=no_link) == Sent(failed=1)

    letter.refresh_from_db()
    assert "is not the one that was kept" in letter.last_error
    assert postman.arrived == []


def test_a_killed_workers_letter_is_sent_once_its_lease_is_over(postman, moment):
    letter = make_letter(at=moment)
    # the row as a worker leaves it that was killed between claim and mark
    Letter.objects.update(claimed_until=moment + LEASE, tries=1)

    early = send_due(at=moment + LEASE - timedelta(seconds=30), make_link=no_link)
    later = send_due(at=moment + LEASE, make_link=no_link)

    assert (early, later) == (Sent(), Sent(sent=1))
    assert [m["Message-ID"] for m in postman.arrived] == [letter.message_id]
    letter.refresh_from_db()
    assert letter.tries == 2


def test_a_letter_that_never_goes_is_given_up_in_the_end(postman, moment):
    postman.moods = {"ada@example.org": "busy"}
    make_letter(to_address="ada@example.org", at=moment)
    Letter.objects.update(tries=MOST_TRIES - 1)

    assert send_due(at=moment, make_link=no_link) == Sent(given_up=1)
    assert not Letter.objects.due(moment + timedelta(days=365)).exists()


def test_the_waits_double_and_end_at_four_hours():
    waits = [wait_after(tries) for tries in range(1, 12)]

    minutes = [int(w.total_seconds() // 60) for w in waits]
    assert minutes == [1, 2, 4, 8, 16, 32, 64, 128, 240, 240, 240]
    total = sum((wait_after(n) for n in range(1, MOST_TRIES)), timedelta())
    assert timedelta(days=4) < total < timedelta(days=5)
    assert wait_after(10_000) == LONGEST_WAIT


def test_a_pass_takes_the_longest_due_first_and_no_more_than_asked(postman, moment):
    for minutes in (1, 3, 2):
        make_letter(subject=f"due {minutes}", at=moment - timedelta(minutes=minutes))
    make_letter(subject="not yet", at=moment, due_at=moment + timedelta(minutes=1))

    assert send_due(at=moment, make_link=no_link, limit=2) == Sent(sent=2)

    assert [m["Subject"] for m in postman.arrived] == ["due 3", "due 2"]
