"""How good our forecasts of a gauge have been, read from the sums of scored days."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from guiding.gauges.hydrology.record import DAY_MINUTES
from guiding.gauges.models import Gauge, ScoredDay
from guiding.gauges.scored_days import BINS

LOOKED_BACK = timedelta(days=365)
# Enough to speak of, and where a record is poor: common practice, no source. Forecasts of one day
# tell much the same story, so days count as well.
ENOUGH_FORECASTS, ENOUGH_DAYS = 30, 20
LEAST_INSIDE, MOST_INSIDE = 0.65, 0.92  # of outcomes in a band that is to hold four in five

POOR = "Our record on this gauge is poor."
NOT_YET_KNOWN = (
    "How good our forecasts of this gauge are is not yet known: too few have been scored."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadSkill:
    """How one lead did: means over `count` forecasts for `days` days [m].

    `skill` is 1 - CRPS / CRPS of "it stays as it is", over the forecasts for which both are known;
    None where that cannot be told.
    """

    lead_hours: int
    count: int
    days: int
    not_scored: int
    error_m: float | None
    stays_error_m: float | None
    inside: float | None
    skill: float | None

    @property
    def is_enough(self) -> bool:
        """Say whether there are enough to speak of."""
        return self.count >= ENOUGH_FORECASTS and self.days >= ENOUGH_DAYS

    @property
    def is_no_better(self) -> bool:
        """Say whether "it stays as it is" did as well."""
        return self.is_enough and self.skill is not None and self.skill <= 0

    @property
    def is_wrong_wide(self) -> bool:
        """Say whether the band held far fewer, or far more, than the four in five it promised."""
        if not self.is_enough or self.inside is None:
            return False
        return not LEAST_INSIDE <= self.inside <= MOST_INSIDE


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceBin:
    """Chances of one tenth that were given: how many, their mean, how often it happened."""

    low: float
    high: float
    count: int
    chance: float
    happened: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """The record of a gauge: leads in order, and chances of passing a mark held to what came."""

    leads: tuple[LeadSkill, ...]
    chances: tuple[ChanceBin, ...]
    since: date | None
    until: date | None

    @property
    def is_enough(self) -> bool:
        """Say whether any lead has enough to speak of."""
        return any(lead.is_enough for lead in self.leads)

    @property
    def poor(self) -> tuple[LeadSkill, ...]:
        """Return the leads whose record is poor."""
        return tuple(lead for lead in self.leads if lead.is_no_better or lead.is_wrong_wide)


def skill_of(gauge: Gauge, at: datetime, *, fit: int | None = None) -> Skill:
    """Return the record of the last twelve months as it stood at a moment; `fit`: of one fit only.

    Reads a row a day, lead and fit, never the forecasts themselves.
    """
    until = at.astimezone(gauge.river.zoneinfo).date()
    rows = ScoredDay.objects.filter(gauge=gauge, day__gt=until - LOOKED_BACK, day__lte=until)
    if fit is not None:
        rows = rows.filter(fit=fit)
    return summed(list(rows.order_by("day")))


def summed(rows: list[ScoredDay]) -> Skill:
    """Return the record that some days make."""
    leads = sorted({row.lead_hours for row in rows})
    days = [row.day for row in rows if row.count]
    return Skill(
        leads=tuple(_lead(lead, [row for row in rows if row.lead_hours == lead]) for lead in leads),
        chances=_chances(rows),
        since=min(days, default=None),
        until=max(days, default=None),
    )


def _lead(lead: int, rows: list[ScoredDay]) -> LeadSkill:
    count = sum(row.count for row in rows)
    stays = sum(row.stays_crps_m for row in rows)
    return LeadSkill(
        lead_hours=lead,
        count=count,
        days=len({row.day for row in rows if row.count}),
        not_scored=sum(row.not_scored for row in rows),
        error_m=sum(row.error_m for row in rows) / count if count else None,
        stays_error_m=sum(row.stays_error_m for row in rows) / count if count else None,
        inside=sum(row.inside for row in rows) / count if count else None,
        skill=1 - sum(row.crps_m for row in rows) / stays if stays > 0 else None,
    )


def _chances(rows: Iterable[ScoredDay]) -> tuple[ChanceBin, ...]:
    sums: dict[int, list[float]] = {}
    for row in rows:
        for tenth, kept in row.chances.items():
            before = sums.setdefault(int(tenth), [0, 0.0, 0])
            sums[int(tenth)] = [one + other for one, other in zip(before, kept, strict=True)]
    return tuple(
        ChanceBin(
            low=tenth / BINS,
            high=(tenth + 1) / BINS,
            count=int(count),
            chance=chances / count,
            happened=happened / count,
        )
        for tenth, (count, chances, happened) in sorted(sums.items())
    )


def record_remark(gauge: Gauge, at: datetime) -> str:
    """Return what must be said of our record where a gauge's outlook is shown; often nothing.

    A record that is too short to speak of is said to be not yet known.
    """
    skill = skill_of(gauge, at)
    return poor_remark(skill, gauge) or ("" if skill.is_enough else NOT_YET_KNOWN)


def poor_remark(skill: Skill, gauge: Gauge) -> str:
    """Return in words that and how a record is poor, an empty text where it is not."""
    if not skill.poor:
        return ""
    return " ".join((POOR, *poor_words(skill, gauge)))


def poor_words(skill: Skill, gauge: Gauge) -> tuple[str, ...]:
    """Return a sentence for each way in which a record is poor."""
    is_daily = gauge.step_minutes == DAY_MINUTES
    lines = []
    if no_better := [lead for lead in skill.poor if lead.is_no_better]:
        lines.append(
            f"{_leads(no_better, is_daily)} ahead, “it stays as it is” did as well as we did or "
            f"better."
        )
    if narrow := [one for one in skill.poor if one.is_wrong_wide and (one.inside or 0) < 0.8]:
        worst = min(narrow, key=lambda one: one.inside or 0)
        lines.append(
            f"{_leads(narrow, is_daily)} ahead, our band of four times in five held only "
            f"{worst.inside:.0%} of what came: take the river as less sure than it is drawn."
        )
    if wide := [one for one in skill.poor if one.is_wrong_wide and (one.inside or 0) > 0.8]:
        lines.append(f"{_leads(wide, is_daily)} ahead, our band was wider than the river needed.")
    return tuple(lines)


def lead_words(lead_hours: int, *, is_daily: bool) -> str:
    """Return a lead in words."""
    if lead_hours < 24 or (lead_hours == 24 and not is_daily):
        return f"{lead_hours} hours"
    days = lead_hours // 24
    return "1 day" if days == 1 else f"{days} days"


def _leads(leads: Iterable[LeadSkill], is_daily: bool) -> str:
    words = [lead_words(lead.lead_hours, is_daily=is_daily) for lead in leads]
    return ", ".join(words[:-1]) + (" and " if len(words) > 1 else "") + words[-1]
