"""Serve a small season on a database of its own: `python -m tests.browser.serve FOLDER`.

Prints one line of JSON, the addresses and the words to sign in with, and then serves until it is
stopped.
"""

import json
import os
import sys
from datetime import timedelta
from pathlib import Path

WORDS = {"guide": "heron-heron-heron", "staff": "otter-otter-otter"}
HOURS = 60 * 24


def main(folder: Path) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    os.environ["TEST_DATABASE_URL"] = f"sqlite:///{folder / 'pages.sqlite3'}"
    import django

    django.setup()
    from django.core.management import call_command
    from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
    from django.core.wsgi import get_wsgi_application

    call_command("migrate", verbosity=0)
    addresses = load()
    server = ThreadedWSGIServer(("127.0.0.1", 0), WSGIRequestHandler)
    server.set_app(get_wsgi_application())
    base = f"http://127.0.0.1:{server.server_port}"
    print(json.dumps({"base": base, "words": WORDS, "pages": addresses}), flush=True)
    server.serve_forever()


def load() -> dict[str, str]:
    from django.utils import timezone

    from briefings.actions import issue_to_everybody
    from guiding.bookings.models import Booking
    from guiding.desk.demo.build import load_season
    from guiding.feeds.actions import add_feed
    from guiding.feeds.models import Address
    from guiding.feeds.trouble import settle_trouble
    from guiding.gauges.forecasting import issue_forecast
    from guiding.gauges.models import Gauge, ScoredDay
    from guiding.regimes.models import Dam, TidePlace
    from guiding.visits.actions import make_link

    now = timezone.now()
    anchor = now.replace(minute=0, second=0, microsecond=0)
    load_season(anchor=anchor, words=WORDS, say=lambda _: None, hours=HOURS)
    gauge = Gauge.objects.get()
    issue_forecast(gauge, at=now)
    river = gauge.river
    tomorrow = river.day_of(anchor) + timedelta(days=1)
    natural = Booking.objects.filter(days__date=tomorrow, days__beat__regime="natural")
    near = natural.filter(state="accepted").distinct().first()
    far = Booking.objects.filter(days__date__gte=tomorrow + timedelta(days=5)).order_by(
        "days__date"
    )[0]
    first = issue_to_everybody(near, issue="first", at=now - timedelta(days=8), send=True)
    early = issue_to_everybody(far, issue="first", at=now, send=True)
    final = issue_to_everybody(near, issue="final", at=now, send=False)
    client = next(row for row in final if row.person)
    guide = next(row for row in final if row.person is None)
    link = make_link(f"{near.key}:{client.person.key}", at=now)
    dam = Dam.objects.get()
    source = add_feed(gauge, "sepa", "level_m", series="90001010", at=now)
    Address.objects.filter(kind="facts").update(broken_since=now, why="it is not well (503)")
    settle_trouble(source, now)
    for k in range(40):
        ScoredDay.objects.create(
            gauge=gauge,
            lead_hours=24,
            day=river.day_of(anchor) - timedelta(days=k + 1),
            count=5,
            inside=4,
            error_m=0.2,
            stays_error_m=0.4,
            crps_count=5,
            crps_m=0.15,
            stays_crps_m=0.3,
            chances={str(k % 10): [5, 0.5 * (k % 10) + 0.2, k % 6]},
        )
    place = TidePlace.objects.create(name="Eldry Mouth", river=river, zone="UTC")
    return {
        "today": "/",
        "releases, tide, ice": "/regimes/",
        "dam": f"/regimes/dams/{dam.key}/",
        "tide": f"/regimes/tides/{place.key}/",
        "ice": f"/regimes/ice/{river.key}/",
        "river": f"/river/{gauge.key}/",
        "record": f"/river/{gauge.key}/record/",
        "trips": "/trips/",
        "new trip": "/trips/new/",
        "take": f"/trips/new/{near.water.key}/",
        "tackle": "/tackle/",
        "sources": "/sources/",
        "add a source": "/sources/add/",
        "credits": "/sources/credits/",
        "trip": f"/trips/{near.key}/",
        "far trip": f"/trips/{far.key}/",
        "pack": f"/briefings/{client.key}/",
        "replaced pack": f"/briefings/{first[1].key}/",
        "first pack": f"/briefings/{early[1].key}/",
        "guide's copy": f"/briefings/{guide.key}/",
        "no such page": "/nothing/",
        "private link": link.removeprefix("http://127.0.0.1:8000"),
    }


if __name__ == "__main__":
    main(Path(sys.argv[1]))
