"""The pages on which a day's schedule, tides or a look are typed in, and files are shown first."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from guiding.accounts.models import User
from guiding.regimes.linetable import MOST_BYTES
from guiding.regimes.models import IceLook, Schedule, TideTable
from tests import factories
from tests.regimes.schedules import (
    make_dam,
    make_tide,
    print_table,
    regulated_beat,
    release,
    say,
)

NOW = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)  # 10:00 at the river
TODAY = date(2026, 5, 20)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def dam(db):
    return make_dam(regulated_beat(), normal_flow="4 m3/s")


@pytest.fixture
def place(db):
    return make_tide(factories.make_beat(regime="tidal"), zone="UTC")


@pytest.fixture
def desk(client, db):
    client.force_login(User.objects.create_user("staff", role="staff"))
    return client


def type_schedule(desk, dam, **changes):
    typed = {
        "day": "2026-05-20",
        "what": "planned",
        "starts_1": "10:00",
        "ends_1": "14:00",
        "flow_1": "10 m3/s",
        "said_by": "the keeper",
        "said_at": "2026-05-20T09:45",
        **changes,
    }
    return desk.post(reverse("regimes:dam", args=[dam.key]), typed)


def errors_of(answer):
    assert answer.status_code == 200
    return " ".join(line for lines in answer.context["form"].errors.values() for line in lines)


def test_a_days_schedule_is_kept_with_who_said_so_and_who_typed_it(desk, dam):
    answer = type_schedule(desk, dam, ends_2="03:00", starts_2="22:00")

    assert answer.status_code == 302, answer.context["form"].errors
    row = Schedule.objects.get()
    assert row.as_value().words() == "10:00 to 14:00 (10 m3/s); 22:00 to 03:00"
    assert (row.said_by, row.said_at) == (
        "the keeper",
        datetime(2026, 5, 20, 8, 45, tzinfo=UTC),
    )
    assert row.typed_by.username == "staff"
    page = desk.get(reverse("regimes:dam", args=[dam.key])).content.decode()
    assert "10:00 to 14:00 (10 m3/s)" in page
    assert "Today names the trips to read again" in page


def test_that_none_is_planned_is_kept_too(desk, dam):
    type_schedule(desk, dam, what="none", starts_1="", ends_1="", flow_1="")

    assert Schedule.objects.get().as_value().words() == "no release planned"


def test_a_change_is_seen_beside_what_was_said_before(desk, dam):
    type_schedule(desk, dam, what="none", starts_1="", ends_1="", flow_1="")
    type_schedule(desk, dam)

    page = desk.get(reverse("regimes:dam", args=[dam.key])).content.decode()

    assert "no release planned, said by the keeper" in page
    assert Schedule.objects.count() == 2


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"what": ""}, "Nothing was chosen"),
        ({"what": "none"}, "None is planned, and a release is written below"),
        ({"starts_1": "", "ends_1": "", "flow_1": ""}, "From when?"),
        ({"starts_1": ""}, "From when is missing"),
        ({"ends_1": "10:00"}, "lasts no time"),
        ({"starts_1": "25:00"}, "This is no clock time. Write it as 07:30."),
        ({"starts_2": "10:00", "ends_2": "14:00", "flow_2": "10 m3/s"}, "written twice"),
        ({"day": "20.5.2026"}, "This is no day"),
        ({"day": "2062-05-20"}, "is the year right?"),
        ({"said_by": " "}, "A name, or what they are"),
        ({"said_at": "2026-05-20T10:30"}, "lies ahead: at the river it is 2026-05-20 10:00"),
        ({"said_at": "0001-01-01T00:00"}, "is the year right?"),
        ({"said_at": "9999-12-31T23:59"}, "is the year right?"),
        ({"said_by": "\u202ereeper"}, "control character"),
        ({"said_by": "\u200b"}, "control character"),
        ({"said_at": "2026-03-29T01:30"}, "the clocks change in that hour"),
        ({"flow_1": "x" * 61}, "at most 60 characters"),
        ({"flow_1": "10\u202em3"}, "control character"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(desk, dam, changes, said):
    assert said in errors_of(type_schedule(desk, dam, **changes))
    assert not Schedule.objects.exists()


def test_in_the_evening_tomorrow_is_asked_for(desk, dam, clock):
    page = reverse("regimes:dam", args=[dam.key])
    assert desk.get(page).context["form"]["day"].value() == TODAY
    clock.move_to(NOW + timedelta(hours=9))

    assert desk.get(page).context["form"]["day"].value() == TODAY + timedelta(days=1)


def test_a_days_tides_are_typed_by_the_tables_own_clock(desk, place):
    address = reverse("regimes:tide", args=[place.key])
    typed = {
        "day": "2026-05-20",
        "first": "low",
        "clock_1": "00:40",
        "clock_2": "06:50",
        "height_2": "4.8",
        "clock_3": "13:10",
        "said_by": "Firth table 2026",
        "said_at": "2026-05-20T09:45",
    }

    assert "by the clock of UTC" in desk.get(address).content.decode()
    assert desk.post(address, typed).status_code == 302
    assert TideTable.objects.get().as_value().words() == "low 00:40, high 06:50 (4.80 m), low 13:10"
    assert "2 tides stand there" in errors_of(desk.post(address, {**typed, "clock_3": ""}))
    assert "The time of this tide" in errors_of(desk.post(address, {**typed, "height_4": "1"}))
    assert "-5 to 20 m" in errors_of(desk.post(address, {**typed, "height_2": "48"}))


def test_a_look_at_ice_is_kept_and_told(desk):
    beat = factories.make_beat(name="Home Beat")
    other = factories.make_beat(name="Another River's")
    river = beat.water.river
    address = reverse("regimes:ice", args=[river.key])
    typed = {
        "seen": "floating",
        "beat": beat.pk,
        "looked_at": "2026-05-20T08:00",
        "water_c": "0.4",
        "who": "Ruan",
    }

    assert "Nobody has looked for ice" in desk.get(address).content.decode()
    assert desk.post(address, typed).status_code == 302
    assert "Last look today, 08:00: floating ice (Home Beat)." in desk.get(address).content.decode()
    assert "no ice is an answer" in errors_of(desk.post(address, {**typed, "seen": ""})).lower()
    assert "lies ahead" in errors_of(desk.post(address, {**typed, "looked_at": "2026-05-20T11:00"}))
    assert errors_of(desk.post(address, {**typed, "beat": other.pk}))
    assert "-0.5 to 35" in errors_of(desk.post(address, {**typed, "water_c": "99"}))
    assert IceLook.objects.count() == 1


# --- files ---------------------------------------------------------------------------------------

WEEK = "date,from,to\n2026-05-20,10:00,14:00\n2026-05-21,none,\n"


def send(desk, dam, data, name="week.csv", **others):
    given = data if isinstance(data, bytes) else data.encode()
    return desk.post(
        reverse("regimes:import_releases", args=[dam.key]),
        {"file": SimpleUploadedFile(name, given), "said_by": "the board", **others},
    )


def test_a_file_is_shown_before_it_is_kept_and_kept_as_it_was_shown(desk, dam):
    say(dam, TODAY, at=NOW - timedelta(hours=1))

    shown = send(desk, dam, WEEK)

    page = shown.content.decode()
    assert "2 days: 1 new, 1 changed, 0 as on file." in page
    assert "On file until now: no release planned." in page
    assert Schedule.objects.count() == 1

    hidden = {name: shown.context[name] for name in ("text", "said_by", "name")}
    address = reverse("regimes:import_releases", args=[dam.key])
    hidden["text"] = hidden["text"].replace("\n", "\r\n")  # as a browser sends it
    for _ in range(2):
        assert desk.post(address, {"keep": "yes", **hidden}).status_code == 302
    assert Schedule.objects.count() == 3
    assert Schedule.objects.get(day=date(2026, 5, 21)).came_from == "week.csv"


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "The file is empty."),
        (b"\x00\x01", "control characters"),
        (b"\xff\xfe", "is not text in UTF-8"),
        (b"x" * (MOST_BYTES + 1), "has more than 200,000 bytes"),
        (b"date,from\n2026-05-20,ten\n", "line 2: from is &#x27;ten&#x27;"),
        (b"date,from\n2026-05-20,<script>\n", "line 2: from is &#x27;&lt;script&gt;&#x27;"),
    ],
)
def test_a_hostile_file_is_refused_in_one_line_and_nothing_is_kept(desk, dam, data, why):
    answer = send(desk, dam, data)

    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert "Nothing was kept." in answer.content.decode()
    assert not Schedule.objects.exists()


def test_what_comes_back_from_the_page_is_checked_again(desk, dam):
    address = reverse("regimes:import_releases", args=[dam.key])
    for changes in (
        {"text": "date,from\n2026-05-20,ten"},
        {"text": "x" * (2 * MOST_BYTES + 1)},
        {"said_by": ""},
        {"text": ""},
    ):
        sent = {"keep": "yes", "text": WEEK, "said_by": "the board", "name": "w.csv", **changes}
        assert desk.post(address, sent).status_code == 422
    assert not Schedule.objects.exists()


def test_what_comes_back_with_control_characters_is_kept_as_one_plain_line(desk, dam):
    address = reverse("regimes:import_releases", args=[dam.key])

    desk.post(
        address,
        {"keep": "yes", "text": WEEK, "said_by": "the\x00 board\n", "name": "w\x00\r\n.csv" * 99},
    )

    row = Schedule.objects.first()
    assert row.said_by == "the board"
    assert len(row.came_from) == 200
    assert row.came_from.isprintable()


def test_a_file_of_tides_is_taken_the_same_way(desk, place):
    address = reverse("regimes:import_tides", args=[place.key])
    text = b"date,time,turn\n2026-05-20,00:40,low\n2026-05-20,06:50,high\n2026-05-20,13:10,low\n"

    shown = desk.post(
        address, {"file": SimpleUploadedFile("t.csv", text), "said_by": "Firth table 2026"}
    )
    hidden = {name: shown.context[name] for name in ("text", "said_by", "name")}
    desk.post(address, {"keep": "yes", **hidden})

    assert "1 day: 1 new" in shown.content.decode()
    assert TideTable.objects.get().day == TODAY


# --- what the pages tell, and ask ----------------------------------------------------------------


def test_the_list_says_what_is_lacking_today(desk, dam, place):
    address = reverse("regimes:index")
    empty = desk.get(address).content.decode()
    say(dam, TODAY, release("10:00"), at=NOW)
    print_table(place, TODAY, "low 00:40", "high 06:50", "low 13:10", at=NOW)

    page = desk.get(address).content.decode()

    assert "Today is not on file for 2 of the dams and tides here." in empty
    assert "not on file: not known, bank only" in empty
    assert "Today is on file for every dam and tide here." in page
    assert "10:00, end not known" in page


def test_an_empty_house_is_told_where_dams_come_from(desk):
    assert "load_water" in desk.get(reverse("regimes:index")).content.decode()


def test_no_page_asks_more_for_more_rows(desk, dam, place, django_assert_max_num_queries):
    def asked(address):
        with django_assert_max_num_queries(100) as found:
            assert desk.get(address).status_code == 200
        return len(found)

    addresses = [
        reverse("regimes:index"),
        reverse("regimes:dam", args=[dam.key]),
        reverse("regimes:tide", args=[place.key]),
        reverse("regimes:ice", args=[dam.river.key]),
    ]
    say(dam, TODAY, release("10:00"), at=NOW)
    print_table(place, TODAY, "low 00:40", "high 06:50", "low 13:10", at=NOW)
    few = [asked(address) for address in addresses]
    for number in range(1, 6):
        day = TODAY + timedelta(days=number)
        say(dam, day, release("10:00"), release("16:00"), at=NOW)
        print_table(place, day, "low 00:40", "high 06:50", "low 13:10", at=NOW)
        make_dam(regulated_beat(name=f"Dam Beat {number}"), name=f"Dam {number}")

    assert [asked(address) for address in addresses] == few
    assert max(few) <= 14
