"""The owner's page of sources: what it says, who may change it, what it costs."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from guiding.accounts.models import User
from guiding.feeds.actions import add_feed
from guiding.feeds.models import Address, AgencyDay, Feed
from guiding.feeds.trouble import close_feed, settle_trouble
from tests.factories import make_gauge

pytestmark = pytest.mark.django_db
SOURCES = "/sources/"


@pytest.fixture
def owner(client):
    user = User.objects.create_user("guide", password="heron", role="guide", is_staff=True)
    client.force_login(user)
    return client


@pytest.fixture
def helper(client):
    client.force_login(User.objects.create_user("help", password="otter", role="staff"))
    return client


def add(moment, gauge=None, series="90001010"):
    gauge = gauge or make_gauge(name="Alder Bridge")
    return add_feed(gauge, "sepa", "level_m", series=series, at=moment)


def words(client, address=SOURCES):
    return " ".join(client.get(address).content.decode().split())


def test_an_empty_page_teaches(owner):
    page = words(owner)

    assert "No source is on file yet." in page
    assert "A source is an agency that tells what your gauge reads" in page
    assert "No contact is set, so MET Norway is not asked at all." in page


def test_a_source_in_trouble_says_why_and_since_when_in_the_rivers_own_clock(owner, moment):
    feed = add(moment)
    Feed.objects.filter(pk=feed.pk).update(
        confirmed_at=moment,
        unit="m",
        name="Invented Brig",
        last_value=0.71,
        last_value_at=moment,
        lag_p95_minutes=35,
        refused={"at": "x", "of": 40, "count": 3, "rows": [{"place": "row 2", "why": "odd <b>"}]},
    )
    Address.objects.filter(kind="latest").update(
        broken_since=moment, why="the file is not JSON but a web page", warning="its clock is slow"
    )
    AgencyDay.objects.create(agency_code="sepa", base_url="", day=timezone.now().date(), asked=17)
    feed.refresh_from_db()
    settle_trouble(feed, moment + timedelta(hours=1))

    page = words(owner)

    assert "1 of 1 source is in trouble." in page
    assert "the file is not JSON but a web page" in page
    assert "Since Wed 20 May 2026, 10:00." in page
    assert "Newest value: 0.71 m of Wed 20 May 2026, 10:00" in page
    assert "within 35 minutes" in page
    assert "Mind: its clock is slow" in page
    assert "3 of 40 rows refused" in page
    assert "row 2: odd &lt;b&gt;" in page
    assert '<td class="count">17</td>' in page
    assert '<td class="count">400</td>' in page


def test_a_closed_source_asks_for_somebody_to_look(owner, moment):
    feed = add(moment)
    close_feed(feed, "the datum of it was 12.34 and is 12.99 now", moment)
    settle_trouble(feed, moment)

    page = words(owner)
    assert "the datum of it was 12.34 and is 12.99 now" in page
    assert "I have looked: it means the same" in page

    answer = owner.post(f"/sources/{feed.key}/confirm/")

    assert answer.url == SOURCES
    feed.refresh_from_db()
    assert (feed.closed_at, feed.trouble) == (None, "")


def test_a_source_is_added_from_the_page_or_refused_in_words(owner):
    gauge = make_gauge(name="Alder Bridge")
    typed = {"gauge": gauge.pk, "quantity": "level_m", "agency": "sepa", "series": "x"}

    refused = owner.post("/sources/add/", typed)
    assert "a series is its ts_id, digits only" in refused.content.decode()
    assert not Feed.objects.exists()

    added = owner.post("/sources/add/", typed | {"series": " 90001010 "}, follow=True)

    feed = Feed.objects.get()
    assert feed.series == "90001010"
    assert "It is asked at the next pass." in added.content.decode()
    assert "Waits to be asked what its series is" in added.content.decode()


def test_what_an_agency_asks_of_those_who_use_its_data_is_said_before_it_is_added(owner):
    page = words(owner, "/sources/add/")

    assert "asks for a letter to waterlevel@opw.ie" in page
    assert "hydrometry-requests@sepa.org.uk" in page


def test_an_empty_form_says_what_is_missing(owner):
    page = owner.post("/sources/add/", {}).content.decode()

    assert page.count("Nothing was written or chosen here.") == 3


def test_a_source_is_switched_off_and_on_and_tried_again(owner, moment):
    feed = add(moment)
    Address.objects.update(stopped_at=moment, next_at=None, why="it refuses us (403)")

    assert "Ask it again" in words(owner)
    owner.post(f"/sources/{feed.key}/again/")
    assert not Address.objects.filter(stopped_at__isnull=False).exists()

    owner.post(f"/sources/{feed.key}/switch/", {"on": "no"})
    feed.refresh_from_db()
    assert not feed.is_on
    assert "Switched off; what it has told stays on file." in words(owner)

    owner.post(f"/sources/{feed.key}/switch/", {"on": "yes"})
    feed.refresh_from_db()
    assert feed.is_on


def test_who_may_not_write_in_the_records_may_look_and_change_nothing(helper, moment):
    feed = add(moment)

    assert "Add a source" not in words(helper)
    assert helper.get("/sources/add/").status_code == 403
    for verb in ("switch", "confirm", "again"):
        assert helper.post(f"/sources/{feed.key}/{verb}/").status_code == 403
        assert helper.get(f"/sources/{feed.key}/{verb}/").status_code == 405
    feed.refresh_from_db()
    assert feed.is_on


@pytest.mark.parametrize("address", [SOURCES, "/sources/add/"])
def test_nobody_else_sees_them(client, address):
    assert client.get(address).url.startswith("/account/sign-in/")


def test_the_page_costs_the_same_for_one_source_and_for_ten(owner, moment):
    def cost():
        with CaptureQueriesContext(
            connection,
        ) as queries:
            owner.get(SOURCES)
        return len(queries)

    add(moment)
    one = cost()
    for number in range(9):
        add(moment, gauge=make_gauge(), series=f"9000200{number}")

    assert cost() == one <= 6


def test_the_records_show_them_to_read_only(owner, moment):
    feed = add(moment)

    for kind, row in (("feed", feed), ("address", Address.objects.first())):
        assert owner.get(f"/admin/feeds/{kind}/").status_code == 200
        page = owner.get(f"/admin/feeds/{kind}/{row.pk}/change/")
        assert page.status_code == 200
        assert 'name="_save"' not in page.content.decode()
