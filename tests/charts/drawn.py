"""Pictures drawn by hand for the tests of the river's drawing."""

import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree as Tree

from guiding.charts.river import river_chart
from guiding.charts.series import read_picture

SVG = "{http://www.w3.org/2000/svg}"
START = datetime(2026, 5, 20, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
SIZES = {"pack": (493, 170), "page": (736, 400), "phone": (358, 460)}


def iso(hours):
    return (START + hours * HOUR).isoformat()


def rain(*steps):
    """Return steps from (first hour, width, mm, how known)."""
    return [(iso(at), iso(at + wide), mm, known_as) for at, wide, mm, known_as in steps]


def picture(**changes):
    """Return two days measured and two ahead in a zone without a summer time."""
    return {
        "zone": "UTC",
        "measured": [(iso(hour), 0.5) for hour in range(49)],
        "forecast": [(iso(48 + hour), 0.4, 0.5, 0.6) for hour in range(1, 49)],
        "marks": [],
        "day_from": "",
        "day_to": "",
        "day_words": "",
        **changes,
    }


def chart(layout="page", **changes):
    width, height = SIZES[layout]
    drawn = picture(**changes)
    return river_chart(drawn, width=width, height=height, layout=layout, title="t", description="d")


def series(**changes):
    return read_picture(picture(**changes))


def words_of(drawing):
    return [text.text for text in Tree.fromstring(drawing).iter(f"{SVG}text")]  # noqa: S314


def bars_of(drawing, *, filled):
    """Return left, right and depth of each closed bar, or of each outline's steps."""
    found = []
    for path in Tree.fromstring(drawing).iter(f"{SVG}path"):  # noqa: S314
        d = path.get("d")
        is_bar = "V" in d and (path.get("fill") == "currentColor") == filled
        for piece in re.findall(r"M([\d.]+) ([\d.]+)((?:V[\d.]+H[\d.]+)+)V", d) if is_bar else []:
            left, top = float(piece[0]), float(piece[1])
            for deep, right in re.findall(r"V([\d.]+)H([\d.]+)", piece[2]):
                found.append((left, float(right), float(deep) - top))
                left = float(right)
    return found
