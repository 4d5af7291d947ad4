"""Every drawing of a pack and of its page, made from the stored content."""

from __future__ import annotations

import math
from typing import Any

from briefings.pack.fly_drawing import fly_drawing
from briefings.pack.leader_drawing import leader_drawing
from briefings.pack.phones import phones_of
from guiding.charts.river import river_chart
from guiding.charts.river_table import river_table
from guiding.charts.svg import Svg, text_width

PAGE_WIDTH_PT = {"A4": 493.0, "A5": 352.0}  # between the margins of pack.css
DAY_SHEET_PT = 751.0  # the height of an A4 page between its margins
TIGHT = 0.8  # how tall the same words are in the smaller style of pack.css
RIVER_PT = (112.0, 196.0)  # the least and the most height of the river's picture on paper
LINE_HEIGHT = 1.36
PHONE_WIDTH_PT = 265.0  # 354 px


def draw_pack(content: dict[str, Any], *, page_size: str = "A4") -> dict[str, Any]:
    """Return every drawing of a pack for paper, keyed as the parts of the template use them."""
    width = PAGE_WIDTH_PT[page_size]
    picture = content["river"]["picture"]
    least, most = RIVER_PT
    words = _words_of_day_sheet(content)
    is_tight = page_size != "A4" or words > DAY_SHEET_PT - (least if picture else 0)
    room = DAY_SHEET_PT - words * (TIGHT if is_tight else 1)
    return {
        "river": _river(content, width, min(max(room, least), most), "pack"),
        "river_phone": None,
        "river_rows": river_table(picture, every_hours=12) if picture else [],
        "setups": _setups(content, width),
        "is_tight": is_tight,
    }


def draw_page(content: dict[str, Any]) -> dict[str, Any]:
    """Return the same for a web page: the river wide and for a phone, numbers that can be rung."""
    picture = content["river"]["picture"]
    return {
        "river": _river(content, 720, 380, "page"),
        "river_phone": _river(content, 354, 430, "phone"),
        "river_rows": river_table(picture) if picture else [],
        "phones": phones_of(content),
        "setups": _setups(content, PAGE_WIDTH_PT["A4"], PHONE_WIDTH_PT),
    }


def _words_of_day_sheet(content: dict[str, Any]) -> float:
    """Return about how tall the words of the day sheet come out, in points.

    Page 1 has to be enough alone, so the picture gives way before a word does. The sizes are those
    of pack.css.
    """
    width = PAGE_WIDTH_PT["A4"]

    def tall(words: str, size: float, room: float = width, lead: float = LINE_HEIGHT) -> float:
        return (
            max(1, math.ceil(text_width(words, size, bold=lead < LINE_HEIGHT) / room)) * size * lead
        )

    heading = 12.5 * 1.15 + 14
    used = 40 + tall(content["title"], 23, lead=1.15) + tall(content["reader_line"], 12.5) + 14
    used += tall(content["danger"], 16, width - 28, 1.25) + 30
    if content["changes"]:
        used += heading + sum(tall(change, 11.5, width - 29) for change in content["changes"])
    used += heading + 36 * len(content["parts"])
    used += tall(content["river"]["sentence"], 15, lead=1.15) + 10
    used += tall(content["river"]["detail"], 11.5) + 18
    picture = content["river"]["picture"]
    if picture and (picture.get("rain") is not None or picture.get("nights")):
        used += 11 * LINE_HEIGHT  # the key under it takes a second line
    setups = [content["setup"]] if content["setup"] else []
    said = [setup["sentence"] for setup in [*setups, *content.get("later_setups", ())]]
    used += heading + sum(tall(words, 11.5) + 5 for words in said or [content["setup_says"]])
    used += heading + tall(content["wading"], 15 if len(content["wading"]) <= 80 else 12, lead=1.25)
    for junior in content.get("in_charge", ()):
        used += tall(f"{junior['name']}, in your charge: {junior['wading']}", 12, lead=1.25)
    emergency = content["emergency"]
    called = "".join(emergency[key] for key in ("number", "guide_name", "guide_phone"))
    used += heading + tall(f"{called}{emergency['fishery_phone']}{' ' * 100}", 11.5)
    used += tall("Who decides. " + content["worth"]["who_decides"], 11.5) + 18
    return used


def _river(content: dict[str, Any], width: float, height: float, layout: str) -> Svg | None:
    river = content["river"]
    if not river["picture"]:
        return None
    marks = ", ".join(f"{level:.2f} m {seen}" for level, seen in river["picture"]["marks"])
    return river_chart(
        river["picture"],
        width=width,
        height=height,
        layout=layout,
        title=f"River level at {river['gauge']}. {river['sentence']}",
        description=f"{river['detail']} Marks: {marks or 'none on file'}.",
    )


def _setups(content: dict[str, Any], *widths: float) -> list[dict[str, Any]]:
    """Return each set-up of the day with its leader drawn at each width, and its flies."""
    setups = [content["setup"]] if content["setup"] else []
    return [
        {
            "setup": setup,
            "leaders": [
                leader_drawing(setup["leader"], setup["flies"], width=width) for width in widths
            ],
            "flies": [{"fly": fly, "drawing": fly_drawing(fly)} for fly in setup["flies"]],
            "laid_out": [{"fly": fly, "drawing": fly_drawing(fly)} for fly in setup["laid_out"]],
        }
        for setup in [*setups, *content.get("later_setups", ())]
    ]
