"""The newest reading and the part not known, in words that cover neither record nor marks."""

import math
import re
from xml.etree import ElementTree as Tree

import pytest

from guiding.charts.placing import Box
from guiding.charts.svg import text_width
from tests.charts.drawn import HOUR, SIZES, START, SVG, chart, iso, words_of


def patches(drawing):
    """Return the paper under words inside the picture."""
    for rect in Tree.fromstring(drawing).iter(f"{SVG}rect"):  # noqa: S314
        if rect.get("class") == "paper":
            x, y, wide, tall = (float(rect.get(key)) for key in ("x", "y", "width", "height"))
            yield Box(x=x, y=y, width=wide, height=tall)


def measured_points(drawing):
    for path in Tree.fromstring(drawing).iter(f"{SVG}path"):  # noqa: S314
        if path.get("stroke-linejoin") == "round":
            yield from (
                tuple(map(float, p)) for p in re.findall(r"([\d.]+) ([\d.]+)", path.get("d"))
            )


def covered(drawing):
    boxes = list(patches(drawing))
    return [
        (x, y)
        for x, y in measured_points(drawing)
        for box in boxes
        if box.x < x < box.x + box.width and box.y < y < box.y + box.height
    ]


@pytest.mark.parametrize("layout", SIZES)
@pytest.mark.parametrize("hours_left", [8, 12, 16, 24, 36, 60])
def test_what_is_not_known_does_not_cover_the_record(layout, hours_left):
    levels = [0.6 + 0.3 * math.sin(hour / 9) for hour in range(96 - hours_left)]
    measured = [(iso(hour), level) for hour, level in enumerate(levels)]

    drawing = chart(layout, measured=measured, forecast=[], shown_from=iso(0), shown_to=iso(96))

    assert "not known" in words_of(drawing)
    assert covered(drawing) == []


@pytest.mark.parametrize("layout", SIZES)
@pytest.mark.parametrize("off", [-0.02, 0.0, 0.02, 0.05])
def test_the_newest_reading_does_not_cover_a_marks_words(layout, off):
    seen = [(0.5 + off, "flat stone covered"), (0.52 + off, "stone gone"), (0.54 + off, "a post")]
    drawing = chart(layout, marks=seen)

    words = list(Tree.fromstring(drawing).iter(f"{SVG}text"))  # noqa: S314
    newest = next(text for text in words if (text.text or "").startswith("0.50 m, "))

    def box(text):
        size = float(text.get("font-size"))
        wide = text_width(text.text, size, bold=text.get("font-weight") == "700")
        left = float(text.get("x")) - (wide / 2 if text.get("text-anchor") == "middle" else 0)
        return Box(x=left, y=float(text.get("y")) - 0.7 * size, width=wide, height=0.7 * size)

    others = [text for text in words if text is not newest]
    assert [text.text for text in others if box(text).meets(box(newest))] == []
    assert all(any(mark in (text.text or "") for text in others) for _, mark in seen)


@pytest.mark.parametrize("layout", SIZES)
def test_the_newest_reading_does_not_stand_on_a_marks_line(layout):
    # a fall that ends just above two marks: the nearest free ground lies between their lines
    fall = [(iso(hour), 0.44 + 0.8 * math.exp(-hour / 12)) for hour in range(49)]
    ahead = [(iso(48 + hour), 0.37, 0.40, 0.42 + 0.01 * hour) for hour in range(1, 49)]
    marks = [(0.30, "footing stone dry"), (0.40, "flat stone covered"), (0.9, "hut steps wet")]

    drawing = chart(layout, measured=fall, forecast=ahead, marks=marks)

    lines = [
        float(path.get("d").split()[1])
        for path in Tree.fromstring(drawing).iter(f"{SVG}path")  # noqa: S314
        if path.get("stroke-dasharray")
        and len(set(re.findall(r"[\d.]+", path.get("d"))[1::2])) == 1
    ]
    assert len(lines) >= 3
    assert [y for y in lines for box in patches(drawing) if box.y < y < box.y + box.height] == []


def test_a_days_mean_is_said_to_be_of_its_day_and_no_hour():
    # kept in UTC, a day of May begins at 01:00 on the clock of London
    measured = [((START + 24 * n * HOUR).isoformat(), 0.5) for n in range(6)]
    changes = {"zone": "Europe/London", "measured": measured, "forecast": [], "step_minutes": 1440}

    words = words_of(chart(**changes, shown_to=iso(24 * 12)))

    assert "0.50 m, mean of Mon 25" in words
    assert "since Mon 25 May" in words
    assert not [word for word in words if "01:00" in word or "13:00" in word]
