"""Whose turn it is to fit a gauge, and whether a fit is due: read from counts, not from history."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q, Sum

from guiding.gauges.hydrology import level_model, water_fits
from guiding.gauges.models import Fit, FitTurn, Gauge, Modelled, Quantity, ScoredDay, Series
from guiding.gauges.skill import Skill, summed

LEASE = timedelta(hours=1)  # a process that was killed holds its turn for so long
GROWN_BY = 0.1
# A first fit is tried once this many steps of level are on file, and again as they grow by a tenth
FEWEST_READINGS = 60
READ_BY = {
    Modelled.LEVEL: (Quantity.LEVEL, Quantity.FLOW, Quantity.RAIN, Quantity.AIR),
    Modelled.WATER: (Quantity.WATER, Quantity.AIR, Quantity.LEVEL, Quantity.FLOW),
}
# without these there is nothing to fit
NEEDS = {
    Modelled.LEVEL: (Quantity.LEVEL, Quantity.FLOW),
    Modelled.WATER: (Quantity.WATER,),
}
MODELS = {Modelled.LEVEL: level_model.MODEL, Modelled.WATER: water_fits.MODEL}
# Skill has slipped where the forecasts of the last so many days did clearly worse than the fit's
# own trials said they would (common practice, no source); looked at once a day.
SLIPPED_DAYS = timedelta(days=60)
SLIPPED_BY = 0.15  # of CRPSS
SLIPPED_INSIDE = 0.65  # of outcomes inside the band of four in five; too wide shows in the CRPSS
FEWEST_LEADS = 2  # leads that must have slipped: one alone may be chance
LOOKED_AFTER = timedelta(days=7)  # a fit in vain is not tried again for the same slip before this


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A fit that is due, and why."""

    gauge: Gauge
    what: Modelled
    why: str
    tried_at: datetime | None  # when the last was tried that was known of


def due_fits(at: datetime) -> list[Due]:
    """Return the fits that are due at a moment, in the same few queries however much is on file."""
    counts = _counts()
    turns = {(turn.gauge_id, turn.what): turn for turn in FitTurn.objects.all()}
    fits = {
        (fit.gauge_id, fit.what): fit
        for fit in Fit.objects.in_force().filter(what__in=MODELS).defer("learned", "parameters")
    }
    recent = _recent_skill(fits.values(), at)
    due = []
    for gauge in Gauge.objects.select_related("river").order_by("pk"):
        for what in MODELS:
            key = (gauge.pk, what)
            turn = turns.get(key)
            why = _why_due(
                counts.get(gauge.pk, {}),
                what,
                turn,
                fits.get(key),
                recent.get(fits[key].pk) if key in fits else None,
                at,
            )
            if why:
                tried_at = turn.tried_at if turn else None
                due.append(Due(gauge=gauge, what=what, why=why, tried_at=tried_at))
    return due


def on_file(gauge: Gauge, what: Modelled) -> int:
    """Return how many readings a fit would read, from the counts kept as they were written."""
    rows = gauge.series.filter(quantity__in=READ_BY[what])
    return int(rows.aggregate(total=Sum("on_file"))["total"] or 0)


def _counts() -> dict[int, dict[str, int]]:
    counts: dict[int, dict[str, int]] = {}
    for gauge, quantity, count in Series.objects.values_list("gauge", "quantity", "on_file"):
        counts.setdefault(gauge, {})[quantity] = count
    return counts


def _why_due(
    counts: dict[str, int],
    what: Modelled,
    turn: FitTurn | None,
    fit: Fit | None,
    recent: Skill | None,
    at: datetime,
) -> str:
    if sum(counts.get(quantity, 0) for quantity in NEEDS[what]) < FEWEST_READINGS:
        return ""
    if turn is not None and turn.claimed_until is not None and turn.claimed_until > at:
        return ""  # somebody is at it
    count = sum(counts.get(quantity, 0) for quantity in READ_BY[what])
    if turn is None or turn.tried_at is None:
        return "none was tried yet"
    if turn.tried_model != MODELS[what]:
        return f"the model is {MODELS[what]!r} now"
    if count >= (1 + GROWN_BY) * max(turn.tried_on_file, 1):
        return f"the record has grown from {turn.tried_on_file} readings to {count}"
    if fit is not None and recent is not None and at - turn.tried_at >= LOOKED_AFTER:
        return slipped(fit, recent)
    return ""


def _recent_skill(fits: Iterable[Fit], at: datetime) -> dict[int, Skill]:
    """Return what came of each fit's forecasts in the last sixty days, from the sums of days."""
    rows: dict[int, list[ScoredDay]] = {}
    of_level = [fit for fit in fits if fit.what == Modelled.LEVEL]
    for row in ScoredDay.objects.filter(
        gauge__in=[fit.gauge_id for fit in of_level],
        fit__in=[fit.pk for fit in of_level],
        day__gt=(at - SLIPPED_DAYS).date(),
    ).order_by("day"):
        rows.setdefault(row.fit_id or 0, []).append(row)
    return {fit: summed(days) for fit, days in rows.items()}


def slipped(fit: Fit, recent: Skill) -> str:
    """Return how the skill of a fit has slipped against its own trials, or an empty text."""
    hours = fit.step_minutes / 60
    tried = {round(score["lead"] * hours): score for score in fit.scores}
    worse = []
    for lead in recent.leads:
        score = tried.get(lead.lead_hours)
        if score is None or not lead.is_enough:
            continue
        promised = score.get("crpss")
        if promised is not None and lead.skill is not None and lead.skill < promised - SLIPPED_BY:
            worse.append(
                f"at {lead.lead_hours} h the skill is {lead.skill:.2f}, and it was {promised:.2f} "
                f"when it was fitted"
            )
        elif lead.inside is not None and lead.inside < SLIPPED_INSIDE:
            worse.append(
                f"at {lead.lead_hours} h {lead.inside:.0%} of what came lay in the band of 80 %"
            )
    return f"skill has slipped: {'; '.join(worse)}" if len(worse) >= FEWEST_LEADS else ""


def claim(
    gauge: Gauge, what: Modelled, at: datetime, *, due: Due | None = None
) -> uuid.UUID | None:
    """Take the turn to fit a gauge, or return None where another holds it.

    With `due` also where another has done since what was due then.
    """
    FitTurn.objects.get_or_create(gauge=gauge, what=what)
    mine = uuid.uuid4()
    free = Q(claimed_until__isnull=True) | Q(claimed_until__lte=at)
    if due is not None and due.tried_at is None:
        free &= Q(tried_at__isnull=True)
    elif due is not None:
        free &= Q(tried_at=due.tried_at)
    taken = FitTurn.objects.filter(free, gauge=gauge, what=what).update(
        claimed_until=at + LEASE, claimed_by=mine
    )
    return mine if taken else None


def give_back(
    gauge: Gauge, what: Modelled, mine: uuid.UUID, *, at: datetime, count: int, said: str
) -> bool:
    """End a turn and keep what came of it; False where another has taken it over since."""
    ended = FitTurn.objects.filter(gauge=gauge, what=what, claimed_by=mine).update(
        claimed_until=None,
        claimed_by=None,
        tried_at=at,
        tried_on_file=count,
        tried_model=MODELS[what],
        said=said,
    )
    return bool(ended)
