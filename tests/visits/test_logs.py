"""No log line keeps a token, whoever writes it."""

import logging

import pytest
from django.conf import settings

from guiding.visits.logs import HideTokens

TOKEN = "Zk3rX9-unguessable_unguessable_unguessable0"


@pytest.mark.parametrize(
    ("said", "args", "written"),
    [
        (
            '"%s" %s %s',
            (f"GET /v/{TOKEN}/ HTTP/1.1", "302", "0"),
            '"GET /v/[hidden]/ HTTP/1.1" 302 0',
        ),
        ("Not Found: %s", (f"/v/{TOKEN}/",), "Not Found: /v/[hidden]/"),
        (f"https://haugh.invalid/v/{TOKEN}", (), "https://haugh.invalid/v/[hidden]"),
        (f"/v/{TOKEN}?x=1 /v/short/", (), "/v/[hidden]?x=1 /v/[hidden]/"),
        ("GET /v/trip/5f0c/pack.pdf", (), "GET /v/trip/5f0c/pack.pdf"),
        ("%d%% of %s", (100, "it"), "100% of it"),
    ],
)
def test_the_token_is_blanked_out_and_the_rest_stays(said, args, written):
    record = logging.LogRecord("django.server", logging.INFO, "", 0, said, args, None)

    assert HideTokens().filter(record) is True

    assert record.getMessage() == written


def test_every_handler_of_the_house_has_the_filter():
    logged = settings.LOGGING

    assert all("hide_tokens" in handler["filters"] for handler in logged["handlers"].values())
    # Django's own handlers for these two would write past it
    for name in ("django", "django.server"):
        assert logged["loggers"][name]["handlers"] == []
