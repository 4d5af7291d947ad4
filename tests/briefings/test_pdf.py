"""The PDF as a file: its standard, its bytes, what it may fetch, what it does with bad words."""

import hashlib
import http.server
import io
import json
import os
import re
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import page
import pdfplumber
import pytest

from briefings.pack.pdf import AddressRefused, pack_html, pack_pdf, print_html
from tests.briefings.pack_examples import EXAMPLES, FINAL, FIRST
from tests.briefings.printed import printed, texts, texts_of

HOUSE = Path(__file__).resolve().parents[2]


def failures(pdf):
    return [(f.rule_id, f.message) for f in page.validate_pdf_bytes(pdf, profile="ua1").failures]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_pack_is_tagged_as_pdf_ua_1_asks(name):
    assert failures(printed(name)) == []


def test_the_small_page_is_tagged_too_and_is_small():
    pdf = pack_pdf(EXAMPLES["stale"].as_json(), page_size="A5")

    assert failures(pdf) == []
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        # 148 by 210 mm
        assert (document.pages[0].width, document.pages[0].height) == pytest.approx(
            (419.5, 595.3), abs=0.5
        )


def test_another_paper_is_refused_with_what_there_is():
    with pytest.raises(ValueError, match="'A3'; a pack is printed on A4 or A5"):
        pack_pdf(FINAL.as_json(), page_size="A3")


def test_the_same_content_gives_the_same_bytes_in_another_process_and_order(tmp_path):
    script = (
        "import django, hashlib, json, sys; django.setup()\n"
        "from briefings.pack.pdf import pack_pdf\n"
        "for line in sys.stdin:\n"
        "    print(hashlib.sha256(pack_pdf(json.loads(line))).hexdigest())\n"
    )
    lines = [json.dumps(EXAMPLES[name].as_json()) for name in ("first", "stale")]

    def hashes(order, seed):
        found = subprocess.run(
            [sys.executable, "-c", script],
            input="\n".join(order),
            capture_output=True,
            text=True,
            check=True,
            cwd=HOUSE,
            env={
                **os.environ,
                "DJANGO_SETTINGS_MODULE": "tests.settings",
                "PYTHONHASHSEED": seed,
                "TZ": "Pacific/Auckland" if seed == "1" else "UTC",
            },
        )
        return found.stdout.split()

    one, other = hashes(lines, "1"), hashes(lines[::-1], "2")

    assert one == other[::-1]
    assert [hashlib.sha256(printed(name)).hexdigest() for name in ("first", "stale")] == one


def test_threads_that_print_at_once_do_not_change_each_others_pages():
    contents = [EXAMPLES[name].as_json() for name in ("bleak", "first")]
    alone = [printed("bleak"), printed("first")]
    together = [b"", b""]

    def run(place):
        together[place] = pack_pdf(contents[place])

    threads = [threading.Thread(target=run, args=(place,)) for place in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert together == alone


# --- what a page may fetch ---


class Listener(http.server.BaseHTTPRequestHandler):
    def do_GET(self):
        self.server.asked.append(self.path)
        self.send_response(200)
        self.end_headers()
        self.wfile.write(b"secret")

    def log_message(self, *_):
        pass


@pytest.fixture(scope="module")
def outside(tmp_path_factory):
    """Return a server and a file that no pack may touch."""
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Listener)
    server.asked = []
    threading.Thread(target=server.serve_forever, daemon=True).start()
    secret = tmp_path_factory.mktemp("outside") / "secret.txt"
    secret.write_text("the-keys-are-under-the-mat")
    yield server, secret
    server.shutdown()
    server.server_close()


HOSTILE = [
    '<img src="{http}/a.png" alt="a">',
    '<img src="{file}" alt="a">',
    '<img srcset="{http}/a.png 2x" src="{http}/b.png" alt="a">',
    '<img src="//127.0.0.1/a.png" alt="a">',
    '<img src="../../manage.py" alt="a">',
    '<img src="pack:///../pdf.py" alt="a">',
    '<img src="pack:///%2e%2e/pdf.py" alt="a">',
    '<img src="pack:///fonts/OFL.txt" alt="a">',
    '<img src="PACK:///pack.css" alt="a">',
    '<img src="ftp://127.0.0.1/a.png" alt="a">',
    '<p style="background: url({http}/a.png)">x</p>',
    '<p style="list-style-image: url({file}); display: list-item">x</p>',
    "<style>@import url({http}/a.css);</style><p>x</p>",
    "<style>@import '{file}';</style><p>x</p>",
    "<style>@font-face {{ font-family: F; src: url({http}/f.woff2) }}</style><p>x</p>",
    "<style>p::before {{ content: url({file}) }}</style><p>x</p>",
    "<style>@page {{ background: url({http}/a.png) }}</style><p>x</p>",
    '<link rel="stylesheet" href="{http}/a.css"><p>x</p>',
    '<link rel="attachment" href="{file}"><p>x</p>',
    '<a rel="attachment" href="{file}">x</a>',
    '<object data="{http}/a.svg">x</object>',
    '<embed src="{http}/a.svg">',
    '<iframe src="{http}/a.html"></iframe><p>x</p>',
    '<script src="{http}/a.js"></script><p>x</p>',
    '<base href="{http}/"><img src="a.png" alt="a">',
    '<svg width="9"><title>t</title><image href="{http}/a.png" width="9" height="9"/></svg>',
    '<svg width="9"><title>t</title><image xlink:href="{file}" width="9" height="9"/></svg>',
    '<svg width="9" height="9"><title>t</title><use href="{http}/a.svg#b"/></svg>',
    '<svg width="9" height="9"><title>t</title><style>@import url({http}/a.css);</style></svg>',
    "<img alt='a' src=\"data:image/svg+xml,<svg><image href='{http}/a.png'/></svg>\">",
]


@pytest.mark.parametrize("construct", HOSTILE)
def test_nothing_outside_the_assets_is_fetched_or_embedded(construct, outside):
    server, secret = outside
    server.asked.clear()
    http_address = f"http://127.0.0.1:{server.server_port}"
    body = construct.format(http=http_address, file=secret.as_uri())
    html = f'<html lang="en"><head><title>t</title></head><body>{body}</body></html>'

    try:
        pdf = print_html(html)
    except AddressRefused:
        pdf = b""

    assert server.asked == []
    assert b"the-keys-are-under-the-mat" not in pdf
    assert b"EmbeddedFile" not in pdf


@pytest.mark.parametrize("address", ["http://127.0.0.1:9/a.png", "file:///etc/hostname", "x.png"])
def test_a_refused_address_stops_the_print_with_an_ordinary_error(address):
    html = (
        f'<html lang="en"><head><title>t</title></head><body><img alt="a" src="{address}"></body>'
    )

    with pytest.raises(AddressRefused):
        print_html(html)


def test_what_is_written_in_the_page_itself_may_be_drawn():
    dot = (
        "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgAB"
        "SK+kcQAAAABJRU5ErkJggg=="
    )
    html = f'<html lang="en"><head><title>t</title></head><img alt="a" src="{dot}">'

    assert print_html(html).startswith(b"%PDF")


# --- words from outside ---


def hostile_content(words):
    return replace(
        FIRST,
        danger=words,
        wading=words,
        reader_line=words,
        river=replace(FIRST.river, sentence=words),
        kit=replace(FIRST.kit, bring=tuple(words for _ in FIRST.kit.bring)),
        emergency=replace(FIRST.emergency, hospital=words),
    )


WORDS = [
    "<script>alert(1)</script>",
    "</svg></body></html>",
    "<img src=http://127.0.0.1/x>",
    "{{ content.wading }} {% load static %}",
    "&lt;b&gt; & \"quotes\" 'single'",
    "url(javascript:alert(1))",
]


@pytest.mark.parametrize("words", WORDS)
def test_markup_in_words_becomes_no_element(words):
    html = pack_html(hostile_content(words).as_json())

    usual = pack_html(FIRST.as_json())
    assert re.findall(r"<[a-z/!]+", html) == re.findall(r"<[a-z/!]+", usual)


def test_markup_in_words_is_printed_as_text():
    pdf = pack_pdf(hostile_content(" ".join(WORDS)).as_json())

    assert failures(pdf) == []
    everything = " ".join(texts_of(pdf))
    for words in WORDS:
        assert everything.count(words) >= 4


def test_letters_the_font_lacks_neither_break_the_standard_nor_vanish_unsaid():
    content = replace(FINAL, reader="王小明 🎣 Ĉiela \u202eabc\x00\x07", title="День 20")

    pdf = pack_pdf(content.as_json())

    assert failures(pdf) == []
    everything = " ".join(texts_of(pdf))
    assert "Day sheet for [?]" in everything
    assert "[?] stands for letters that this print cannot show" in everything
    assert "stands for letters" not in " ".join(texts("final"))


def test_a_name_of_ten_thousand_letters_costs_no_extra_page():
    endless = pack_pdf(replace(EXAMPLES["first"], reader="W" * 10_000).as_json())

    assert failures(endless) == []
    with pdfplumber.open(io.BytesIO(endless)) as document:
        assert len(document.pages) == len(texts("first"))
        for sheet in document.pages:
            assert max(char["x1"] for char in sheet.chars) <= sheet.width
