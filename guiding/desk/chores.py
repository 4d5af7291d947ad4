"""What is done in the background: one explicit tuple of verbs, each safe to repeat.

Rows are the queue. Several passes may run at once, on several machines against PostgreSQL: each
verb claims what it does, or finds that it has been done.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from briefings.pack.printing import write_waiting_documents
from guiding.gauges.clearing import is_clearing_due, keep_clearing
from guiding.gauges.forecasting import issue_forecast, newest_forecast
from guiding.gauges.models import Gauge
from guiding.mail.sending import send_due
from guiding.visits.actions import make_link


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What one verb did: counts by name, and one line for each thing that failed."""

    counts: dict[str, int] = field(default_factory=dict)
    failed: tuple[str, ...] = ()


Chore = Callable[[datetime], Done]


def forecast_gauges(at: datetime) -> Done:
    """Issue the forecasts that are due; one bad gauge never stops the rest."""
    issued, failed = 0, []
    for gauge in Gauge.objects.select_related("river").order_by("pk"):
        if not is_forecast_due(gauge, at):
            continue
        try:
            issued += issue_forecast(gauge, at=at).issued_at == at
        except Exception as error:
            failed.append(f"forecast of {gauge}: {error}")
    return Done(counts={"forecasts": issued}, failed=tuple(failed))


def learn_clearings(at: datetime) -> Done:
    """Learn how each river clears where looks at its water have come in."""
    learned, failed = 0, []
    for gauge in Gauge.objects.select_related("river").order_by("pk"):
        if not is_clearing_due(gauge):
            continue
        try:
            learned += keep_clearing(gauge, at=at) is not None
        except Exception as error:
            failed.append(f"clearing of {gauge}: {error}")
    return Done(counts={"clearings": learned}, failed=tuple(failed))


def write_documents(at: datetime) -> Done:
    """Write the packs that wait for their PDF, and let their letters go."""
    written, failed = write_waiting_documents(at=at)
    return Done(counts={"documents": written}, failed=tuple(f"pack {line}" for line in failed))


def send_letters(at: datetime) -> Done:
    """Send what is due in the outbox, each with a private link made as it leaves."""
    result = send_due(at=at, make_link=make_link)
    failed = []
    if result.failed:
        failed.append(f"{result.failed} letters could not be sent; they are tried again later")
    if result.given_up:
        failed.append(f"{result.given_up} letters were refused for good; the outbox says why")
    return Done(
        counts={
            "letters_sent": result.sent,
            "letters_failed": result.failed,
            "letters_given_up": result.given_up,
        },
        failed=tuple(failed),
    )


# in this order: a pack rests on a forecast, a letter carries a pack
CHORES: tuple[Chore, ...] = (forecast_gauges, learn_clearings, write_documents, send_letters)


def is_forecast_due(gauge: Gauge, at: datetime) -> bool:
    """Say whether a step has passed since the last forecast, or something has come in since."""
    newest = newest_forecast(gauge, at)
    if newest is None or at - newest.issued_at >= timedelta(minutes=gauge.step_minutes):
        return True
    since = newest.issued_at
    return (
        gauge.imports.filter(imported_at__gt=since, imported_at__lte=at).exists()
        or gauge.weather_runs.filter(fetched_at__gt=since, fetched_at__lte=at).exists()
    )


def do_chores(
    at: datetime,
    *,
    chores: tuple[Chore, ...] = CHORES,
    is_stopped: Callable[[], bool] = lambda: False,
) -> Done:
    """Do one pass. A verb that fails as a whole is reported, and the others are still done."""
    counts: dict[str, int] = {}
    failed: list[str] = []
    for chore in chores:
        if is_stopped():
            break
        try:
            done = chore(at)
        except Exception as error:
            failed.append(f"{chore.__name__}: {type(error).__name__}: {error}")
            continue
        counts |= done.counts
        failed += done.failed
    return Done(counts=counts, failed=tuple(failed))
