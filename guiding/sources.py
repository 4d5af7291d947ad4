"""Who says so: the source behind a number, a rule or a caution, and how far it was checked."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Label(StrEnum):
    """How far a statement's origin was checked."""

    PUBLISHED = "published source"
    PRACTICE = "common practice, no source"
    MEMORY = "from memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a statement comes from. `title` names the document and who publishes it."""

    label: Label
    title: str = ""

    def __post_init__(self) -> None:
        if self.label is Label.PUBLISHED and not self.title:
            raise ValueError("A published source needs its title.")


COMMON_PRACTICE = Source(label=Label.PRACTICE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One thing said, the condition that led to it, and who says so."""

    text: str
    because: str
    source: Source

    def as_json(self) -> dict[str, str]:
        """Return the four keys that commands and stored packs carry."""
        return {
            "text": self.text,
            "because": self.because,
            "label": str(self.source.label),
            "source": self.source.title,
        }
