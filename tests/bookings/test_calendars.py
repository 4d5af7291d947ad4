"""Calendar entries, read back by two parsers that did not write them."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream

from guiding.bookings.calendars import event_uid, trip_invitation
from guiding.bookings.wanted import PartyWanted
from tests.factories import (
    make_access_point,
    make_beat,
    make_booking,
    make_day,
    make_person,
    make_river,
    make_water,
)

pytestmark = pytest.mark.django_db

DAY = date(2026, 5, 28)
FROM = "guide@spatebook.invalid"


def write(booking, moment, person=None, **changes):
    fields = {
        "sequence": 0,
        "at": moment,
        "organizer_name": "The Guide",
        "organizer_address": FROM,
        **changes,
    }
    return trip_invitation(booking, person or booking.payer, **fields)


def read(text):
    """Return (vobject's events, ical's events), the two in agreement about the times."""
    one = vobject.readOne(text).vevent_list
    two = IcsCalendarStream.calendar_from_ics(text).events
    assert [e.dtstart.value for e in one] == [e.dtstart for e in two]
    assert [e.dtend.value for e in one] == [e.dtend for e in two]
    assert [e.uid.value for e in one] == [e.uid for e in two]
    return one, two


def day_at(water, day, starts, ends, **changes):
    last = day if ends > starts else day + timedelta(days=1)
    return make_day(
        water,
        day,
        meets_at=water.river.moment(day, starts),
        ends_at=water.river.moment(last, ends),
        **changes,
    )


def test_a_trip_of_one_day_is_an_invitation_to_one_person(moment):
    water = make_water(name="Alder Water")
    make_beat(name="Lower Haugh", water=water)
    make_access_point(name="White Gate", water=water)
    ada, bo = make_person(name="Ada Reed", email="ada@example.org"), make_person()
    party = tuple(PartyWanted(person=p, role="rod") for p in (ada, bo))
    booking = make_booking(water=water, day=DAY, party=party, reference="T-77")

    text = write(booking, moment, ada)

    (event,), (again,) = read(text)
    assert vobject.readOne(text).method.value == "REQUEST"
    # 08:30 and 13:00 by the clocks of Britain in summer
    assert event.dtstart.value == datetime(2026, 5, 28, 7, 30, tzinfo=UTC)
    assert event.dtend.value == datetime(2026, 5, 28, 12, 0, tzinfo=UTC)
    assert event.dtstamp.value == again.dtstamp == moment
    assert event.sequence.value == "0"
    assert again.sequence == 0
    assert event.organizer.value == f"mailto:{FROM}"
    assert [a.value for a in event.attendee_list] == ["mailto:ada@example.org"]
    assert event.attendee.params["RSVP"] == ["TRUE"]
    assert [a.uri for a in again.attendees] == ["mailto:ada@example.org"]
    assert event.status.value == again.status == "CONFIRMED"
    assert event.summary.value == again.summary == "Fishing: Lower Haugh"
    assert event.location.value == again.location == "White Gate, Alder Water"
    assert "meet at 08:30 at White Gate, end at 13:00" in again.description
    assert "(Europe/London)" in again.description
    assert getattr(event, "class").value == "PRIVATE"
    assert bo.email not in text


def test_each_person_gets_the_same_event_under_their_own_name(moment):
    ada, bo = make_person(), make_person()
    party = tuple(PartyWanted(person=p, role="rod") for p in (ada, bo))
    booking = make_booking(day=DAY, party=party)

    ours, theirs = write(booking, moment, ada), write(booking, moment, bo)

    assert event_uid(booking, DAY) in ours
    assert event_uid(booking, DAY) in theirs
    assert (ada.email in ours, bo.email in ours) == (True, False)
    assert (ada.email in theirs, bo.email in theirs) == (False, True)


def test_the_same_trip_at_the_same_moment_is_the_same_bytes(moment):
    booking = make_booking()

    assert write(booking, moment) == write(booking, moment)


def test_two_parts_of_a_day_are_one_event_from_first_meeting_to_last_end(moment):
    water = make_water()
    upper, lower = (make_beat(water=water, name=name) for name in ("Upper", "Lower"))
    days = (
        day_at(water, DAY, time(19, 0), time(22, 0), part="evening", beat=lower),
        day_at(water, DAY, time(8, 30), time(13, 0), beat=upper),
    )

    (event,), (again,) = read(write(make_booking(water=water, days=days), moment))

    assert event.dtstart.value == datetime(2026, 5, 28, 7, 30, tzinfo=UTC)
    assert event.dtend.value == datetime(2026, 5, 28, 21, 0, tzinfo=UTC)
    assert again.description.index("Morning") < again.description.index("Evening")
    assert again.summary == "Fishing: Upper and Lower"


def test_a_trip_of_two_days_is_published_with_an_event_a_day_and_asks_no_answer(moment):
    water = make_water()
    days = (make_day(water, DAY), make_day(water, DAY + timedelta(days=2)))
    booking = make_booking(water=water, days=days)

    text = write(booking, moment)

    one, _ = read(text)
    assert vobject.readOne(text).method.value == "PUBLISH"
    assert [e.uid.value for e in one] == [event_uid(booking, d.date) for d in days]
    assert "ATTENDEE" not in text
    assert text.count("ORGANIZER") == 2


@pytest.mark.parametrize(
    ("day", "starts", "ends", "utc_starts", "utc_ends", "hours"),
    [
        # the night of 24 October 2026, clocks go back at 02:00 summer time: 22:30 to 03:00 is 5.5 h
        (date(2026, 10, 24), time(22, 30), time(3, 0), (24, 21, 30), (25, 3, 0), 5.5),
        # the night of 28 March 2026, clocks go forward at 01:00: 22:30 to 03:00 is 3.5 h
        (date(2026, 3, 28), time(22, 30), time(3, 0), (28, 22, 30), (29, 2, 0), 3.5),
    ],
)
def test_a_night_on_which_the_clocks_change_keeps_its_true_length(
    day, starts, ends, utc_starts, utc_ends, hours, moment
):
    water = make_water(river=make_river(zone="Europe/London"))
    night = day_at(water, day, starts, ends, part="night")
    booking = make_booking(water=water, days=(night,))
    booking.refresh_from_db()

    (event,), (again,) = read(write(booking, moment))

    month = day.month
    assert event.dtstart.value == datetime(2026, month, *utc_starts, tzinfo=UTC)
    assert event.dtend.value == datetime(2026, month, *utc_ends, tzinfo=UTC)
    assert event.dtend.value - event.dtstart.value == timedelta(hours=hours)
    assert "meet at 22:30" in again.description
    assert "end at 03:00 the next day" in again.description
    assert "The clocks change between" in again.description


def test_calling_off_takes_the_same_event_back_with_a_higher_sequence(moment):
    booking = make_booking(day=DAY)

    text = write(booking, moment, sequence=3, is_called_off=True)

    (event,), (again,) = read(text)
    assert vobject.readOne(text).method.value == "CANCEL"
    assert event.uid.value == event_uid(booking, DAY)
    assert (event.sequence.value, again.status) == ("3", "CANCELLED")


def test_lines_end_as_the_standard_asks_and_none_is_over_75_octets(moment):
    water = make_water(name="Ärm of the Ŵater " + "ŵ" * 60)
    person = make_person(name="Łucja Grzęda-" + "ż" * 80)

    data = write(
        make_booking(water=water, party=(PartyWanted(person=person, role="rod"),)), moment
    ).encode()

    lines = data.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert b"\r" not in b"".join(lines)
    assert max(len(line) for line in lines) <= 75
    (event,), (again,) = read(data.decode())
    assert event.attendee.params["CN"] == [person.name]
    assert again.attendees[0].common_name == person.name
    assert water.name in event.location.value


def test_nothing_typed_by_a_person_can_start_a_line_of_its_own(moment):
    water = make_water(name="Water\r\nATTENDEE:mailto:thief@example.org\x00\x0b\u2028end")
    person = make_person(name='A "B"; C: D, E\nSTATUS:CANCELLED\x07')
    beat = make_beat(name="Beat\nEND:VEVENT", water=water)
    booking = make_booking(
        water=water,
        days=(make_day(water, DAY, beat=beat),),
        party=(PartyWanted(person=person, role="rod"),),
    )

    text = write(booking, moment, summary_words="Fishing\r\nURL:http://x.invalid\x1b")

    (event,), (again,) = read(text)
    assert len(event.attendee_list) == len(again.attendees) == 1
    assert event.status.value == "CONFIRMED"
    assert again.url is None
    assert again.summary == "Fishing URL:http://x.invalid"
    assert event.attendee.params["CN"] == ["A 'B'; C: D, E STATUS:CANCELLED"]
    unwanted = {c for c in text if ord(c) < 32} - {"\r", "\n"}
    assert unwanted == set()
    assert "\u2028" not in text


def test_the_organizer_is_the_bare_address_the_mail_comes_from(moment):
    text = write(make_booking(), moment, organizer_address=f"The Guide <{FROM}>")

    (event,), _ = read(text)

    assert event.organizer.value == f"mailto:{FROM}"


def test_an_entry_that_cannot_be_right_is_refused(moment):
    booking = make_booking()
    with pytest.raises(ValueError, match="sequence is -1"):
        write(booking, moment, sequence=-1)
    with pytest.raises(ValueError, match="at needs a zone"):
        write(booking, moment.replace(tzinfo=None))
    with pytest.raises(ValueError, match="Bo has no mail address"):
        write(booking, moment, make_person(name="Bo", email=""))
    booking.days.all().delete()
    with pytest.raises(ValueError, match="has no trip day"):
        write(booking, moment)
