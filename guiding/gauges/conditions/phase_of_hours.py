"""The phase of the river in the fishing hours: measured, or the one that most paths are in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from guiding.gauges.conditions.good_range import GoodRange, good_range
from guiding.gauges.conditions.measured import Measured, Sample
from guiding.gauges.conditions.path_phases import PHASES, Codes, Flags, phases_of_paths
from guiding.gauges.conditions.phases import Spate, read_phase
from guiding.gauges.conditions.stage import GaugeHours, age_hours, joined, steps_ahead
from guiding.gauges.conditions.values import Condition, Kind, Phase
from guiding.gauges.hydrology.record import Array, ForecastRecord, MarkLevel
from guiding.gauges.outlook_words import chance_words, percent_words

MAJORITY = 0.5  # more than this share of the paths; else no phase is told
WORTH_A_WORD = 0.05
UP = (Phase.FIRST_RISE, Phase.PEAK)
MEDIAN_ALONE = "read from the middle of the forecast alone: how likely it is is not known"

Chances = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseRead:
    """The phase with what it was read from. `of_paths`: of each path, where paths were read."""

    phase: Condition
    spate: Spate
    chances: Chances = ()  # of each phase, the likeliest first; empty: not read from paths
    of_paths: Codes | None = None

    @property
    def says(self) -> str:
        """Return what must be said where paths were read and none of the phases has most."""
        if self.phase.value is not None or not self.chances:
            return ""
        return (
            "Whether the river will be rising, at its peak, falling or settled in the fishing "
            f"hours is not known: {self.phase.source}."
        )


def read_phase_of_hours(
    levels: Measured,
    record: ForecastRecord | None,
    hours: GaugeHours,
    marks: Sequence[MarkLevel],
) -> PhaseRead:
    """Return the phase in the middle of the hours; while they run, at the newest reading.

    Of hours to come: the phase that more than half of the forecast's paths are in, and where there
    is none, not known. A forecast without whole paths is read by its middle, and that is said.
    """
    is_running = hours.has_begun and not hours.is_over
    newest = levels.newest
    if newest is None or not (hours.is_over or levels.is_fresh(hours.asked_at)):
        return _not_known("the newest level is stale" if newest else "no level on file")
    at = newest[0] if is_running else hours.middle_at
    step = timedelta(hours=levels.step_hours)
    lowest_m = min((mark.level_m for mark in marks), default=None)
    if hours.has_begun or record is None:
        run = joined(levels, None, hours.asked_at)
        spate = read_phase(run, at, step, lowest_m)
        known_at = max((t for t, _ in run if t <= at), default=at)
        return _told(spate, Kind.INFERRED, known_at, hours)
    if record.paths is not None:
        return _read_paths(levels, record, record.paths, hours, step, lowest_m)
    spate = read_phase(joined(levels, record, hours.asked_at), at, step, lowest_m)
    return _told(spate, Kind.FORECAST, record.issued_at, hours, f"; {MEDIAN_ALONE}")


def share_risen(
    of_paths: Codes | None,
    record: ForecastRecord | None,
    hours: GaugeHours,
    marks: Sequence[MarkLevel],
) -> float | None:
    """Return the share of paths on a first rise, at a peak or over the good range in the hours.

    `of_paths`: the phase on each path, None where it does not count. None where neither is known.
    """
    risen = None if of_paths is None else np.isin(of_paths, [PHASES.index(phase) for phase in UP])
    over = _over_good(record, hours, marks)
    if risen is not None and over is not None:
        risen = risen | over
    elif risen is None:
        risen = over
    return None if risen is None else float(risen.mean())


def _over_good(
    record: ForecastRecord | None, hours: GaugeHours, marks: Sequence[MarkLevel]
) -> Flags | None:
    span = good_range(marks)
    if record is None or record.paths is None or hours.is_over or not isinstance(span, GoodRange):
        return None
    steps = steps_ahead(record, hours.rest_starts_at, hours.ends_at)
    if not steps or np.isnan(record.paths[:, steps]).any():
        return None
    return np.asarray((record.paths[:, steps] >= span.high.level_m).any(axis=1))


def _read_paths(
    levels: Measured,
    record: ForecastRecord,
    paths: Array,
    hours: GaugeHours,
    step: timedelta,
    lowest_m: float | None,
) -> PhaseRead:
    at = hours.middle_at
    before, places = _measured_and_ahead(levels, record, paths, hours)
    times = [record.times[place] for place in places]
    ahead = paths[:, places]
    codes = phases_of_paths(before, times, ahead, at, step, lowest_m)
    counts = np.bincount(codes, minlength=len(PHASES))
    most = PHASES[int(counts.argmax())]
    share = float(counts.max() / counts.sum())

    def along(path: int) -> Spate:
        run: list[Sample] = [*before, *zip(times, ahead[path].tolist(), strict=True)]
        return read_phase(run, at, step, lowest_m)

    if most is Phase.NOT_KNOWN:
        return _not_known(along(0).why if share == 1 else "most paths do not tell it")
    chances = tuple(
        (str(PHASES[code]), float(counts[code] / counts.sum()))
        for code in np.argsort(-counts, kind="stable")
        if counts[code]
    )
    if share <= MAJORITY:
        why = f"no phase has most of the forecast's paths ({_listed(chances)})"
        return PhaseRead(
            phase=Condition(what="phase", source=why),
            spate=Spate(phase=Phase.NOT_KNOWN, why=why),
            chances=chances,
            of_paths=codes,
        )
    there = np.flatnonzero(codes == PHASES.index(most))
    heights = ahead[there, -1] if places else np.zeros(len(there))
    typical = int(there[np.argsort(heights, kind="stable")[len(there) // 2]])
    words = f"; {chance_words(share)} of the forecast's paths"
    read = _told(along(typical), Kind.FORECAST, record.issued_at, hours, words)
    return PhaseRead(phase=read.phase, spate=read.spate, chances=chances, of_paths=codes)


def _measured_and_ahead(
    levels: Measured, record: ForecastRecord, paths: Array, hours: GaugeHours
) -> tuple[list[Sample], list[int]]:
    """Return what was measured and the steps that go on from it up to the middle of the hours."""
    at = hours.middle_at
    before = [sample for sample in levels.samples if sample[0] <= min(hours.asked_at, at)]
    # a day's mean stands at the day's beginning, so the day under way may be forecast as well
    after = before[-1][0] if before else record.issued_at - timedelta(days=1)
    places: list[int] = []
    for place, moment in enumerate(record.times):
        if moment > at or not np.isfinite(paths[:, place]).all():
            break
        if moment > after:
            places.append(place)
    return before, places


def _told(
    spate: Spate, kind: Kind, known_at: datetime, hours: GaugeHours, words: str = ""
) -> PhaseRead:
    if spate.phase is Phase.NOT_KNOWN:
        return PhaseRead(phase=Condition(what="phase", source=spate.why), spate=spate)
    phase = Condition(
        what="phase",
        value=str(spate.phase),
        kind=kind,
        at=known_at,
        age_hours=age_hours(hours.asked_at, known_at),
        source=f"the run of levels: {spate.why}{words}",
    )
    return PhaseRead(phase=phase, spate=spate)


def _not_known(why: str) -> PhaseRead:
    return PhaseRead(
        phase=Condition(what="phase", source=why), spate=Spate(phase=Phase.NOT_KNOWN, why=why)
    )


def _listed(chances: Chances) -> str:
    named = [
        f"{name.replace('_', ' ')} {percent_words(share)}"
        for name, share in chances
        if share >= WORTH_A_WORD
    ]
    return ", ".join(named)
