"""The client's page: only with the link, only their own, and nothing left behind."""

import re
from dataclasses import replace
from datetime import timedelta
from html import unescape

import pytest
import time_machine
from django.urls import reverse

from guiding.bookings.offers import cancel
from guiding.bookings.wanted import PartyWanted
from guiding.visits.actions import make_link, revoke_links
from guiding.visits.models import PrivateLink, Visit
from guiding.visits.views import COOKIE
from tests.briefings.pack_examples import FINAL, FIRST, GUIDE
from tests.factories import make_booking, make_briefing, make_document, make_person

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def now(moment):
    with time_machine.travel(moment, tick=False) as clock:
        yield clock


def token_for(booking, person, at):
    return make_link(f"{booking.key}:{person.key}", at=at).rstrip("/").rpartition("/")[2]


def open_page(client, booking, person, at):
    """Follow a fresh link as a browser does; return the address of the page."""
    return client.get(reverse("visits:open", args=[token_for(booking, person, at)])).url


@pytest.fixture
def briefing(moment):
    document = make_document(data=b"%PDF-1.7 of Ailsa", name="T-1-ailsa-final-2.pdf", at=moment)
    return make_briefing(document=document)


def test_the_token_is_swapped_for_a_cookie_of_this_trips_pages_alone(client, briefing, moment):
    token = token_for(briefing.booking, briefing.person, moment)

    response = client.get(f"/v/{token}/")

    link = PrivateLink.objects.get()
    assert (response.status_code, response.url) == (302, f"/v/trip/{link.key}/")
    assert token not in response.url
    cookie = response.cookies[COOKIE]
    assert cookie["path"] == f"/v/trip/{link.key}/"
    assert cookie["httponly"] is True
    assert cookie["samesite"] == "Lax"
    assert cookie["max-age"] == int((link.expires_at - moment).total_seconds())
    assert list(response.cookies) == [COOKIE]
    assert response["Cache-Control"] == "no-store, private"
    assert response["Referrer-Policy"] == "same-origin"
    assert not Visit.objects.exists()  # a program that tests the links in a mail leaves no trace


def test_the_cookie_travels_encrypted_where_the_site_does(client, briefing, moment, settings):
    settings.SESSION_COOKIE_SECURE = True

    response = client.get(f"/v/{token_for(briefing.booking, briefing.person, moment)}/")

    assert response.cookies[COOKIE]["secure"] is True


def test_the_page_shows_the_pack_to_somebody_without_an_account(client, briefing, moment):
    page = open_page(client, briefing.booking, briefing.person, moment)

    response = client.get(page)

    assert response.status_code == 200
    shown = unescape(response.content.decode())
    for words in (FINAL.title, FINAL.wading, FINAL.danger, FINAL.setup.sentence):
        assert words in shown
    for caution in FINAL.cautions:
        assert caution.text in shown
    assert "pack.pdf" in shown
    assert response["Cache-Control"] == "no-store, private"
    assert response["Referrer-Policy"] == "same-origin"
    assert [v.what for v in Visit.objects.all()] == ["issue 2"]


def test_the_page_keeps_to_the_content_security_policy_and_needs_no_script(
    client, briefing, moment
):
    page = open_page(client, briefing.booking, briefing.person, moment)

    response = client.get(page)

    assert "default-src 'none'" in response["Content-Security-Policy"]
    shown = response.content.decode()
    assert re.search(r"<script|<style|\sstyle=|\son\w+=|javascript:", shown) is None
    assert re.search(r'(?:src|href)="(?:https?:)?//', shown) is None
    assert len(response.content) < 100_000


def test_the_pdf_is_the_bytes_that_were_kept(client, briefing, moment):
    page = open_page(client, briefing.booking, briefing.person, moment)

    response = client.get(f"{page}pack.pdf")

    assert response.content == b"%PDF-1.7 of Ailsa" == briefing.document.read()
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == 'inline; filename="T-1-ailsa-final-2.pdf"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "no-store, private"
    assert [v.what for v in Visit.objects.all()] == ["issue 2 PDF"]


def test_looking_at_headers_alone_is_no_visit(client, briefing, moment):
    page = open_page(client, briefing.booking, briefing.person, moment)

    assert client.head(page).status_code == 200
    assert client.head(f"{page}pack.pdf").status_code == 200

    assert not Visit.objects.exists()


def test_wrong_expired_and_revoked_links_get_one_and_the_same_answer(client, briefing, moment, now):
    booking, person = briefing.booking, briefing.person
    good = token_for(booking, person, moment)
    revoked = token_for(booking, person, moment)
    PrivateLink.objects.filter(pk=PrivateLink.objects.latest("pk").pk).update(revoked_at=moment)
    answers = [
        client.get(f"/v/{token}/")
        for token in (
            "x",
            "A" * 43,
            good[:-1],
            good.swapcase(),
            revoked,
            "trip",
            "%ff%00",
            "é" * 99,
        )
    ]
    page = client.get(f"/v/{good}/").url
    answers.append(client.get("/v/trip/00000000-0000-4000-8000-000000000000/"))
    client.cookies.clear()
    answers += [client.get(page), client.get(f"{page}pack.pdf"), client.get(f"{page}issue/1/")]
    now.move_to(PrivateLink.objects.earliest("pk").expires_at)
    answers.append(client.get(f"/v/{good}/"))

    assert {a.status_code for a in answers} == {404}
    assert len({a.content for a in answers}) == 1
    assert {a["Cache-Control"] for a in answers} == {"no-store, private"}
    assert not any(a.cookies for a in answers)
    assert not Visit.objects.exists()


def test_a_revoked_link_closes_pages_that_are_open_already(client, briefing, moment):
    page = open_page(client, briefing.booking, briefing.person, moment)
    assert client.get(page).status_code == 200

    revoke_links(briefing.booking, at=moment)

    assert client.get(page).status_code == 404
    assert client.get(f"{page}pack.pdf").status_code == 404


def test_a_person_sees_only_their_own_pack_of_their_own_trip(client, moment):
    ada, bo = make_person(), make_person()
    party = tuple(PartyWanted(person=p, role="rod") for p in (ada, bo))
    booking = make_booking(party=party)
    make_briefing(booking=booking, person=ada, content=replace(FINAL, reader="Only Ada"))
    make_briefing(booking=booking, person=bo, content=replace(FINAL, reader="Only Bo"))
    make_briefing(booking=booking, person=None, audience="guide", content=replace(GUIDE, number=9))
    elsewhere = make_briefing(
        booking=make_booking(payer=ada, day=booking.days.get().date + timedelta(days=1)),
        content=replace(FINAL, reader="Ada elsewhere"),
    )

    mine = open_page(client, booking, ada, moment)
    theirs = reverse("visits:trip", args=[PrivateLink.objects.get().key])
    other = open_page(client, booking, bo, moment)  # the browser's cookie is Bo's from here on

    assert theirs == mine
    shown = client.get(other).content.decode()
    assert "Only Bo" in shown
    assert "Only Ada" not in shown
    assert "stop level" not in shown.lower()
    assert client.get(mine).status_code == 404
    assert client.get(f"{other}issue/9/").status_code == 404
    assert str(elsewhere.booking.reference) not in shown


def test_the_newest_issue_is_shown_and_an_older_one_says_it_is_replaced(client, moment):
    first = make_briefing(content=FIRST)
    booking, person = first.booking, first.person
    page = open_page(client, booking, person, moment)
    assert FIRST.title in client.get(page).content.decode()
    assert client.get(f"{page}issue/1/").url == page
    make_briefing(booking=booking, content=replace(FINAL, wading="Bank only."), replaces=first)

    newest, old = client.get(page), client.get(f"{page}issue/1/")

    assert "Bank only." in newest.content.decode()
    assert f'href="{page}issue/1/"' in newest.content.decode()
    assert old.status_code == 200
    assert "Issue 1 has been replaced" in old.content.decode()
    assert f'href="{page}"' in old.content.decode()
    assert FIRST.danger not in old.content.decode()


def test_a_pack_past_its_time_says_so_first(client, briefing, moment, now):
    page = open_page(client, briefing.booking, briefing.person, moment)
    assert "That is over" not in client.get(page).content.decode()

    now.move_to(briefing.valid_until)

    shown = client.get(page).content.decode()
    assert shown.index("That is over: for today, ask your guide.") < shown.index("<h1>")


def test_a_trip_that_was_called_off_shows_no_pack(client, briefing, moment):
    page = open_page(client, briefing.booking, briefing.person, moment)
    cancel(briefing.booking, reason="unsafe", at=moment)

    shown = client.get(page).content.decode()

    assert "This trip has been called off" in shown
    assert FINAL.wading not in shown
    assert client.get(f"{page}pack.pdf").status_code == 404


def test_before_the_first_issue_the_page_promises_nothing(client, moment):
    booking = make_booking()
    page = open_page(client, booking, booking.payer, moment)

    shown = client.get(page).content.decode()

    assert "Your pack is not written yet" in shown
    assert client.get(f"{page}pack.pdf").status_code == 404
    assert not Visit.objects.exists()


def test_a_pack_whose_pdf_is_still_being_written_is_shown_without_one(client, moment):
    briefing = make_briefing()
    page = open_page(client, briefing.booking, briefing.person, moment)

    shown = client.get(page).content.decode()

    assert "still being written" in shown
    assert "pack.pdf" not in shown


@pytest.mark.parametrize("tail", ["", "pack.pdf", "issue/1/"])
def test_nothing_can_be_changed_through_a_link(client, briefing, moment, tail):
    page = open_page(client, briefing.booking, briefing.person, moment)

    for send in (client.post, client.put, client.delete, client.patch):
        assert send(f"{page}{tail}").status_code == 405


def test_the_page_asks_the_database_a_fixed_number_of_questions(
    client, briefing, moment, django_assert_max_num_queries
):
    page = open_page(client, briefing.booking, briefing.person, moment)

    with django_assert_max_num_queries(5):
        client.get(page)
