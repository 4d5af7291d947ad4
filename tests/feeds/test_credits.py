"""Whom to credit: made from what is on file."""

from datetime import timedelta

import pytest

from briefings.pack.river_pages import credit_lines
from guiding.feeds.actions import add_feed
from guiding.feeds.credits import credits_for, credits_in_use
from guiding.feeds.models import Feed
from guiding.gauges.models import WeatherRun
from guiding.gauges.providers import metno
from guiding.gauges.providers.agencies import AGENCIES
from tests.factories import make_gauge

pytestmark = pytest.mark.django_db
SEPA = (
    "Contains SEPA data © Scottish Environment Protection Agency and database right, "
    "Open Government Licence v3.0"
)


def told(gauge, moment, code="sepa", **changes):
    fields = {"series": "90001010", "at": moment, **changes}
    feed = add_feed(gauge, code, "level_m", **fields)
    Feed.objects.filter(pk=feed.pk).update(last_value_at=moment)
    return feed


def run(gauge, moment):
    return WeatherRun.objects.create(
        gauge=gauge, issued_at=moment, fetched_at=moment, source=metno.SOURCE, raw={}
    )


def test_who_has_told_something_is_credited_once(moment):
    one, other, bare = make_gauge(), make_gauge(), make_gauge()
    told(one, moment)
    told(other, moment, series="90001999")
    run(one, moment)

    assert credits_for([one, other]) == (f"{SEPA}.", f"{metno.CREDIT}.")
    assert credits_for([other]) == (f"{SEPA}.",)
    assert credits_for([bare]) == ()
    assert [credit.who for credit in credits_in_use()] == [
        "MET Norway",
        "Scottish Environment Protection Agency",
    ]


def test_a_source_that_has_told_nothing_is_not_credited_and_one_switched_off_still_is(moment):
    gauge = make_gauge()
    feed = told(gauge, moment)
    Feed.objects.filter(pk=feed.pk).update(last_value_at=None)
    assert credits_for([gauge]) == ()

    Feed.objects.filter(pk=feed.pk).update(last_value_at=moment, is_on=False)
    assert credits_for([gauge]) == (f"{SEPA}.",)


def test_a_server_of_somebody_else_is_credited_in_its_owners_words(moment):
    gauge = make_gauge()
    told(gauge, moment, "kiwis", base_url="https://x.org/KiWIS", credit="Waters of X, free to use")

    assert credits_for([gauge]) == ("Waters of X, free to use.",)
    assert [credit.words for credit in credits_in_use()] == ["Waters of X, free to use"]


def test_the_packs_last_page_carries_the_credits(moment):
    gauge = make_gauge()
    told(gauge, moment)
    run(gauge, moment + timedelta(minutes=1))

    assert credit_lines(gauge.river)[-2:] == (f"{SEPA}.", f"{metno.CREDIT}.")


def test_the_credits_page_is_open_to_everybody_and_tells_nothing_else(client, moment):
    gauge = make_gauge(name="Secret Bend")
    assert "No agency's data stand here yet." in client.get("/sources/credits/").content.decode()

    told(gauge, moment)
    page = client.get("/sources/credits/")

    words = page.content.decode()
    assert page.status_code == 200
    assert SEPA in words
    assert "open-government-licence" in words
    assert "Secret Bend" not in words
    assert "how each source is getting on" not in words


@pytest.mark.parametrize("agency", AGENCIES, ids=lambda agency: agency.code)
def test_every_agency_says_whom_to_credit_and_under_which_licence_or_asks(agency):
    assert agency.name
    assert agency.licence
    assert bool(agency.credit) == bool(agency.base) == bool(agency.licence_url)
