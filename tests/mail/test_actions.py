"""What may and may not be written into the outbox."""

import pytest
from django.db import transaction

from guiding.mail.actions import LetterRefused, attach_document, withdraw_letters
from guiding.mail.models import LINK_PLACEHOLDER, Letter
from tests.factories import make_document, make_letter

pytestmark = pytest.mark.django_db

ENTRY = "BEGIN:VCALENDAR\r\nMETHOD:REQUEST\r\nEND:VCALENDAR\r\n"


def test_a_letter_gets_one_message_id_of_the_senders_domain(settings, moment):
    settings.DEFAULT_FROM_EMAIL = "The Guide <guide@haugh.invalid>"

    first, second = make_letter(at=moment), make_letter(at=moment)

    assert first.message_id != second.message_id
    assert first.message_id.startswith("<")
    assert first.message_id.endswith("@haugh.invalid>")
    assert (first.written_at, first.due_at) == (moment, moment)


@pytest.mark.parametrize("field", ["subject", "to_name", "to_address"])
@pytest.mark.parametrize("break_", ["\n", "\r", "\r\n", "\x00", "\x0b", "\x85", "\u2028"])
def test_a_line_break_in_a_header_is_refused(field, break_):
    with pytest.raises(LetterRefused, match="it must be one plain line"):
        make_letter(**{field: f"a@b.example{break_}Bcc: thief@example.org"})

    assert not Letter.objects.exists()


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"to_address": "nobody"}, "'nobody' is not a mail address, for Ada Reed"),
        ({"to_address": ""}, "address has 0 characters"),
        ({"subject": "x" * 161}, "subject has 161 characters; it needs 1 to 160"),
        ({"text": " \n"}, "needs a text"),
        ({"text": f"See {LINK_PLACEHOLDER}"}, "does not say for whom"),
        ({"html": f"<p>{LINK_PLACEHOLDER}</p>"}, "does not say for whom"),
        ({"calendar_method": "REQUEST"}, "there is no calendar entry"),
        ({"calendar_text": ENTRY, "calendar_method": "CANCEL"}, "METHOD is REQUEST"),
        ({"calendar_text": "BEGIN:VCALENDAR\r\n"}, "METHOD is none"),
        (
            {"calendar_text": ENTRY + LINK_PLACEHOLDER, "link_for": "a:b"},
            "never be in a calendar",
        ),
    ],
)
def test_a_letter_that_would_go_wrong_is_refused(fields, says):
    with pytest.raises(LetterRefused, match=says):
        make_letter(**fields)

    assert not Letter.objects.exists()


def test_the_calendar_entry_names_the_method_of_the_mail():
    assert make_letter(calendar_text=ENTRY).calendar_method == "REQUEST"
    assert make_letter(calendar_text=ENTRY, calendar_method="REQUEST").calendar_method == "REQUEST"


def test_a_letter_is_gone_with_the_change_it_speaks_of(moment):
    with transaction.atomic():
        make_letter(documents=[make_document(at=moment)])
        transaction.set_rollback(True)

    assert not Letter.objects.exists()


def test_a_letter_waits_for_its_document_and_is_due_once_that_is_attached(moment):
    letter = make_letter(waits_for_document=True, at=moment)
    assert not Letter.objects.due(moment).exists()

    attach_document(letter, make_document(at=moment))

    assert Letter.objects.due(moment).get() == letter
    assert letter.documents.count() == 1


def test_a_letter_that_was_overtaken_is_withdrawn_and_what_has_gone_stays_gone(moment):
    gone, waiting, again = (make_letter(about="briefing 1", at=moment) for _ in range(3))
    other = make_letter(about="briefing 2", at=moment)
    Letter.objects.filter(pk=gone.pk).update(sent_at=moment)
    Letter.objects.filter(pk=again.pk).update(claimed_until=moment, tries=3, last_error="busy")

    assert withdraw_letters("briefing 1", why="replaced by issue 2", at=moment) == 2

    assert list(Letter.objects.due(moment)) == [other]
    for letter in (waiting, again):
        letter.refresh_from_db()
        assert letter.last_error == "withdrawn: replaced by issue 2"
        assert letter.sent_at is None
    gone.refresh_from_db()
    assert (gone.given_up_at, gone.last_error) == (None, "")
