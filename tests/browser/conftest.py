"""A season served from a database of its own, and a signed-in browser to read it with."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

HERE = Path(__file__).parent
PHONE, LAPTOP = {"width": 390, "height": 844}, {"width": 1280, "height": 900}


def pytest_collection_modifyitems(items):
    """Keep these tests in one worker: one server and one browser serve them all."""
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.xdist_group("browser"))


@pytest.fixture(scope="session")
def served(tmp_path_factory):
    """Return what the server printed: its address, the words, the pages."""
    folder = tmp_path_factory.mktemp("served")
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.browser.serve", str(folder)],
        stdout=subprocess.PIPE,
        stderr=(folder / "errors").open("w"),
        text=True,
        env={**os.environ, "HTTPS": "off"},
    )
    try:
        line = server.stdout.readline()
        assert line, (folder / "errors").read_text()
        yield json.loads(line)
    finally:
        server.terminate()
        server.wait(timeout=10)
        server.stdout.close()


@pytest.fixture(scope="session")
def chromium():
    """Return Debian's own browser; where there is none the test fails, it never skips."""
    # the test browser keeps an event loop in this thread, which Django takes for a web server's
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    path = shutil.which("chromium") or shutil.which("google-chrome")
    assert path, "These tests need a browser: apt-get install chromium."
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()
    if before is None:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
    else:
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = before


@pytest.fixture(scope="session")
def signed_in(served, chromium):
    """Return the cookies of somebody who has signed in, by name; each signs in once."""
    kept = {}

    def cookies_of(name):
        if name not in kept:
            context = chromium.new_context()
            sign_in(context.new_page(), served, name)
            kept[name] = context.storage_state()
            context.close()
        return kept[name]

    return cookies_of


@pytest.fixture
def browse(served, chromium, signed_in):
    """Return an opener of pages: browse("trip", size=PHONE, name="guide", **of_the_context)."""
    contexts = []

    def open_page(what, *, size=PHONE, name="guide", **options):
        state = signed_in(name) if name else None
        context = chromium.new_context(
            viewport=size, storage_state=state, base_url=served["base"], **options
        )
        contexts.append(context)
        page = context.new_page()
        page.complaints = []
        page.requested = []
        page.on("console", lambda said: note(page, said))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        page.on("request", lambda request: page.requested.append(request.url))
        page.goto(served["pages"].get(what, what))
        return page

    yield open_page
    for context in contexts:
        context.close()


def note(page, said):
    if said.type in ("error", "warning"):
        page.complaints.append(said.text)


def sign_in(page, served, name):
    page.goto(f"{served['base']}/account/sign-in/")
    page.fill("[name=username]", name)
    page.fill("[name=password]", served["words"][name])
    page.click("main button")
    assert page.url == f"{served['base']}/", page.inner_text("main")
