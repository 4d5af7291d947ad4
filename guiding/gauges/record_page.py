"""How good we have been on a gauge, in plain words, for the page that tells it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from guiding.charts.reliability import Given, reliability_chart
from guiding.charts.svg import Svg
from guiding.gauges.fit_turns import MODELS
from guiding.gauges.fits import fit_words
from guiding.gauges.hydrology.record import DAY_MINUTES
from guiding.gauges.models import Fit, FitTurn, Gauge, Modelled
from guiding.gauges.skill import (
    ENOUGH_DAYS,
    ENOUGH_FORECASTS,
    POOR,
    LeadSkill,
    Skill,
    lead_words,
    poor_words,
    skill_of,
)

NOT_KNOWN = "not known"
TOO_FEW = (
    f"It takes {ENOUGH_FORECASTS}, for {ENOUGH_DAYS} different days, before anything can be said "
    f"of a lead."
)
FITS_SHOWN = 6
CHART_SIZE = 358.0  # pixels: a phone's width


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadRow:
    """One lead in words."""

    ahead: str
    count: str
    off_by: str
    stays_off_by: str
    against: str  # "it stays as it is"
    inside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceRow:
    """One tenth of chance in words."""

    said: str
    count: str
    happened: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FitRow:
    """One fit in words."""

    what: str
    words: str
    why: str
    is_in_force: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordPage:
    """The record of one gauge: the answer first, then by lead, then the chances, then the fits."""

    gauge: Gauge
    sentence: str
    detail: tuple[str, ...]
    since: date | None
    until: date | None
    leads: tuple[LeadRow, ...]
    chances: tuple[ChanceRow, ...]
    chance_words: str
    chart: Svg
    fits: tuple[FitRow, ...]
    unfitted: tuple[str, ...]  # why a model is not fitted, one line each


def record_page(gauge: Gauge, at: datetime) -> RecordPage:
    """Read the record of the last twelve months; a row a day and lead, never the forecasts."""
    skill = skill_of(gauge, at)
    is_daily = gauge.step_minutes == DAY_MINUTES
    words = _chance_words(skill)
    chart = reliability_chart(
        [Given(chance=b.chance, happened=b.happened, count=b.count) for b in skill.chances],
        size=CHART_SIZE,
        title=f"{gauge.name}: the chances we gave, and how often it happened",
        description=f"{words} On the slanting line a chance was right. The table has the numbers.",
    )
    fits = list(
        Fit.objects.filter(gauge=gauge, what__in=MODELS)
        .select_related("gauge__river")
        .defer("learned", "parameters")
        .order_by("-is_in_force", "-fitted_at", "-pk")[:FITS_SHOWN]
    )
    return RecordPage(
        gauge=gauge,
        sentence=_sentence(skill, is_daily),
        detail=_detail(skill, gauge),
        since=skill.since,
        until=skill.until,
        leads=tuple(_lead_row(lead, is_daily) for lead in skill.leads),
        chances=tuple(
            ChanceRow(
                said=f"{b.low:.0%} to {b.high:.0%}",
                count=_times(b.count),
                happened=f"{b.happened:.0%} of them",
            )
            for b in skill.chances
        ),
        chance_words=words,
        chart=chart,
        fits=tuple(_fit_row(fit) for fit in fits),
        unfitted=_unfitted(gauge, fits),
    )


def _sentence(skill: Skill, is_daily: bool) -> str:
    if not skill.is_enough:
        return "How good our forecasts of this gauge are is not yet known."
    if skill.poor:
        return POOR
    day = next((lead for lead in skill.leads if lead.lead_hours == 24), skill.leads[0])
    if day.error_m is None or day.stays_error_m is None:
        return "How good our forecasts of this gauge are is not yet known."
    ahead = lead_words(day.lead_hours, is_daily=is_daily)
    return (
        f"{ahead.capitalize()} ahead our middle value was off by {_cm(day.error_m)} on average; "
        f"“it stays as it is” by {_cm(day.stays_error_m)}."
    )


def _detail(skill: Skill, gauge: Gauge) -> tuple[str, ...]:
    if not skill.is_enough:
        count = max((lead.count for lead in skill.leads), default=0)
        so_far = f"{_times(count).capitalize()} a forecast has been held against what came."
        return (so_far, TOO_FEW)
    if skill.poor:
        return poor_words(skill, gauge)
    return ()


def _lead_row(lead: LeadSkill, is_daily: bool) -> LeadRow:
    return LeadRow(
        ahead=lead_words(lead.lead_hours, is_daily=is_daily),
        count=_count(lead),
        off_by=NOT_KNOWN if lead.error_m is None else _cm(lead.error_m),
        stays_off_by=NOT_KNOWN if lead.stays_error_m is None else _cm(lead.stays_error_m),
        against=_against(lead),
        inside=_inside(lead),
    )


def _count(lead: LeadSkill) -> str:
    words = f"{lead.count} on {lead.days} day{'' if lead.days == 1 else 's'}"
    return f"{words}; {lead.not_scored} not scored" if lead.not_scored else words


def _against(lead: LeadSkill) -> str:
    """Return skill in words and a number; too few to speak of is said."""
    if not lead.is_enough:
        return "not yet known: too few"
    if lead.skill is None:
        return NOT_KNOWN
    share = f"{abs(lead.skill):.0%}"
    if lead.skill >= 0.02:
        much = (
            "much better"
            if lead.skill >= 0.5
            else "better"
            if lead.skill >= 0.2
            else "a little better"
        )
        return f"{much}: {share} less error, spread and all"
    if lead.skill > -0.02:
        return "no better"
    return f"worse: {share} more error, spread and all"


def _inside(lead: LeadSkill) -> str:
    if lead.inside is None:
        return NOT_KNOWN
    held = f"{lead.inside:.0%} lay in the band"
    if not lead.is_enough:
        return f"{held}: too few to judge"
    if lead.is_wrong_wide:
        return f"{held}: too {'narrow' if lead.inside < 0.8 else 'wide'}"
    return f"{held}, of the 80 % it is made for"


def _chance_words(skill: Skill) -> str:
    if not skill.chances:
        return "No chance of passing a mark has been held against what came yet."
    most = max(skill.chances, key=lambda one: one.count)
    return (
        f"Most often we gave a chance of {most.low:.0%} to {most.high:.0%}, {_times(most.count)}; "
        f"it happened in {most.happened:.0%} of them."
    )


def _fit_row(fit: Fit) -> FitRow:
    return FitRow(
        what=fit.get_what_display(),
        words=f"{fit_words(fit)}; {fit.data_count} values",
        why=fit.why,
        is_in_force=fit.is_in_force,
    )


def _unfitted(gauge: Gauge, fits: list[Fit]) -> tuple[str, ...]:
    in_force = {fit.what for fit in fits if fit.is_in_force}
    said = dict(FitTurn.objects.filter(gauge=gauge).values_list("what", "said"))
    instead = {
        Modelled.LEVEL: "Like water in this river's own past stands in.",
        Modelled.WATER: "No water temperature is forecast.",
    }
    return tuple(
        f"No model of the {what.label} is fitted. {said.get(what) or 'None was tried yet.'} "
        f"{instead[what]}"
        for what in instead
        if what not in in_force
    )


def _cm(metres: float) -> str:
    return f"{metres * 100:.0f} cm" if metres >= 0.0095 else "under 1 cm"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
