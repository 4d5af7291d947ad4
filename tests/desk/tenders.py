"""Processes that tend one house; some of them are killed. Each runs the very chores of `tend`."""

import os
import signal
import time
from collections import Counter
from datetime import datetime, timedelta
from typing import Any

import django

django.setup()

from django.db import connection  # noqa: E402
from django.db.models import Count, Sum  # noqa: E402

from briefings.models import Briefing  # noqa: E402
from guiding.desk.chores import do_chores  # noqa: E402
from guiding.gauges import fit_kinds, fitting  # noqa: E402
from guiding.gauges.actions import store_readings  # noqa: E402
from guiding.gauges.models import (  # noqa: E402
    Fit,
    FitTurn,
    Forecast,
    ForecastScore,
    Gauge,
    ScoredDay,
)
from guiding.mail.models import LINK_PLACEHOLDER, Letter  # noqa: E402
from tests.factories import make_briefing, make_letter  # noqa: E402
from tests.gauges.fitted import DAY, daily_gauge  # noqa: E402
from tests.gauges.inventedriver import invented_river  # noqa: E402
from tests.races import serve  # noqa: E402

YEARS = 0.45
LEVEL, RAIN = invented_river(1.0, 1440)

found: list[Any] = []
fit_level = fit_kinds.fit_level


def quick_fit(history: Any, **told: Any) -> Any:
    """Stand in for the search of the stores, which is not tried here: fit once, then wait."""
    if not found:
        found.append(fit_level(history, **told))
    time.sleep(0.02)
    return found[0]


fit_kinds.fit_level = quick_fit
fitting.TRIED = 20


def begin(told: dict[str, Any]) -> list[str]:
    """Lay two gauges whose records end the day before a moment; return what failed at first."""
    at = datetime.fromisoformat(told["at"])
    for name in ("Upper", "Lower"):
        daily_gauge(YEARS, last=at.replace(hour=0) - DAY, name=name)
    return list(do_chores(at).failed)


def write(told: dict[str, Any]) -> list[str]:
    """Bring a day's readings, letters, and now and then a pack; a fit of each gauge is due."""
    at, number = datetime.fromisoformat(told["at"]), told["number"]
    place = len(invented_river(YEARS, 1440)[0]) + number
    day = at.replace(hour=0) - DAY
    for gauge in Gauge.objects.all():
        rows = {"level_m": float(LEVEL[place % len(LEVEL)]), "rain_mm": float(RAIN[place % 300])}
        for quantity, value in rows.items():
            store_readings(gauge, quantity, [(day, value)], at=at, name=f"day {number}")
    FitTurn.objects.update(tried_on_file=1)
    letters = [make_letter(subject=f"letter {number}", at=at) for _ in range(2)]
    if told["has_pack"]:
        briefing = make_briefing()
        letters.append(
            make_letter(
                about=f"briefing {briefing.key}",
                text=f"Your page: {LINK_PLACEHOLDER}",
                link_for=f"{briefing.booking.key}:{briefing.person.key}",
                waits_for_document=True,
                at=at,
            )
        )
    return [letter.message_id for letter in letters]


def tend(number: int, told: dict[str, Any]) -> list[str]:
    """Do one pass as one process among several; return what failed."""
    return list(do_chores(datetime.fromisoformat(told["at"])).failed)


def be_killed(told: dict[str, Any]) -> list[int]:
    """Start two processes and kill both, each after its own time; return what ended them."""
    connection.close()
    pids = []
    for _ in told["after_ms"]:
        pid = os.fork()
        if pid == 0:
            do_chores(datetime.fromisoformat(told["at"]))
            os._exit(0)
        pids.append(pid)
    started = time.monotonic()
    ended = []
    for after_ms, pid in sorted(zip(told["after_ms"], pids, strict=True)):
        time.sleep(max(after_ms / 1000 - (time.monotonic() - started), 0))
        os.kill(pid, signal.SIGKILL)
        ended.append(os.WTERMSIG(os.waitpid(pid, 0)[1]))
    return ended


def look(told: dict[str, Any]) -> dict[str, Any]:
    """Return what is still due or in somebody's hand, and what was done twice."""
    at = datetime.fromisoformat(told["at"])
    scored = ForecastScore.objects.filter(not_scored="")
    rows = scored.aggregate(n=Count("pk"), crps=Sum("crps_m"))
    days = ScoredDay.objects.aggregate(n=Sum("count"), crps=Sum("crps_m"))
    # of one moment there may be two where a fit came into force between them
    issued = Counter(Forecast.objects.values_list("gauge__name", "issued_at", "fit"))
    return {
        "in_hand": FitTurn.objects.filter(claimed_until__isnull=False).count()
        + Letter.objects.filter(claimed_until__isnull=False).count(),
        "unscored": Forecast.objects.filter(next_score_at__lte=at).count(),
        "unsent": Letter.objects.filter(sent_at__isnull=True).count(),
        "without_document": Briefing.objects.filter(document__isnull=True).count(),
        "fits": Counter(Fit.objects.values_list("gauge__name", flat=True)),
        "in_force": Counter(Fit.objects.in_force().values_list("gauge__name", flat=True)),
        "issued_today": Counter(
            Forecast.objects.filter(issued_at__gt=at - timedelta(hours=12)).values_list(
                "gauge__name", flat=True
            )
        ),
        "issued_twice": [str(key) for key, count in issued.items() if count > 1],
        "scores": rows["n"],
        "sums_agree": rows["n"] == (days["n"] or 0)
        and abs((rows["crps"] or 0) - (days["crps"] or 0)) < 1e-9,
    }


if __name__ == "__main__":
    serve(
        together={"tend": tend},
        alone={"begin": begin, "write": write, "be_killed": be_killed, "look": look},
    )
