"""The letter that carries a pack: when it goes, and what it takes the place of."""

from dataclasses import replace
from datetime import timedelta

import pytest

from briefings.letters import subject_of, write_briefing_letter
from guiding.bookings.wanted import PartyWanted
from guiding.mail.models import LINK_PLACEHOLDER, Letter
from tests.briefings.pack_examples import FINAL, FIRST
from tests.factories import make_booking, make_briefing, make_document, make_person

pytestmark = pytest.mark.django_db


def test_the_letter_is_the_day_sheet_with_a_calendar_entry_and_room_for_a_link(moment):
    briefing = make_briefing()

    letter = write_briefing_letter(briefing, at=moment)

    for text in (FINAL.danger, FINAL.wading, FINAL.emergency.guide_phone, LINK_PLACEHOLDER):
        assert text in letter.text
    assert all(said.text in letter.text for said in FINAL.cautions)
    assert letter.calendar_method == "REQUEST"
    assert letter.link_for == f"{briefing.booking.key}:{briefing.person.key}"
    assert letter.waits_for_document is True


def test_a_letter_whose_pack_is_written_already_goes_at_once(moment):
    document = make_document(at=moment)

    letter = write_briefing_letter(make_briefing(document=document), at=moment)

    assert letter.waits_for_document is False
    assert list(letter.documents.all()) == [document]
    assert Letter.objects.due(moment).get() == letter


def test_an_old_issue_that_has_not_left_never_arrives_after_the_new_one(moment):
    ada, bo = make_person(), make_person()
    booking = make_booking(party=tuple(PartyWanted(person=p, role="rod") for p in (ada, bo)))
    first = make_briefing(booking=booking, person=ada, content=FIRST)
    theirs = make_briefing(booking=booking, person=bo, content=FIRST)
    old, other = (write_briefing_letter(b, at=moment) for b in (first, theirs))

    later = moment + timedelta(days=1)
    new = write_briefing_letter(
        make_briefing(booking=booking, person=ada, replaces=first), at=later
    )

    old.refresh_from_db()
    other.refresh_from_db()
    assert (old.given_up_at, old.last_error) == (later, "withdrawn: replaced by issue 2")
    assert (new.given_up_at, other.given_up_at) == (None, None)


@pytest.mark.parametrize("content", [FIRST, FINAL])
def test_the_longest_title_still_fits_a_subject(content):
    plain = replace(content, title="Thursday 21 May, " + "Haugh of the Ŵater " * 20).as_json()

    subject = subject_of(plain)

    assert len(subject) <= 160
    assert "…" in subject
    assert subject.endswith("(replaces issue 1)") is (content is FINAL)
