"""Words from people made fit for print: letters the font has, lengths a page can hold."""

from __future__ import annotations

import re
import unicodedata
from typing import Any

UNPRINTABLE = "[?]"  # stands for a run of signs that the pack's font does not have
SHORT, LONG = 120, 1500  # signs: a name or a heading; a paragraph
SHORT_FIELDS = frozenset(
    (
        *("reader", "title", "reference", "name", "grid", "person", "pool", "spot", "pattern"),
        *("beat", "part", "meets", "ends", "date_words", "gauge", "guide_name", "guide_phone"),
        *("fishery_phone", "issued", "valid_until", "age", "at", "day_words"),
    )
)


def printable(value: Any, known: frozenset[int], field: str = "") -> Any:
    """Return plain values with every string fit for print; keys, numbers and order stay.

    `known` are the code points of the font. What it lacks becomes its base letter where it has one
    ("ĉ" -> "c"), else `UNPRINTABLE`; control and direction signs go; what is too long is cut and
    says so.
    """
    if isinstance(value, dict):
        return {key: printable(inner, known, key) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [printable(inner, known, field) for inner in value]
    if isinstance(value, str):
        return _shortened(_lettered(value, known), SHORT if field in SHORT_FIELDS else LONG)
    return value


def _lettered(text: str, known: frozenset[int]) -> str:
    if text.isascii() and text.isprintable():
        return text
    signs = []
    for sign in unicodedata.normalize("NFC", text):
        if ord(sign) in known and unicodedata.category(sign) != "Cc":
            signs.append(sign)
        elif sign.isspace():
            signs.append(" ")
        elif unicodedata.category(sign) in ("Cc", "Cf", "Mn", "Me"):
            continue  # control, direction and joining signs, marks on a letter we replaced
        else:
            base = [part for part in unicodedata.normalize("NFKD", sign) if ord(part) in known]
            signs.append("".join(base) or UNPRINTABLE)
    return re.sub(rf"(?:{re.escape(UNPRINTABLE)})+", UNPRINTABLE, "".join(signs))


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[:most].rstrip()} … (cut)"
