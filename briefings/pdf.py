"""A pack's content -> tagged PDF bytes; local assets only, never the network."""

from __future__ import annotations

from typing import Any


def pack_html(content: dict[str, Any], *, page_size: str = "A4") -> str:
    """Return the HTML of a pack from a stored content."""
    raise NotImplementedError


def pack_pdf(content: dict[str, Any], *, page_size: str = "A4") -> bytes:
    """Return PDF/UA-1 bytes: the same content gives the same bytes in one environment."""
    raise NotImplementedError
