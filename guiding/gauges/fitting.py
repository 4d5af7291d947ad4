"""Fit a gauge on what is on file, and take a fit into force only where it is no worse.

Loads scipy: commands and chores only, never pages. Reading, fitting and trying are done outside
any transaction; one short one at the end keeps what came of it.
"""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

import numpy as np
from django.db import transaction

from guiding.gauges.fit_kinds import KINDS, LEARNED_YEARS, Kept, Kind, Material, TooLittle
from guiding.gauges.fit_turns import NEEDS, Due, claim, due_fits, give_back, on_file
from guiding.gauges.fits import FitUnreadable
from guiding.gauges.hydrology.contest import Contest, held_against, spread_origins
from guiding.gauges.models import Fit, Gauge, Modelled
from guiding.gauges.pairing import learn_pairs
from guiding.history.models import record

NEW_DAYS = 30  # days that the fit in force has not seen, from which the two can be told apart
LAST_SHARE, LAST_DAYS = 0.2, 365  # of the record, held out where there are fewer new days
TRIED = 60  # moments from which both forecast
AS_GOOD = 1.02  # an error up to this share of the other's is as good: the moments are few
# of the old error on days that both have learned from; a model that has learned from more besides
# knows each of them a little less by heart
POISONED, POISONED_GROWN = 1.15, 0.35

Tell = Callable[[str, float], None]


class TurnTaken(Exception):
    """Another process is fitting this gauge."""


class TurnLost(Exception):
    """It took so long that another process has taken over; nothing was kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FitOutcome:
    """What came of a fit: the row, None where there was too little; in words what was decided."""

    what: Modelled
    fit: Fit | None
    why: str
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Verdict:
    is_taken: bool
    why: str
    contests: tuple[tuple[str, Contest], ...] = ()


def _silent(what: str, share: float) -> None:
    """Tell nobody."""


def fit_gauge(
    gauge: Gauge, what: str, *, at: datetime, tell: Tell = _silent, due: Due | None = None
) -> FitOutcome:
    """Fit one model of a gauge on what was on file at a moment, and keep it.

    `due`: only while it still is. Raises TurnTaken where another process is at it or has just done
    it, TurnLost where one has taken over.
    """
    kind = KINDS[what]
    mine = claim(gauge, kind.what, at, due=due)
    if mine is None:
        raise TurnTaken(f"another process is fitting the {kind.what.label} of {gauge.name}")
    began = time.monotonic()
    count = on_file(gauge, kind.what)
    try:
        material = kind.read(gauge, at)
        if material is None:
            has_older = gauge.series.filter(quantity__in=NEEDS[kind.what], on_file__gt=0).exists()
            years = f" of the last {LEARNED_YEARS[gauge.step_minutes]} years" if has_older else ""
            why = f"No {kind.what.label}{years} is on file."
            return _nothing(gauge, kind, mine, why, at=at, count=count, began=began)
        tell("reading what is on file", 0.0)
        try:
            model = kind.learn(material, 0, len(material.known), _part(tell, 0.0, 0.6))
        except TooLittle as too_little:
            return _nothing(gauge, kind, mine, f"{too_little}", at=at, count=count, began=began)
        kept = kind.kept(model)
        before = Fit.objects.in_force().filter(gauge=gauge, what=kind.what).first()
        verdict = _judge(kind, material, model, kept, before, _part(tell, 0.6, 1.0))
    except Exception as error:
        said = f"The fit failed: {type(error).__name__}: {error}"
        give_back(gauge, kind.what, mine, at=at, count=count, said=said)
        raise
    seconds = time.monotonic() - began
    fit = _row(gauge, kind, material, kept, verdict, at=at, count=count, seconds=seconds)
    _keep(fit, before, mine, count)
    tell("done", 1.0)
    return FitOutcome(what=kind.what, fit=fit, why=verdict.why, seconds=seconds)


def _nothing(
    gauge: Gauge,
    kind: Kind,
    mine: uuid.UUID,
    why: str,
    *,
    at: datetime,
    count: int,
    began: float,
) -> FitOutcome:
    give_back(gauge, kind.what, mine, at=at, count=count, said=why)
    return FitOutcome(what=kind.what, fit=None, why=why, seconds=time.monotonic() - began)


def _part(tell: Tell, begins: float, ends: float) -> Tell:
    return lambda what, share: tell(what, begins + (ends - begins) * share)


# --- old and new ----------------------------------------------------------------------------------


def _judge(
    kind: Kind, material: Material, model: Any, kept: Kept, before: Fit | None, tell: Tell
) -> _Verdict:
    """Decide whether a new fit is taken into force, and say why."""
    if not kept.is_of_use:
        return _Verdict(
            is_taken=False,
            why="Not taken into force: in its own trials it is no better than “it stays as it is”.",
        )
    if before is None:
        return _Verdict(is_taken=True, why="Taken into force: there was none before.")
    try:
        old = kind.model_of(before)
    except FitUnreadable as error:
        return _Verdict(
            is_taken=True,
            why=f"Taken into force: the one before can no longer be used ({error}).",
        )
    begins = _held_out_from(material, before)
    is_unseen = begins >= material.place(before.data_to)
    blind = _held_out(kind, material, old, before, begins, is_unseen, tell)
    if isinstance(blind, _Verdict):
        return blind
    where = "on days that neither had seen"
    contests: tuple[tuple[str, Contest], ...] = ((where, blind),)
    if blind.is_enough and blind.ratio > AS_GOOD:
        why = f"Not taken into force: {where} its error is {blind.ratio:.2f} of the other's."
        return _Verdict(is_taken=False, why=why, contests=contests)
    both = _on_days_of_both(kind, material, old, model, begins) if is_unseen else None
    if both is not None:
        contests = (*contests, ("on days that both had learned from", both))
    if both is not None and both.is_enough and both.ratio > _poisoned(material, before):
        why = (
            f"Not taken into force: on days that both had learned from its error is "
            f"{both.ratio:.2f} of the other's, so what is new on file does not fit the rest."
        )
        return _Verdict(is_taken=False, why=why, contests=contests)
    if not blind.is_enough:
        why = "Not taken into force: too few days are on file to tell the two apart."
        return _Verdict(is_taken=False, why=why, contests=contests)
    why = f"Taken into force: {where} its error is {blind.ratio:.2f} of the other's."
    return _Verdict(is_taken=True, why=why, contests=contests)


def _poisoned(material: Material, before: Fit) -> float:
    grown = float(np.isfinite(material.known).sum()) / max(before.data_count, 1) - 1
    return POISONED + POISONED_GROWN * min(max(grown, 0.0), 1.0)


def _held_out_from(material: Material, before: Fit) -> int:
    """Return where the days begin that both are tried on: those new to the old fit, if enough."""
    first, last = material.span
    a_day = 1440 // material.steps.step_minutes
    seen_to = material.place(before.data_to) + 1
    if last - seen_to >= NEW_DAYS * a_day:
        return seen_to
    held = min(int(LAST_SHARE * (last - first)), LAST_DAYS * a_day)
    return last - held


def _held_out(
    kind: Kind,
    material: Material,
    old: Any,
    before: Fit,
    begins: int,
    is_unseen: bool,
    tell: Tell,
) -> Contest | _Verdict:
    """Return how the two ways of learning do on days that neither has learned from.

    The new way is learned once more without them. So is the old one where its fit has seen them:
    what it knew then is what is on file of its span.
    """
    since = max(0, material.place(before.data_from))
    count = int(np.isfinite(material.known).sum())
    if not is_unseen and since == material.span[0] and count == before.data_count:
        return _Verdict(
            is_taken=False,
            why="Not taken into force: nothing is on file that the one in force had not seen.",
        )
    try:
        rival = kind.learn(material, 0, begins, tell)
        if not is_unseen:
            old = kind.learn(material, since, begins, tell)
    except TooLittle:
        return _Verdict(
            is_taken=True,
            why="Taken into force: the one before had learned from too little to try it again.",
        )
    return _contest(kind, material, old, rival, begins, len(material.known))


def _on_days_of_both(kind: Kind, material: Material, old: Any, new: Any, ends: int) -> Contest:
    a_day = 1440 // material.steps.step_minutes
    return _contest(kind, material, old, new, ends - LAST_DAYS * a_day, ends)


def _contest(kind: Kind, material: Material, old: Any, new: Any, first: int, end: int) -> Contest:
    leads = kind.leads_of(material)
    origins = spread_origins(material.known, first, end, leads, TRIED)
    return held_against(
        leads, kind.errors(old, material, origins), kind.errors(new, material, origins)
    )


# --- keeping --------------------------------------------------------------------------------------


def _row(
    gauge: Gauge,
    kind: Kind,
    material: Material,
    kept: Kept,
    verdict: _Verdict,
    *,
    at: datetime,
    count: int,
    seconds: float,
) -> Fit:
    first, last = material.span
    return Fit(
        gauge=gauge,
        what=kind.what,
        model=kept.model,
        step_minutes=gauge.step_minutes,
        fitted_at=at,
        fit_seconds=round(seconds, 2),
        data_from=material.moment(first),
        data_to=material.moment(last),
        data_count=int(np.isfinite(material.known).sum()),
        data_on_file=count,
        rain=kept.rain,
        parameters=kept.parameters,
        scores=kept.scores,
        learned=kept.learned,
        is_in_force=verdict.is_taken,
        began_at=at if verdict.is_taken else None,
        why=verdict.why,
        compared=[{"where": where, **asdict(one)} for where, one in verdict.contests],
    )


@transaction.atomic
def _keep(fit: Fit, before: Fit | None, mine: uuid.UUID, count: int) -> None:
    """Store a fit and, where it was taken, end the one before; all of it or nothing."""
    gauge, at = fit.gauge, fit.fitted_at
    if not give_back(gauge, Modelled(fit.what), mine, at=at, count=count, said=fit.why):
        raise TurnLost(
            f"another process has taken over the {fit.get_what_display()} of {gauge.name}; nothing "
            f"was kept"
        )
    if fit.is_in_force and before is not None:
        Fit.objects.filter(pk=before.pk).update(is_in_force=False, ended_at=at)
    fit.save()
    record(
        "fit kept",
        f"gauge {gauge.key}",
        at=at,
        after={"what": fit.what, "is_in_force": fit.is_in_force, "why": fit.why},
    )


# --- what is due ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Refitted:
    """How many fits were kept, how many of them taken into force, and what went wrong."""

    kept: int = 0
    taken: int = 0
    failed: tuple[str, ...] = ()


def fit_due(at: datetime) -> Refitted:
    """Make the fits that are due; one bad gauge never stops the rest."""
    kept, taken, failed = 0, 0, []
    for due in due_fits(at):
        try:
            outcome = fit_gauge(due.gauge, due.what, at=at, due=due)
        except (TurnTaken, TurnLost):
            continue  # another pass has done it, or is at it
        except Exception as error:
            failed.append(f"fit of {due.gauge}: {type(error).__name__}: {error}")
            continue
        if due.what == Modelled.LEVEL:
            failed += _pairs_of(due.gauge, at)
        kept += outcome.fit is not None
        taken += outcome.fit is not None and outcome.fit.is_in_force
    return Refitted(kept=kept, taken=taken, failed=tuple(failed))


def _pairs_of(gauge: Gauge, at: datetime) -> list[str]:
    """Learn anew how the gauges of a beat go together: both records have grown."""
    try:
        learn_pairs(gauge, at=at)
    except Exception as error:
        return [f"gauges beside {gauge}: {type(error).__name__}: {error}"]
    return []
