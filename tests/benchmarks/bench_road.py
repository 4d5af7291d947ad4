"""What a final pack costs from database to bytes, beside WeasyPrint alone on the same HTML.

Run by hand: python -m tests.benchmarks.bench_road [rounds]. CPU seconds, best of the rounds, warm.
The season is the demo's, three years of hourly record, in a database in memory.
"""

import os
import sys
from datetime import UTC, datetime

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.core.management import call_command  # noqa: E402

from briefings.groundwork import lay_groundwork  # noqa: E402
from briefings.models import Briefing  # noqa: E402
from briefings.pack import pdf  # noqa: E402
from briefings.pack.compose import compose  # noqa: E402
from briefings.pack.printing import write_document  # noqa: E402
from guiding.bookings.models import Booking  # noqa: E402
from guiding.desk.demo.build import load_season  # noqa: E402
from guiding.desk.demo.packs import issue_packs  # noqa: E402
from guiding.gauges.forecasting import issue_forecast  # noqa: E402
from guiding.gauges.models import Gauge  # noqa: E402
from tests.benchmarks.bench_pack import MOST_RATIO, MOST_STORED, alone, cpu_seconds  # noqa: E402

ANCHOR = datetime(2026, 11, 25, 9, tzinfo=UTC)


def lay_season():
    """Load the demo's season and issue its packs."""
    call_command("migrate", verbosity=0)
    load_season(anchor=ANCHOR, words={"guide": "x", "staff": "y"}, say=lambda what: None)
    issue_forecast(Gauge.objects.get(), at=ANCHOR)
    issue_packs(anchor=ANCHOR)


def main(rounds):
    """Print one line a client with a final issue; return whether every one keeps to its bounds."""
    lay_season()
    is_good = True
    finals = Briefing.objects.filter(issue="final", person__isnull=False)
    for briefing in finals.select_related("booking__water__river", "person").order_by("pk"):
        booking = Booking.objects.get(pk=briefing.booking_id)

        def road(booking=booking, person=briefing.person):
            ground = lay_groundwork(booking, issue="final", at=ANCHOR)
            return pdf.pack_pdf(compose(ground, person).as_json())

        content = compose(lay_groundwork(booking, issue="final", at=ANCHOR), briefing.person)
        html = pdf.pack_html(content.as_json())
        document = write_document(briefing, at=ANCHOR)
        whole, engine, stored = cpu_seconds(
            rounds, road, lambda html=html: alone(html), document.read
        )
        is_good &= whole / engine <= MOST_RATIO and stored / whole <= MOST_STORED
        print(
            f"{briefing.booking}, {briefing.person}: {whole * 1000:.0f} ms from the database, "
            f"engine alone {engine * 1000:.0f} ms, ratio {whole / engine:.3f} "
            f"(at most {MOST_RATIO}); from the store {stored / whole:.2%}"
        )
    return is_good


if __name__ == "__main__":
    sys.exit(0 if main(int(sys.argv[1]) if len(sys.argv) > 1 else 5) else 1)
