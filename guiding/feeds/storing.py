"""What an agency told goes into the gauge's record, by the same door as every other reading."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.feeds.codes import keep_codes
from guiding.feeds.models import Feed
from guiding.feeds.rain_totals import HOUR_MINUTES, hourly
from guiding.feeds.suspects import AROUND, BACK_WITHIN, spikes, usual_gap
from guiding.gauges.actions import store_readings
from guiding.gauges.intake.limits import moment_refusal
from guiding.gauges.intake.storing import gauge_limits, typed_on_file
from guiding.gauges.models import Gauge, Quantity, Reading, Series
from guiding.gauges.providers.agency import Kind
from guiding.gauges.providers.readings import SeriesTold, Told

DAY_MINUTES = 1440
MOST_REFUSED = 0.2  # of the rows of an answer; more, and the source is not quite well
KEPT_REFUSED = 20
KEPT_LAGS = 200
LAGS_WANTED = 20
LAG_OF = timedelta(days=3)  # what is older was sent late, or again
AT_ONCE = 500  # moments in one statement

Readings = list[tuple[datetime, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What became of one series of an answer."""

    stored: int = 0
    revised: int = 0
    refused: int = 0
    leaves_gap: bool = False  # values between this and what was on file have not been told


def keep_rows(feed: Feed, answer: SeriesTold, *, kind: Kind, at: datetime) -> Kept:
    """Store one series of an answer; old data stay whatever comes. Call inside a transaction.

    Good rows are stored though others are bad; what is refused is kept with its reason.
    """
    told = sorted(answer.told, key=lambda row: row.observed_at)
    learn_step(feed, told)
    misfit = _misfit(feed)
    if misfit:
        feed.rows_trouble = misfit
        return Kept(refused=answer.rows)
    readings = _in_record_steps(feed, [(row.observed_at, row.value) for row in told])
    before = _moments_on_file(feed, readings) if kind is not Kind.HISTORY else set()
    typed = typed_on_file(feed.gauge, feed.quantity, (moment for moment, _ in readings))
    stored = store_readings(
        feed.gauge,
        feed.quantity,
        [(moment, value) for moment, value in readings if moment not in typed],
        at=at,
        name=f"fetched from {feed.agency.name}, {feed.series_words}",
    )
    refused = [{"place": row.place, "why": row.why, "raw": row.raw} for row in answer.refused]
    refused += [
        {"place": f"reading {row.line}", "why": row.why, "raw": ""} for row in stored.rejected
    ]
    _note_refused(feed, refused, answer.rows, kind, at)
    if stored.stored or told:
        _flag(feed, told, readings)
    keep_codes(feed, told)
    if kind is not Kind.HISTORY and feed.last_value_at is not None:
        _learn_lag(feed, [at - moment for moment, _ in readings if moment not in before])
    gap = _note_newest(feed, told, readings, kind, at)
    return Kept(
        stored=stored.stored,
        revised=stored.revised,
        refused=len(refused),
        leaves_gap=gap,
    )


def _moments_on_file(feed: Feed, readings: Readings) -> set[datetime]:
    if not readings:
        return set()
    rows = Reading.objects.filter(
        series__gauge=feed.gauge,
        series__quantity=feed.quantity,
        observed_at__range=(readings[0][0], readings[-1][0]),
    )
    return set(rows.values_list("observed_at", flat=True))


def learn_step(feed: Feed, told: Sequence[Told]) -> None:
    """Learn how far apart values come, where the agency does not say."""
    gap = usual_gap([row.observed_at for row in told])
    if gap and gap >= timedelta(minutes=1) and len(told) > 4:
        feed.step_minutes = int(gap.total_seconds() // 60)


def _misfit(feed: Feed) -> str:
    """Return why these values cannot stand in the gauge's record, or nothing."""
    wanted, met = feed.gauge.step_minutes, feed.step_minutes
    if met is None:
        return ""
    if wanted < DAY_MINUTES <= met:
        return f"it comes a day apart, and the record of {feed.gauge.name} is hourly"
    if wanted >= DAY_MINUTES > met:
        return f"it comes {met} minutes apart, and the record of {feed.gauge.name} is daily"
    if feed.quantity == Quantity.RAIN and met < DAY_MINUTES and HOUR_MINUTES % met:
        return f"its rain comes {met} minutes apart, which does not divide an hour"
    return ""


def _in_record_steps(feed: Feed, readings: Readings) -> Readings:
    """Return rain by whole hours, which carry the moment they begin; others as they came."""
    if feed.quantity != Quantity.RAIN or (feed.step_minutes or DAY_MINUTES) >= DAY_MINUTES:
        return readings
    return hourly(
        readings,
        step_minutes=feed.step_minutes or HOUR_MINUTES,
        is_stamped_at_end=feed.agency.rain_is_stamped == "ends",
    )


def _note_refused(
    feed: Feed, refused: list[dict[str, str]], rows: int, kind: Kind, at: datetime
) -> None:
    is_now = kind is not Kind.HISTORY  # what was bad years ago is no trouble of today
    feed.rows_trouble = "" if is_now else feed.rows_trouble
    if not refused:
        return
    feed.refused = {
        "at": at.isoformat(),
        "of": rows,
        "count": len(refused),
        "rows": refused[:KEPT_REFUSED],
    }
    if is_now and len(refused) > MOST_REFUSED * rows:
        first = refused[0]
        feed.rows_trouble = (
            f"{len(refused)} of {rows} rows are refused; {first['place']}: {first['why']}"
        )[:300]


def _flag(feed: Feed, told: Sequence[Told], readings: Readings) -> None:
    """Mark what the agency or its neighbours speak against as suspect, and lift what was lifted."""
    series = Series.objects.filter(gauge=feed.gauge, quantity=feed.quantity).first()
    if series is None or not readings:
        return
    first, last = readings[0][0], readings[-1][0]
    before = series.readings.filter(observed_at__lt=first).order_by("-observed_at")
    after = series.readings.filter(observed_at__gt=last).order_by("observed_at")
    here = series.readings.filter(observed_at__range=(first, last)).order_by("observed_at")
    pair = ("observed_at", "value")
    # the newest values could not be judged when they came: they are once more, with what followed
    near = list(before.values_list(*pair)[: 2 * AROUND + BACK_WITHIN])[::-1]
    near += list(here.values_list(*pair)) + list(after.values_list(*pair)[: AROUND + 1])
    suspect = spikes(near, feed.quantity) | {row.observed_at for row in told if row.is_suspect}
    told_at = {row.observed_at for row in told}
    _set_quality(series, suspect, Reading.Quality.GOOD, Reading.Quality.SUSPECT)
    _set_quality(series, told_at - suspect, Reading.Quality.SUSPECT, Reading.Quality.GOOD)


def _set_quality(series: Series, moments: Iterable[datetime], before: str, after: str) -> None:
    wanted = sorted(moments)
    if not wanted:
        return
    # most often there is nothing to change, and one look says so
    if not series.readings.filter(
        quality=before, observed_at__range=(wanted[0], wanted[-1])
    ).exists():
        return
    for place in range(0, len(wanted), AT_ONCE):
        some = wanted[place : place + AT_ONCE]
        series.readings.filter(observed_at__in=some, quality=before).update(quality=after)


def _note_newest(
    feed: Feed, told: Sequence[Told], readings: Readings, kind: Kind, at: datetime
) -> bool:
    """Keep the newest value and how late values come; say whether some were not told."""
    known = [row for row in told if not moment_refusal(row.observed_at, at)]
    if not known:
        return False
    newest, before = known[-1], feed.last_value_at
    if kind is not Kind.HISTORY:
        _note_out_of_range(feed, newest)
    step = timedelta(minutes=feed.step_minutes or HOUR_MINUTES)
    new = [row for row in known if before is None or row.observed_at > before]
    gap = bool(new) and before is not None and new[0].observed_at - before > 1.5 * step
    if before is None or newest.observed_at >= before:
        feed.last_value_at, feed.last_value = newest.observed_at, newest.value
    if feed.quantity == Quantity.RAIN and kind is Kind.LATEST and not readings:
        return bool(new)  # parts of an hour: the week's answer has them all
    return gap and kind is Kind.LATEST


def _note_out_of_range(feed: Feed, newest: Told) -> None:
    """A flood above what the gauge is said to reach must not look like silence.

    A value below it tells of the gauge, and nothing of the river.
    """
    if feed.quantity not in (Quantity.LEVEL, Quantity.FLOW):
        return
    limits = gauge_limits(feed.gauge, feed.quantity)
    if refusal := limits.refusal(newest.value):
        if newest.value < limits.low:
            means = (
                "the gauge may be at fault, and the level is not known until somebody has looked"
            )
        else:
            means = "treat the river as risen until somebody has looked"
        feed.rows_trouble = f"its newest value was not stored: {refusal}; {means}"[:300]


def _learn_lag(feed: Feed, lags: Iterable[timedelta]) -> None:
    minutes = [int(lag.total_seconds() // 60) for lag in lags if lag <= LAG_OF]
    feed.lags = [*feed.lags, *(max(lag, 0) for lag in minutes)][-KEPT_LAGS:]
    if len(feed.lags) >= LAGS_WANTED:
        feed.lag_p95_minutes = sorted(feed.lags)[int(0.95 * (len(feed.lags) - 1))]


def name_source(gauge: Gauge, feed: Feed) -> None:
    """Write into the gauge's series who tells it."""
    said = f"{feed.agency.name}, {feed.name or feed.station or feed.series}"[:200]
    Series.objects.filter(gauge=gauge, quantity=feed.quantity).exclude(source=said).update(
        source=said
    )
