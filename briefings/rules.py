"""A set-up rule as a plain value, and how its conditions are read against the river."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from guiding.sources import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule: the lower rank wins where two disagree; see SetUpRule.Rank."""

    name: str
    rank: int
    order: int = 0
    when: dict[str, Any] = field(default_factory=dict)
    asks: dict[str, Any] = field(default_factory=dict)
    says: str
    source: Source
