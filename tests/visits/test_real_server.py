"""A private link against a real server and a client with a real cookie jar."""

import subprocess
import sys
import time
from http.cookiejar import CookieJar
from socket import create_server
from urllib.error import HTTPError, URLError
from urllib.request import HTTPCookieProcessor, build_opener

import pytest

from guiding.visits.views import COOKIE
from tests.briefings.pack_examples import FINAL
from tests.races import HOUSE, Field, environment


@pytest.fixture
def server(sqlite_url, tmp_path):
    """Serve a database with one trip; give its link, what it logs, and what it noted."""
    with create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    site = f"http://127.0.0.1:{port}"
    log = tmp_path / "log"
    with Field("tests.visits.linkmaker", url=sqlite_url, racers=0, SITE_ADDRESS=site) as field:
        with log.open("w") as written:
            process = subprocess.Popen(
                [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"],
                cwd=HOUSE,
                env=environment(sqlite_url, SITE_ADDRESS=site, DEBUG="off", LOG_LEVEL="DEBUG"),
                stdout=written,
                stderr=written,
            )
        try:
            wait_for(site)
            yield field, log
        finally:
            process.terminate()
            process.wait(timeout=10)


def wait_for(site):
    for _ in range(200):
        try:
            build_opener().open(f"{site}/v/nothing/", timeout=5)
        except HTTPError:
            return
        except URLError:
            time.sleep(0.1)
    raise TimeoutError(f"{site} does not answer")


def test_a_browser_keeps_the_cookie_to_the_trips_pages_and_no_log_keeps_the_token(server):
    field, log = server
    link = field.ask("link")
    token = link.rstrip("/").rpartition("/")[2]
    jar = CookieJar()
    browser = build_opener(HTTPCookieProcessor(jar))

    page = browser.open(link, timeout=10)
    shown = page.read().decode()

    assert FINAL.wading in shown
    assert token not in page.url
    assert token not in shown
    (cookie,) = jar
    assert (cookie.name, cookie.path) == (
        COOKIE,
        page.url.partition("/v/")[1] + page.url.partition("/v/")[2],
    )
    assert cookie.has_nonstandard_attr("HttpOnly")
    assert field.ask("visits") == ["issue 2"]
    # a program that tests links and keeps no cookies gets no further, and is not counted
    with pytest.raises(HTTPError) as scanned:
        build_opener().open(link, timeout=10)
    assert scanned.value.code == 404
    with pytest.raises(HTTPError):
        browser.open(link.replace(token, token[::-1]), timeout=10)
    assert field.ask("visits") == ["issue 2"]
    logged = log.read_text()
    assert '"GET /v/[hidden]/ HTTP/1.1" 302' in logged
    assert "Not Found: /v/[hidden]/" in logged
    assert token not in logged
    assert token[::-1] not in logged
