"""What a client's copy leaves out of the guide's words: the names of the river's classes.

A class name in a client's hand becomes a verdict on water that nobody has looked at yet. The
sentence stays, its other conditions stay, and a caution is never touched. The rules that a guide
words are theirs to word: whatever they say of a class, a client reads of the river's height.
"""

from __future__ import annotations

import re
from functools import partial

from briefings.pack.words import opened

_KINDS = r"(?: \((?:observed|forecast|inferred|given|not known)[^)]*\))?"
_NAMES = r"(?:low|summer|good|high|big|over[_ -](?:the )?bank)"
_QUOTED = rf"[\"']?{_NAMES}[\"']?"
_CLASS = r"(?:(?:level|height|water)[_ -])?class(?:es)?"
_PLAIN: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), words)
    for pattern, words in (
        (
            rf"\blevel (?:low|summer|good|high|big|over (?:the )?bank)\b{_KINDS}",
            "the height of the river",
        ),
        (
            (
                r"\bthe river (comes up to|falls to|turns out at) "
                r"(?:low water|summer level|a good height|high water|big water)"
            ),
            r"the river \1 another height",
        ),
        (r"\ba class higher than good\b", "the river well up"),
        # from here on: words that only a guide's own rules hold
        (
            rf"\b(?:the |a |an )?{_CLASS}(?: (?:is|of|at))?[\s:=]+{_QUOTED}(?![a-z]){_KINDS}",
            "this height of the river",
        ),
        (rf"\b(?:the |a |an )?{_NAMES}[ -]{_CLASS}\b", "this height of the river"),
        (rf"\b(?:the |a |an )?{_CLASS}\b", "the height of the river"),
        (r"\bsummer[ _-]+level\b", "ordinary low water"),
        (rf"\blevel(?: (?:is|of|at))?[\s:=_-]+{_QUOTED}(?![a-z])", "the height of the river"),
        (r"\bover[_ ](?:the )?bank\b", "out of its bed"),
    )
)


def for_client(text: str) -> str:
    """Return a text without class names; what opened with a capital still does."""
    for pattern, words in _PLAIN:
        text = pattern.sub(partial(_as_opened, words), text)
    return text


def _as_opened(words: str, met: re.Match[str]) -> str:
    plain = met.expand(words)
    return opened(plain) if met.group()[0].isupper() else plain
