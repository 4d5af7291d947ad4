"""What is done in the background: one explicit tuple of verbs, each safe to repeat.

Rows are the queue. Several passes may run at once, on several machines against PostgreSQL: each
verb claims what it does, or finds that it has been done.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from briefings.pack.printing import write_waiting_documents
from guiding.desk.old_paths import drop_paths
from guiding.feeds.fetching import fetch_due
from guiding.gauges.clearing import is_clearing_due, keep_clearing
from guiding.gauges.fitting import fit_due
from guiding.gauges.forecast_due import gauges_to_forecast
from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.models import Gauge
from guiding.gauges.scoring import score_due
from guiding.mail.sending import send_due
from guiding.visits.actions import make_link


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What one verb did: counts by name, and one line for each thing that failed."""

    counts: dict[str, int] = field(default_factory=dict)
    failed: tuple[str, ...] = ()


Chore = Callable[[datetime], Done]


def fetch_feeds(at: datetime) -> Done:
    """Ask the agencies what is due, and keep what they say."""
    fetched = fetch_due(at=at)
    return Done(counts=fetched.counts, failed=fetched.failed)


def forecast_gauges(at: datetime) -> Done:
    """Issue the forecasts that are due; one bad gauge never stops the rest."""
    issued, failed = 0, []
    for gauge in gauges_to_forecast(at):
        try:
            issued += issue_forecast(gauge, at=at).issued_at == at
        except Exception as error:
            failed.append(f"forecast of {gauge}: {error}")
    return Done(counts={"forecasts": issued}, failed=tuple(failed))


def fit_models(at: datetime) -> Done:
    """Fit the gauges whose record has grown or whose skill has slipped, outside any transaction."""
    fitted = fit_due(at)
    return Done(
        counts={"fits": fitted.kept, "fits_taken": fitted.taken},
        failed=fitted.failed,
    )


def score_forecasts(at: datetime) -> Done:
    """Hold the forecasts whose time has come against what was observed."""
    scored = score_due(at)
    return Done(counts={"scores": scored.leads}, failed=scored.failed)


def drop_old_paths(at: datetime) -> Done:
    """Let go of the whole paths that neither the newest forecast nor a pack needs."""
    return Done(counts={"paths_dropped": drop_paths(at)})


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


# in this order: a fit rests on readings, a forecast on a fit, a pack on a forecast, and a letter
# carries a pack
CHORES: tuple[Chore, ...] = (
    fetch_feeds,
    fit_models,
    forecast_gauges,
    score_forecasts,
    drop_old_paths,
    learn_clearings,
    write_documents,
    send_letters,
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
