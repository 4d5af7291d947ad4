"""A pack's content -> tagged PDF bytes; local assets only, never the network."""

from __future__ import annotations

import threading
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from django.template.loader import render_to_string
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from briefings.pack.drawings import draw_pack
from briefings.pack.lettering import UNPRINTABLE, printable

ASSETS = Path(__file__).parent.parent / "assets"
SCHEME = "pack"
KINDS = {".css": "text/css", ".woff2": "font/woff2"}
PAGES = {"A4": "size: A4", "A5": "size: A5; margin: 12mm 12mm 15mm"}

# One renderer a process: each new font configuration costs memory that never comes back, and
# threads that share one at the same moment have been seen to change each other's pages.
_one_at_a_time = threading.Lock()


class AddressRefused(Exception):
    """The page asked for something that is not one of our own assets."""


class AssetFetcher(URLFetcher):
    """Hands out files of the assets folder and `data:`; everything else stops the print."""

    def __init__(self) -> None:
        super().__init__(
            allowed_protocols=(SCHEME, "data"), allow_redirects=False, fail_on_errors=True
        )

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        """Return an asset, or raise."""
        scheme, _, rest = url.partition(":")
        if scheme.lower() == "data":
            return super().fetch(url, headers)
        path = (ASSETS / rest.lstrip("/")).resolve()
        allowed = scheme == SCHEME and path.is_relative_to(ASSETS) and path.suffix in KINDS
        if not allowed:
            raise AddressRefused(f"{url[:200]} is not an asset of the pack.")
        return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": KINDS[path.suffix]})


@cache
def _fonts() -> FontConfiguration:
    return FontConfiguration()


@cache
def _style(page_size: str) -> list[CSS]:
    return [
        CSS(
            string=f'@import url("{SCHEME}:///pack.css"); @page {{ {PAGES[page_size]} }}',
            font_config=_fonts(),
            url_fetcher=AssetFetcher(),
        )
    ]


@cache
def letters() -> frozenset[int]:
    """Return the code points that every font of the pack has."""
    found = []
    for file in sorted((ASSETS / "fonts").glob("*.woff2")):
        with TTFont(BytesIO(file.read_bytes()), lazy=True) as font:
            found.append(frozenset(font.getBestCmap()))
    return frozenset.intersection(*found)


def pack_html(content: dict[str, Any], *, page_size: str = "A4") -> str:
    """Return the HTML of a pack from a stored content."""
    if page_size not in PAGES:
        raise ValueError(f"page_size is {page_size!r}; a pack is printed on {' or '.join(PAGES)}.")
    shown = printable(content, letters())
    return render_to_string(
        "briefings/pack.html",
        {
            "content": shown,
            "drawings": draw_pack(shown, page_size=page_size),
            "unprintable": UNPRINTABLE if UNPRINTABLE in str(shown) else "",
        },
    )


def print_html(html: str, *, page_size: str = "A4") -> bytes:
    """Return HTML as PDF/UA-1 bytes with the pack's style; raise AddressRefused."""
    with _one_at_a_time:
        try:
            document = HTML(string=html, base_url=f"{SCHEME}:///", url_fetcher=AssetFetcher())
            pdf: bytes = document.write_pdf(
                stylesheets=_style(page_size), font_config=_fonts(), pdf_variant="pdf/ua-1"
            )
        except FatalURLFetchingError as refusal:
            # a BaseException there: it would run through every loop that guards a bad row
            raise AddressRefused(str(refusal)) from refusal
    return pdf


def pack_pdf(content: dict[str, Any], *, page_size: str = "A4") -> bytes:
    """Return PDF/UA-1 bytes: the same content gives the same bytes in one environment."""
    return print_html(pack_html(content, page_size=page_size), page_size=page_size)
