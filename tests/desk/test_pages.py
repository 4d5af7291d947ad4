"""The pages through Django's own client: who may, what is kept, what is asked of the database."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import get_resolver, reverse
from django.views.defaults import server_error

from briefings.models import Briefing
from guiding.accounts.models import User
from guiding.bookings.models import Booking, Place
from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.models import Quantity, Sounding
from guiding.history.models import Event
from guiding.mail.models import Letter
from guiding.rivers.models import Pool
from guiding.tackle.models import Fly, FlyPattern
from tests import factories

NOW = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)
TOMORROW = date(2026, 5, 21)
OPEN_TO_ALL = {"accounts:sign_in", "visits:open", "visits:trip", "visits:issue", "visits:pdf"} | {
    "feeds:credits"  # agencies ask for it wherever their data are shown
}


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def guide(db):
    return User.objects.create_user(
        "guide", first_name="Ruan", phone="01632 960100", role="guide", is_staff=True
    )


@pytest.fixture
def desk(guide, client):
    client.force_login(guide)
    return client


@pytest.fixture
def water(db):
    return factories.make_water(name="Alder Water")


@pytest.fixture
def beat(water):
    """Return a beat with a gauge that has a record and a forecast, and a measured pool."""
    beat = factories.make_beat(water=water, name="Upper Alder")
    gauge = factories.make_gauge(beat, name="Alder Bridge")
    hours = [NOW - timedelta(hours=n) for n in range(24 * 40, -1, -1)]
    factories.make_readings(
        gauge, Quantity.LEVEL, [(at, 0.4 + 0.001 * (n % 24)) for n, at in enumerate(hours)]
    )
    pool_of(beat)
    issue_forecast(gauge, at=NOW)
    return beat


def pool_of(beat):
    pool = Pool.objects.create(beat=beat, name=f"Pool {uuid4().hex[:6]}")
    Sounding.objects.create(
        pool=pool,
        gauge=beat.gauge_links.get().gauge,
        level_m=0.4,
        depth_m=0.5,
        speed_ms=0.5,
        measured_on=date(2026, 5, 1),
    )
    return pool


def book(beat, day=TOMORROW, **changes):
    wanted = factories.make_day(beat.water, day, beat=beat)
    return factories.make_booking(water=beat.water, days=(wanted,), **changes)


def names_of_every_page():
    """Return each named address of the site but the records', with arguments that fit."""
    values = {"key": uuid4(), "water": uuid4(), "token": "x", "number": 1}
    for prefix, (_, resolver) in get_resolver().namespace_dict.items():
        if prefix == "admin":
            continue
        for name in {key for key in resolver.reverse_dict if isinstance(key, str)}:
            wanted = resolver.reverse_dict.getlist(name)[0][0][0][1]
            yield f"{prefix}:{name}", {key: values[key] for key in wanted}


def test_every_page_but_signing_in_and_the_private_link_asks_who_you_are(client, db):
    seen = set()
    for name, arguments in names_of_every_page():
        address = reverse(name, kwargs=arguments)
        for answer in (client.get(address), client.post(address)):
            sent_away = answer.status_code == 302 and answer.url.startswith("/account/sign-in/")
            assert sent_away != (name in OPEN_TO_ALL), (name, answer.status_code)
        seen.add(name)

    assert len(seen) > 12
    assert seen >= OPEN_TO_ALL


def test_staff_read_every_page(client, beat, guide):
    booking = book(beat)
    client.force_login(User.objects.create_user("staff", role="staff"))
    gauge = beat.gauge_links.get().gauge
    client.post(reverse("desk:issue", args=[booking.key]), {"issue": "final"})
    pack = Briefing.objects.exclude(person=None).get()

    for address in (
        "/",
        "/river/",
        f"/river/{gauge.key}/",
        "/trips/",
        "/trips/new/",
        f"/trips/new/{beat.water.key}/",
        f"/trips/{booking.key}/",
        "/tackle/",
        f"/briefings/{pack.key}/",
    ):
        answer = client.get(address, follow=True)
        assert answer.status_code == 200, address
    assert "closed to you" in answer.content.decode()
    assert "/admin/" not in answer.content.decode()


def test_an_issue_is_not_written_by_looking(desk, beat):
    booking = book(beat)

    assert desk.get(reverse("desk:issue", args=[booking.key])).status_code == 405
    assert not Briefing.objects.exists()


def test_a_form_from_another_site_changes_nothing(guide, beat):
    booking = book(beat)
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(guide)

    for address in (
        reverse("desk:issue", args=[booking.key]),
        reverse("gauges:river", args=[beat.gauge_links.get().gauge.key]),
        reverse("desk:take", args=[beat.water.key]),
    ):
        answer = strict.post(address, {"issue": "final", "send": "yes"})
        assert answer.status_code == 403
        assert "Nothing was changed" in answer.content.decode()
    assert not Letter.objects.exists()


def test_a_page_that_breaks_says_so_without_the_database(rf, django_db_blocker):
    with django_db_blocker.block():
        words = server_error(rf.get("/")).content.decode()

    assert "Something broke on our side." in words
    assert "It is not known whether what you pressed was written." in words


def test_sending_writes_a_letter_for_everybody_once(desk, beat):
    booking = book(beat)
    address = reverse("desk:issue", args=[booking.key])

    first = desk.post(address, {"issue": "final", "send": "yes"}, follow=True)
    again = desk.post(address, {"issue": "final", "send": "yes"}, follow=True)

    assert "The letters are in the post" in first.content.decode()
    assert again.status_code == 200
    assert Letter.objects.count() == 1
    assert Briefing.objects.count() == 2  # the client's and the guide's


def test_what_was_written_to_be_read_is_still_to_be_sent(desk, beat):
    booking = book(beat)
    address = reverse("desk:issue", args=[booking.key])

    read = desk.post(address, {"issue": "final"}, follow=True).content.decode()

    assert "Nothing was sent yet" in read
    assert not Letter.objects.exists()
    assert "By 20:00 tonight: send the final issue" in read
    desk.post(address, {"issue": "final", "send": "yes"})
    assert Letter.objects.count() == 1
    assert "Nothing is left to send today." in desk.get("/").content.decode()


def test_an_issue_that_there_is_not_is_refused_in_words(desk, beat):
    booking = book(beat)

    answer = desk.post(
        reverse("desk:issue", args=[booking.key]), {"issue": "<b>third</b>"}, follow=True
    )

    assert "is no issue; it is first or final." in answer.content.decode()
    assert "<b>third" not in answer.content.decode()
    assert not Briefing.objects.exists()


def form_of(on, /, *people, **changes):
    fields = {
        "date": "2026-05-28",
        "parts": ["morning"],
        "beat": on.pk,
        "meeting_point": on.water.access_points.get().pk,
        "meets_at": "",
        "fish": "salmon",
        "payer": people[0].pk if people else "",
        "form-TOTAL_FORMS": 6,
        "form-INITIAL_FORMS": 0,
        **changes,
    }
    for place, person in enumerate(people):
        fields.setdefault(f"form-{place}-person", person.pk)
        fields.setdefault(f"form-{place}-role", "rod")
    return fields


@pytest.fixture
def meeting(water):
    return factories.make_access_point(water=water)


def test_a_booking_is_taken_from_the_page(desk, beat, meeting):
    person = factories.make_person(name="O'Hara <script>alert(1)</script>")

    answer = desk.post(
        reverse("desk:take", args=[beat.water.key]), form_of(beat, person), follow=True
    )

    words = answer.content.decode()
    booking = Booking.objects.get()
    assert f"Taken as {booking.reference}. Permit and season are not known here" in words
    assert booking.party.get().person == person
    assert "<script>alert" not in words
    assert "O&#x27;Hara &lt;script&gt;" in words


def test_a_taken_place_leaves_what_was_typed_and_writes_nothing(desk, beat, meeting):
    other = factories.make_water(name="Small", rods_a_day=1)
    small = factories.make_beat(water=other)
    factories.make_access_point(water=other)
    book(small, day=date(2026, 5, 28))
    person = factories.make_person()
    before = Event.objects.count(), Place.objects.count()

    answer = desk.post(
        reverse("desk:take", args=[other.key]), form_of(small, person, meets_at="08:15")
    )

    words = answer.content.decode()
    assert "Small, 2026-05-28 morning: 1 wanted, 0 free." in words
    assert "what you typed is still here" in words
    assert 'value="08:15"' in words
    assert f'<option value="{person.pk}" selected>' in words
    assert Booking.objects.count() == 1
    assert (Event.objects.count(), Place.objects.count()) == before


def test_a_refused_booking_opens_no_places(desk, beat, meeting):
    watcher = factories.make_person()
    fields = form_of(beat, watcher, **{"form-0-role": "guest"})

    answer = desk.post(reverse("desk:take", args=[beat.water.key]), fields)

    assert "A party needs at least one rod." in answer.content.decode()
    assert not Booking.objects.exists()
    assert not Place.objects.exists()


def test_somebody_who_fishes_elsewhere_that_morning_is_not_booked_twice(desk, beat, meeting):
    person = factories.make_person(name="Ada Reed")
    book(beat, day=date(2026, 5, 28), payer=person)

    answer = desk.post(reverse("desk:take", args=[beat.water.key]), form_of(beat, person))

    assert "Ada Reed already fishes on 2026-05-28 in the morning." in answer.content.decode()
    assert Booking.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("date", "28.05.2026", "Write the day as 2026-05-21."),
        ("date", "", "Nothing was written or chosen here."),
        ("beat", "99999", "Select a valid choice."),
        ("payer", "x' OR 1=1 --", "Select a valid choice."),
        ("meets_at", "25:00", "Write the time as 08:30."),
        ("parts", ["noon"], "noon is not one of the available choices"),
        ("form-0-person", "99999", "Select a valid choice."),
        ("form-TOTAL_FORMS", "many", "ManagementForm data is missing"),
    ],
)
def test_bad_input_is_named_beside_its_field(desk, beat, meeting, field, typed, said):
    person = factories.make_person()

    answer = desk.post(
        reverse("desk:take", args=[beat.water.key]), form_of(beat, person, **{field: typed})
    )

    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert "Nothing was written" in answer.content.decode()
    assert not Booking.objects.exists()


@pytest.mark.parametrize(
    ("address", "taught"),
    [
        ("/", ("Nobody comes in the next 14 days.", "Take a booking", "load_water")),
        ("/river/", ("No gauge is on file yet.", "load_water", "import_readings")),
        ("/trips/", ("No trip to come.", "Take a booking")),
        ("/trips/new/", ("No water is on file yet.", "load_water")),
        ("/tackle/", ("The box is empty.", "Put the first fly in")),
    ],
)
def test_an_empty_page_says_what_goes_here_and_what_to_do_first(desk, address, taught):
    words = desk.get(address).content.decode()

    assert [line for line in taught if line not in words] == []


def test_the_trip_page_works_where_nothing_is_on_file(desk):
    booking = factories.make_booking(day=TOMORROW)

    words = desk.get(reverse("desk:trip", args=[booking.key])).content.decode()

    assert "no gauge speaks for this beat" in words
    assert "Worth going: not known." in words
    assert "Bank only" in words
    assert "Permit, season and method: not known." in words


def test_a_trip_says_so_when_no_guide_could_be_called(client, beat):
    booking = book(beat)
    client.force_login(User.objects.create_user("staff", role="staff"))

    words = client.get(reverse("desk:trip", args=[booking.key])).content.decode()

    assert "No guide has an account yet" in words


def test_the_trip_page_never_says_safe(desk, beat):
    booking = book(beat)

    assert "safe" not in desk.get(reverse("desk:trip", args=[booking.key])).content.decode().lower()


def questions(desk, address, django_assert_max_num_queries):
    with django_assert_max_num_queries(200) as asked:
        assert desk.get(address).status_code == 200
    return len(asked)


def test_no_page_asks_more_of_the_database_for_more_rows(desk, beat, django_assert_max_num_queries):
    def count(address):
        return questions(desk, address, django_assert_max_num_queries)

    booking = book(beat)
    addresses = {
        "today": "/",
        "trips": "/trips/",
        "trip": reverse("desk:trip", args=[booking.key]),
        "tackle": "/tackle/",
        "new trip": "/trips/new/",
        "take": reverse("desk:take", args=[beat.water.key]),
        "river": reverse("gauges:river", args=[beat.gauge_links.get().gauge.key]),
    }
    pattern = FlyPattern.objects.create(name="Red", role="point", colours=["red"])
    Fly.objects.create(pattern=pattern, length_mm=20, hook_size=8, count=4)
    send = reverse("desk:issue", args=[booking.key]), {"issue": "final", "send": "yes"}
    desk.post(*send)
    first = {name: count(address) for name, address in addresses.items()}
    for n in range(4):
        later = book(beat, day=TOMORROW + timedelta(days=n + 1))
        desk.post(reverse("desk:issue", args=[later.key]), {"issue": "first", "send": "yes"})
        pool_of(beat)
        factories.make_beat(water=beat.water)
        dropper = FlyPattern.objects.create(name=f"Dropper {n}", role="dropper", colours=["black"])
        Fly.objects.create(pattern=dropper, length_mm=15, hook_size=12, count=4)

    assert {name: count(address) for name, address in addresses.items()} == first
    assert max(first.values()) < 50, first
