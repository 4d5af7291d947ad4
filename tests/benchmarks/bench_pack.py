"""What a pack costs to print, beside WeasyPrint alone and beside reading the stored file.

Run by hand: python -m tests.benchmarks.bench_pack [rounds]. CPU seconds, best of the rounds, warm.
The floor, 313 ms for a 4-page briefing in the plain engine (78 ms a page), was measured on 2 cores.
"""

import gc
import io
import os
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

import pypdf  # noqa: E402
from weasyprint import HTML  # noqa: E402

from briefings.pack import pdf  # noqa: E402
from tests.briefings.pack_examples import EXAMPLES  # noqa: E402

FLOOR_MS_A_PAGE = 78.0
MOST_RATIO, MOST_STORED = 1.25, 0.05


def cpu_seconds(rounds, *works):
    """Return the least CPU time of each piece of work, done in turns so that noise hits all."""
    best = [float("inf")] * len(works)
    for round_number in range(rounds + 1):
        for place, work in enumerate(works):
            gc.collect()  # or one piece of work pays, round after round, for another's rubbish
            start = time.process_time()
            work()
            if round_number:  # the first warms up
                best[place] = min(best[place], time.process_time() - start)
    return best


def alone(html):
    """Print the same HTML with the same options and nothing of ours but the style."""
    return HTML(string=html, base_url="pack:///", url_fetcher=pdf.AssetFetcher()).write_pdf(
        stylesheets=pdf._style("A4"), font_config=pdf._fonts(), pdf_variant="pdf/ua-1"
    )


def main(rounds):
    """Print one line an example; return whether every one keeps to its bounds."""
    is_good = True
    for name in ("final", "first", "guide"):
        content = EXAMPLES[name].as_json()
        html = pdf.pack_html(content)
        printed = pdf.pack_pdf(content)
        pages = len(pypdf.PdfReader(io.BytesIO(printed)).pages)
        with tempfile.TemporaryDirectory() as folder:
            kept = Path(folder) / "pack.pdf"
            kept.write_bytes(printed)
            ours, engine, stored = cpu_seconds(
                rounds, partial(pdf.pack_pdf, content), partial(alone, html), kept.read_bytes
            )
        is_good &= ours / engine <= MOST_RATIO and stored / ours <= MOST_STORED
        print(
            f"{name}: {pages} pages, {ours * 1000:.0f} ms, engine alone {engine * 1000:.0f} ms, "
            f"ratio {ours / engine:.3f} (at most {MOST_RATIO}); "
            f"{ours * 1000 / pages:.0f} ms a page (floor {FLOOR_MS_A_PAGE:.0f}); "
            f"from the store {stored / ours:.2%} (at most {MOST_STORED:.0%})"
        )
    return is_good


if __name__ == "__main__":
    sys.exit(0 if main(int(sys.argv[1]) if len(sys.argv) > 1 else 5) else 1)
