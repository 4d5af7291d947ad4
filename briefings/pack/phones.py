"""Telephone numbers on a page that a phone may ring; on paper they stay words."""

from __future__ import annotations

import re
from typing import Any

# plain digits only: what else a text may hold never reaches a link
_NUMBER = re.compile(r"\+?(?:\([0-9]+\)|[0-9])(?:[ .()-]{0,2}[0-9])+\)?")
_TRUNK_NOUGHT = re.compile(r"\(0\)")  # "+44 (0)1632": not dialled from abroad, so not with a plus
DIGITS = range(3, 16)  # an emergency number; the longest that there is (ITU-T E.164, from memory)

Pieces = tuple[dict[str, str], ...]


def phone_pieces(text: str) -> Pieces:
    """Return a text cut into pieces, each with its words and, for a number, the link that rings it.

    A text may name several numbers, or none. A date of the shape 2026-05-20 is no number.
    """
    pieces: list[dict[str, str]] = []
    begin = 0
    for met in _NUMBER.finditer(text):
        href = _href(met.group())
        if not href:
            continue
        if met.start() > begin:
            pieces.append({"words": text[begin : met.start()], "href": ""})
        pieces.append({"words": met.group(), "href": href})
        begin = met.end()
    if begin < len(text):
        pieces.append({"words": text[begin:], "href": ""})
    return tuple(pieces)


def phones_of(content: dict[str, Any]) -> dict[str, Pieces]:
    """Return every telephone number of a pack's emergency page in pieces."""
    emergency = content["emergency"]
    return {
        name: phone_pieces(emergency[name])
        for name in ("number", "guide_phone", "fishery_phone", "contact")
    }


def _href(number: str) -> str:
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", number):
        return ""
    plus = "+" if number.startswith("+") else ""
    digits = re.sub(r"[^0-9]", "", _TRUNK_NOUGHT.sub("", number) if plus else number)
    return f"tel:{plus}{digits}" if len(digits) in DIGITS else ""
