"""The outlook in a real browser: read aloud, in black and white, by keyboard, on one bar."""

import re

import pytest

from tests.browser.conftest import LAPTOP, PHONE

INK = {"currentColor", "none", "#fff"}
SHOWN = """() => [...document.querySelectorAll('figure svg')]
  .filter(svg => svg.checkVisibility())
  .map(svg => [svg.getAttribute('role'), svg.querySelector('title').textContent,
    svg.querySelector('desc').textContent])"""
PAINT = """() => [...new Set([...document.querySelectorAll('figure svg *')]
  .flatMap(e => [e.getAttribute('fill'), e.getAttribute('stroke')]).filter(v => v))]"""
SMALLEST = """() => Math.min(...[...document.querySelectorAll('figure svg text')]
  .filter(e => e.checkVisibility()).map(e => e.getBoundingClientRect().height))"""
OUTSIDE = """() => [...document.querySelectorAll('figure svg text')]
  .filter(e => e.checkVisibility()).filter(e => {
    const box = e.getBoundingClientRect(), all = e.ownerSVGElement.getBoundingClientRect();
    return box.left < all.left - 1 || box.right > all.right + 1
      || box.top < all.top - 1 || box.bottom > all.bottom + 1;
  }).map(e => e.textContent)"""
MEETING = """() => {
  const words = [...document.querySelectorAll('figure svg text')].filter(e => e.checkVisibility());
  const boxes = words.map(e => [e.textContent, e.getBBox()]);
  const found = [];
  boxes.forEach(([one, a], i) => boxes.slice(i + 1).forEach(([other, b]) => {
    const shrink = 0.2 * a.height;  // ascenders and descenders are not ink
    if (a.x < b.x + b.width && b.x < a.x + a.width
        && a.y + shrink < b.y + b.height - shrink && b.y + shrink < a.y + a.height - shrink) {
      found.push(one + ' meets ' + other);
    }
  }));
  return found;
}"""


@pytest.mark.parametrize("size", [PHONE, LAPTOP])
def test_one_picture_is_shown_and_it_is_read_aloud(browse, size):
    page = browse("river", size=size)

    ((role, title, told),) = page.evaluate(SHOWN)
    assert role == "img"
    assert "level measured and forecast" in title
    assert page.inner_text("h1") in told
    assert "Marks: " in told


@pytest.mark.parametrize("size", [PHONE, LAPTOP])
def test_no_words_of_the_picture_meet_or_leave_it(browse, size):
    page = browse("river", size=size)
    page.evaluate("document.fonts.ready")

    assert page.evaluate(OUTSIDE) == []
    assert page.evaluate(MEETING) == []
    assert page.evaluate(SMALLEST) >= 14


def test_the_picture_is_drawn_in_ink_alone(browse):
    page = browse("river")

    assert set(page.evaluate(PAINT)) <= INK


def test_on_paper_the_picture_and_the_windows_are_there(browse):
    page = browse("river")
    page.emulate_media(media="print")

    assert page.is_visible("figure svg")
    assert page.is_visible("text=When is it in your good range?")


def test_the_table_opens_by_keyboard_and_tells_level_rain_and_light(browse):
    page = browse("river", size=LAPTOP)
    page.focus("summary")
    page.keyboard.press("Enter")

    heads = [head.inner_text() for head in page.query_selector_all("details thead th")]
    assert heads == [
        *("When", "How known", "Level", "Four times in five between"),
        *("Rain until the next line", "Light"),
    ]
    rows = page.inner_text("details tbody")
    assert re.search(r"\d mm forecast", rows)
    assert "dark" in rows


def test_every_beat_has_its_windows_or_a_reason(browse):
    page = browse("river")

    words = page.inner_text("main")
    told = words.split("When is it in your good range?")[1].split("When does it pass a mark?")[0]
    for beat in ("Upper Hask", "Lower Hask", "Ossel Foot"):
        assert beat in told
    assert "Not known: water is let out above it" in told
    assert re.search(
        r"(likely|certain|not), (about|over|under) \d+ %|No window|Not known from", told
    )


def test_the_page_is_light(browse):
    page = browse("river")
    page.wait_for_function("() => performance.getEntriesByType('resource').length >= 3")
    sizes = page.evaluate(
        "() => [...performance.getEntriesByType('navigation'),"
        " ...performance.getEntriesByType('resource')].map(e => e.transferSize)"
    )

    assert 0 < sum(sizes) < 100_000
