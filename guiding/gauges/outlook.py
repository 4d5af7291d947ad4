"""Gather what is on file about a beat and its gauge, and read it for one part of one day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.db.models import Q

from guiding.gauges.clearing import kept_clearing
from guiding.gauges.conditions.fishing_hours import read_conditions
from guiding.gauges.conditions.measured import Measured, Sample
from guiding.gauges.conditions.question import OnFile, Question
from guiding.gauges.conditions.sky import WeatherAhead
from guiding.gauges.conditions.values import Conditions, Given
from guiding.gauges.forecasting import newest_forecast
from guiding.gauges.hydrology.record import ForecastRecord, MarkLevel
from guiding.gauges.known import RUN_IS_OLD
from guiding.gauges.levels import level_source_words, levels_of
from guiding.gauges.models import BeatGauge, Forecast, Gauge, Quantity, Reading
from guiding.gauges.pairing import links_of
from guiding.gauges.rain_shown import RainShown, measured_steps, rain_shown
from guiding.gauges.standins import ask_further_gauges
from guiding.gauges.steps import Steps, days_begin
from guiding.regimes.on_file import BeyondRain, FishingHours, beyond_rain
from guiding.rivers.models import Beat, Part, Water

# Where no hours are on file for a part: the river's own clock. Common practice, no source.
USUAL_HOURS = {
    Part.MORNING: (time(9), time(13)),
    Part.AFTERNOON: (time(13), time(17)),
    Part.EVENING: (time(18), time(22)),
    Part.NIGHT: (time(22), time(2)),
}
LEVELS_BEHIND = timedelta(days=21)  # a stale river is told from eleven days
WATER_BEHIND = timedelta(days=62)  # how much the water's temperature changes from day to day
OTHERS_BEHIND = timedelta(days=3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Conditions with the rows and values they were read from, so that nobody asks twice.

    `gauge_starts_at` and `gauge_ends_at` are the fishing hours as the gauge lives them, earlier by
    the water's way to the beat: ask the record about these.
    """

    conditions: Conditions
    gauge: Gauge | None
    forecast: Forecast | None
    record: ForecastRecord | None
    levels: tuple[Sample, ...]
    marks: tuple[MarkLevel, ...]
    gauge_starts_at: datetime
    gauge_ends_at: datetime
    worked_out: tuple[Sample, ...] = ()  # levels that a further gauge gives while this one fails
    rain: tuple[RainShown, ...] = ()  # measured, then forecast by a run young enough

    def chance_above(self, level_m: float) -> float | None:
        """Return the chance that the gauge stands at or above a level in the fishing hours."""
        if self.record is None or self.conditions.level.number is None:
            return None
        return self.record.chance_above(level_m, self.gauge_starts_at, self.gauge_ends_at)


def hours_of(water: Water, day: date, part: str) -> tuple[datetime, datetime]:
    """Return the aware UTC start and end of a part of a day on a water.

    In the hour that a clock change repeats, the wider of the two readings is taken. Without hours
    on file: the usual ones.

    Raises
    ------
    ValueError
        for a part of the day that there is not
    """
    return _hours(water, day, part)[:2]


def _hours(water: Water, day: date, part: str) -> tuple[datetime, datetime, bool]:
    """Return start, end, and whether they are on file."""
    if part not in Part.values:
        raise ValueError(f"part is {part}; a day has {', '.join(Part.values)}.")
    for row in water.part_hours.all():
        if row.part == part and row.holds_on(day):
            starts, ends, is_on_file = *row.interval(day), True
            break
    else:
        first, last = USUAL_HOURS[Part(part)]
        next_day = day if last > first else day + timedelta(days=1)
        starts, ends = water.river.moment(day, first), water.river.moment(next_day, last)
        is_on_file = False
    return (
        min(starts.replace(fold=fold).astimezone(UTC) for fold in (0, 1)),
        max(ends.replace(fold=fold).astimezone(UTC) for fold in (0, 1)),
        is_on_file,
    )


def conditions_for(
    beat: Beat, day: date, part: str, *, at: datetime, given: Given | None = None
) -> Conditions:
    """Return the conditions of a beat in one part of a day, as they were known at a moment."""
    return outlook_for(beat, day, part, at=at, given=given).conditions


def outlook_for(
    beat: Beat, day: date, part: str, *, at: datetime, given: Given | None = None
) -> Outlook:
    """Return the conditions of a beat in one part of a day, with what they were read from."""
    river = beat.water.river
    starts_at, ends_at, has_hours = _hours(beat.water, day, part)
    links = links_of(beat)
    link = links[0] if links else None
    gauge = link.gauge if link else None
    beyond = beyond_rain(
        FishingHours(beat=beat, day=day, starts_at=starts_at, ends_at=ends_at), at=at
    )
    question = Question(
        day=day,
        part=part,
        starts_at=starts_at,
        ends_at=ends_at,
        asked_at=at,
        latitude=river.latitude,
        longitude=river.longitude,
        zone=river.zoneinfo,
        regime=beyond.regime,
        is_peaty=river.is_peaty,
        may_ice=bool(gauge and gauge.may_ice),
        delay_hours=link.delay_hours if link else 0.0,
        hours_are_usual=not has_hours,
    )
    forecast = newest_forecast(gauge, at) if gauge else None
    record = forecast.as_record() if forecast else None
    on_file = _on_file(link, beat, question, record, beyond)
    further = ask_further_gauges(links, question, on_file, until=_until(question))
    whole = further.on(on_file)
    hours = question.gauge_hours
    return Outlook(
        conditions=further.told(read_conditions(question, whole, given), river.zoneinfo),
        gauge=gauge,
        forecast=forecast,
        record=whole.record if question.regime == "natural" else None,  # no rain moves other water
        levels=on_file.levels.samples,
        worked_out=further.stand_in.worked_out if further.stand_in else (),
        marks=on_file.marks,
        gauge_starts_at=hours.starts_at,
        gauge_ends_at=hours.ends_at,
        rain=_rain_shown(on_file, gauge, question),
    )


def _until(question: Question) -> datetime:
    """Return up to when the record is read: of hours that are over, nothing long after them."""
    hours = question.gauge_hours
    over_at = min(question.asked_at, max(hours.ends_at, question.ends_at))
    return over_at if hours.is_over else question.asked_at


def _rain_shown(on_file: OnFile, gauge: Gauge | None, question: Question) -> tuple[RainShown, ...]:
    run, at, zone, rows = on_file.run, question.asked_at, question.zone, on_file.rain.samples
    is_young = run is not None and at - run.issued_at <= RUN_IS_OLD
    steps = Steps(
        step_minutes=gauge.step_minutes if gauge else 60,
        zone=zone,
        day_begins=days_begin((moment for moment, _ in rows), zone),
    )
    return rain_shown(
        measured_steps(rows, steps, since=at - LEVELS_BEHIND, at=at),
        [(s.starts_at, s.ends_at, s.rain_mm) for s in run.steps] if run and is_young else [],
        at=at,
    )


def _on_file(
    link: BeatGauge | None,
    beat: Beat,
    question: Question,
    record: ForecastRecord | None,
    beyond: BeyondRain,
) -> OnFile:
    if link is None:
        return OnFile(has_gauge=False, moved=beyond.moved, ice=beyond.ice)
    gauge = link.gauge
    until = _until(question)
    since = min(until, question.gauge_hours.starts_at)
    others = _Others(gauge, since, until)
    levels = Measured(
        samples=tuple(levels_of(gauge, since - LEVELS_BEHIND, until)),
        step_hours=gauge.step_minutes / 60,
        source=level_source_words(gauge),
        suspect_at=others.moments(_LEVELS, Reading.Quality.SUSPECT),
        typed_at=frozenset(others.moments(_LEVELS, Reading.Quality.TYPED)),
    )
    return OnFile(
        levels=levels.known_at(until),
        water=others.measured(Quantity.WATER),
        air=others.measured(Quantity.AIR),
        visibility=others.measured(Quantity.VISIBILITY),
        turbidity=others.measured(Quantity.TURBIDITY),
        clearing=kept_clearing(gauge, question.asked_at),
        rain=others.measured(Quantity.RAIN),
        record=record,
        marks=marks_of(gauge, beat),
        run=_newest_run(gauge, question.asked_at),
        moved=beyond.moved,
        ice=beyond.ice,
    )


_LEVELS = (Quantity.LEVEL, Quantity.FLOW)
_Row = tuple[str, datetime, float, str]  # quantity, moment, value, quality


class _Others:
    """Everything but the good levels: a long stretch of what moves slowly, a short one of the rest.

    Two plain questions and not one with an "or" in it: that one could not use the index.
    """

    def __init__(self, gauge: Gauge, since: datetime, until: datetime) -> None:
        self.gauge = gauge
        self.until = until
        self.series = {row.pk: row for row in gauge.series.all()}
        self.rows = [
            *self._rows((Quantity.WATER, Quantity.VISIBILITY), since - WATER_BEHIND),
            *self._rows((Quantity.AIR, Quantity.TURBIDITY, *_LEVELS), since - OTHERS_BEHIND),
            *self._rows((Quantity.RAIN,), since - LEVELS_BEHIND),
        ]

    def _rows(self, quantities: tuple[str, ...], since: datetime) -> list[_Row]:
        series = [row.pk for row in self.series.values() if row.quantity in quantities]
        readings = Reading.objects.filter(
            series__in=series, observed_at__gte=since, observed_at__lte=self.until
        )
        kept = readings.order_by("observed_at").values_list(
            "series", "observed_at", "value", "quality"
        )
        return [(self.series[pk].quantity, at, value, quality) for pk, at, value, quality in kept]

    def moments(self, quantities: tuple[str, ...], quality: str) -> tuple[datetime, ...]:
        """Return when readings of a quality were made."""
        return tuple(row[1] for row in self.rows if row[0] in quantities and row[3] == quality)

    def measured(self, quantity: str) -> Measured:
        """Return a quantity as plain values, without those that are suspect."""
        rows = [row for row in self.rows if row[0] == quantity]
        source = next((s.source for s in self.series.values() if s.quantity == quantity), "")
        measured = Measured(
            samples=tuple(row[1:3] for row in rows if row[3] != Reading.Quality.SUSPECT),
            step_hours=self.gauge.step_minutes / 60,
            source=source or self.gauge.source or f"gauge {self.gauge.name}",
            suspect_at=self.moments((quantity,), Reading.Quality.SUSPECT),
            typed_at=frozenset(self.moments((quantity,), Reading.Quality.TYPED)),
        )
        return measured.known_at(self.until)


def marks_of(gauge: Gauge, beat: Beat) -> tuple[MarkLevel, ...]:
    """Return the marks that hold on a beat, the lowest first: its own before the gauge's.

    None where they are suspended: the gauge's levels became others, and that is said elsewhere.
    """
    if gauge.marks_suspended_since is not None:
        return ()
    rows = gauge.marks.filter(Q(beat=None) | Q(beat=beat))
    chosen = {row.kind: row for row in sorted(rows, key=lambda row: row.beat_id is not None)}
    return tuple(sorted((row.as_level() for row in chosen.values()), key=lambda mark: mark.level_m))


def _newest_run(gauge: Gauge, at: datetime) -> WeatherAhead | None:
    """Return the newest weather run that had been issued and fetched by a moment."""
    runs = gauge.weather_runs.defer("raw").filter(issued_at__lte=at, fetched_at__lte=at)
    run = runs.order_by("-issued_at", "-fetched_at", "-pk").first()
    if run is None:
        return None
    return WeatherAhead.from_rows(run.steps, issued_at=run.issued_at, source=run.source)
