"""Signing in and out."""

import pytest

from guiding.accounts.models import User


@pytest.fixture
def guide(db):
    return User.objects.create_user("guide", password="heron-heron-heron", role="guide")


def test_the_right_words_lead_to_the_page_that_was_asked_for(client, guide):
    asked = client.get("/tackle/")
    answer = client.post(
        asked.url, {"username": "guide", "password": "heron-heron-heron", "next": "/tackle/"}
    )

    assert answer.url == "/tackle/"


def test_the_wrong_words_say_so_and_keep_the_name(client, guide):
    answer = client.post("/account/sign-in/", {"username": "guide", "password": "Heron"})

    words = answer.content.decode()
    assert "That name and password do not go together." in words
    assert 'value="guide"' in words
    assert "Heron" not in words


def test_another_site_is_no_place_to_be_sent_on_to(client, guide):
    answer = client.post(
        "/account/sign-in/",
        {"username": "guide", "password": "heron-heron-heron", "next": "https://example.org/"},
    )

    assert answer.url == "/"


def test_signing_out_takes_a_press_not_a_look(client, guide):
    client.force_login(guide)

    assert client.get("/account/sign-out/").status_code == 405
    assert client.post("/account/sign-out/").url == "/account/sign-in/"
    assert client.get("/").status_code == 302
