"""Numbers that a phone may ring: only digits ever reach a link."""

import re

import pytest
from django.template.loader import render_to_string
from hypothesis import given
from hypothesis import strategies as st

from briefings.pack.drawings import draw_pack, draw_page
from briefings.pack.pdf import pack_html
from briefings.pack.phones import phone_pieces
from tests.briefings.pack_examples import FINAL

LINK = re.compile(r"tel:\+?[0-9]{3,15}")


def links(text):
    return [piece["href"] for piece in phone_pieces(text) if piece["href"]]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("999 or 112", ["tel:999", "tel:112"]),
        ("01632 960100", ["tel:01632960100"]),
        ("(01632) 960-100", ["tel:01632960100"]),
        ("+44 (0)1632 960100", ["tel:+441632960100"]),
        ("+47.22.00.00.00", ["tel:+4722000000"]),
        ("01632 960100 / 01632 960101", ["tel:01632960100", "tel:01632960101"]),
        ("01632 960100 ext. 12", ["tel:01632960100"]),
        ("Ida Moss 01632 960102; for Tom: 01632 960103", ["tel:01632960102", "tel:01632960103"]),
        ("not on file", []),
        ("", []),
        ("12", []),
        ("2026-05-20", []),
        ("1234567890123456", []),
        ("javascript:alert(1)", []),
        ("٠١٢٣٤٥٦", []),
    ],
)
def test_each_number_in_a_text_gets_a_link_of_its_digits(text, found):
    assert links(text) == found


@given(st.text(max_size=60))
def test_whatever_was_typed_no_word_is_lost_and_only_digits_reach_a_link(text):
    pieces = phone_pieces(text)

    assert "".join(piece["words"] for piece in pieces) == text
    assert all(LINK.fullmatch(piece["href"]) for piece in pieces if piece["href"])


def page(content):
    parts = ("call", "emergency")
    context = {"content": content, "drawings": draw_page(content)}
    return "".join(render_to_string(f"briefings/parts/{part}.html", context) for part in parts)


def test_the_page_rings_the_guide_the_fishery_and_for_help():
    content = FINAL.as_json()
    content["emergency"] |= {
        "number": "999 or 112",
        "guide_phone": "01632 960100",
        "fishery_phone": "01632 960101",
    }

    html = page(content)

    for number in ("999", "112", "01632960100", "01632960101"):
        assert html.count(f'href="tel:{number}"') == 2


def test_what_is_not_known_rings_nobody_and_mark_up_stays_words():
    content = FINAL.as_json()
    content["emergency"] |= {"guide_phone": "not on file", "fishery_phone": '"><b>07700</b>'}

    html = page(content)

    assert "not on file" in html
    assert "<b>07700</b>" not in html
    assert "&quot;&gt;&lt;b&gt;" in html


def test_on_paper_a_number_stays_words():
    content = FINAL.as_json()

    assert "tel:" not in pack_html(content)
    assert "phones" not in draw_pack(content)
