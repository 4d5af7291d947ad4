"""Whether a person may wade a pool at a level: all criteria, the decider, the stop level.

A calculation can find a stop; it can never give leave. The one who stands on the bank decides.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from briefings.wading.criteria import Limit, limits_for
from briefings.wading.depth import DEEPEST, Spot, spots_of
from briefings.wading.hazard import TOLERANCE
from briefings.wading.records import (
    Circumstances,
    Criterion,
    Sounding,
    Wader,
    Wading,
    check_depth,
    check_level,
    check_speed,
)
from briefings.wading.words import BANK_ONLY, GUIDE_DECIDES, TO_THE_KNEE, guide_words
from guiding.sources import COMMON_PRACTICE

__all__ = [
    "Circumstances",
    "Criterion",
    "Sounding",
    "Wader",
    "Wading",
    "judge",
    "judge_pool",
]

REACH = "reach of the soundings"
WORST_FIRST = ("stop", "at_limit", "not_known", "no_stop_found")
HALVINGS = 40  # narrows any stretch of river level to far under a micrometre


def judge(
    *,
    depth_m: float,
    speed_ms: float,
    wader: Wader,
    circumstances: Circumstances,
    omitted_is_absent: bool = False,
) -> Wading:
    """Judge one depth and speed for one person.

    `omitted_is_absent`: see wading_criteria.limits_for. ValueError where no river is that deep or
    fast.
    """
    check_depth(depth_m)
    check_speed(speed_ms)
    case = _Case.of(wader, circumstances, omitted_is_absent)
    return case.answer(depth_m, speed_ms)


def judge_pool(
    *,
    soundings: tuple[Sounding, ...],
    level_m: float | None,
    ratio: float,
    over_bank_since: date | None,
    today: date,
    wader: Wader,
    circumstances: Circumstances,
    omitted_is_absent: bool = False,
) -> Wading:
    """Judge a pool, all its spots, at a gauge level for one person, with its stop level.

    Parameters
    ----------
    soundings : tuple of Sounding
        Everything measured in the pool, in any order.
    level_m : float or None
        Gauge level [m], -1 to 20; None where it is not known.
    ratio : float
        Metres of depth for a metre of level, 0.1 to 5.
    over_bank_since : date or None
        The last day on which the river stood over its bank; soundings up to that day are void.
    today : date
        The day to judge for; soundings over two years older are old.

    Returns
    -------
    Wading
        Of the spot with the worst verdict (stop, at a limit, not known, no stop found). A spot
        whose soundings are void, or where the depth would be under 0.5 times the least or over 1.6
        times the greatest measured depth, is not known. Old soundings can stop but never clear:
        the best they give is not known. `stop_level_m` is the lowest level, over all spots and
        deciding criteria, at which wading stops; where every estimate stops it is the lowest level
        that the soundings reach. It is None where no level helps (frail, regulated water) and where
        the height, a speed or a spot is not known or old. What passes (rise, ice, night, an unknown
        visibility) does not move it. At or above it the verdict is never "no stop found".

    Raises
    ------
    ValueError
        Where level or ratio is not one that a river has.
    """
    if level_m is not None:
        check_level(level_m)
    case = _Case.of(wader, circumstances, omitted_is_absent)
    spots, void = spots_of(
        soundings,
        ratio=ratio,
        over_bank_since=over_bank_since,
        today=today,
        undated_is_old=not omitted_is_absent,
    )
    stops = [case.stop_of(spot) for spot in spots]
    answers = [case.at_spot(spot, level_m, s) for spot, s in zip(spots, stops, strict=True)]
    for name in void:
        why = f"every sounding was made before the river was over its bank ({over_bank_since})"
        answers.append(replace(case.unknown(why), spot=name))
    if not answers:
        answers = [case.unknown("this pool has no sounding")]
    worst = min(answers, key=_worst_first)
    known = [stop for stop in stops if stop is not None]
    if void or len(known) < len(stops) or not known:
        return worst
    lowest = min(known, key=lambda stop: stop.level_m)
    return replace(worst, stop_level_m=lowest.level_m, stop_by=lowest.by, stop_spot=lowest.spot)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stop:
    """The lowest level at which wading stops at one spot, and what stops it."""

    level_m: float
    by: str
    spot: str


def _stopped(answer: Wading, stop: _Stop, why: str) -> Wading:
    return replace(
        answer,
        verdict="stop",
        decider=stop.by,
        text=f"stop: {stop.by} stops from {stop.level_m:.2f} m; {why}",
        client_text=BANK_ONLY,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """One person in one set of circumstances: the limits, and what to say."""

    wader: Wader
    limits: tuple[Limit, ...]
    moving: tuple[Limit, ...]  # those that decide and change with the level
    unchecked: tuple[str, ...]
    wading_words: str
    stops_at_every_level: bool
    moved_words: str  # why nothing is known of water that a dam or the tide moves

    @classmethod
    def of(cls, wader: Wader, circumstances: Circumstances, omitted_is_absent: bool) -> _Case:
        knee = wader.stays_at_the_knee(omitted_age_is_adult=omitted_is_absent)
        limits = limits_for(wader, circumstances, omitted_is_absent=omitted_is_absent)
        return cls(
            wader=wader,
            limits=limits,
            moving=tuple(limit for limit in limits if limit.decides and limit.measure),
            unchecked=circumstances.not_known(),
            wading_words=TO_THE_KNEE if knee else GUIDE_DECIDES,
            stops_at_every_level=wader.may_not_wade or circumstances.is_moved is not False,
            moved_words=circumstances.why_moved if circumstances.is_moved is None else "",
        )

    def answer(
        self,
        depth_m: float | None,
        speed_ms: float | None,
        *,
        more: tuple[Criterion, ...] = (),
        why_not_known: str = "",
    ) -> Wading:
        """Return the answer at a depth and speed; `more` criteria come from the soundings."""
        why_not_known = self.moved_words or why_not_known
        criteria = (*(limit.criterion(depth_m, speed_ms) for limit in self.limits), *more)
        deciding = [criterion for criterion in criteria if criterion.decides]
        verdict = _verdict(deciding, why_not_known)
        decider = _decider(deciding)
        if verdict == "not_known" and depth_m is None:
            decider = None
        return Wading(
            depth_m=depth_m,
            speed_ms=speed_ms,
            criteria=criteria,
            decider=decider.name if decider else None,
            verdict=verdict,
            stop_level_m=None,
            unchecked=self.unchecked,
            text=guide_words(verdict, deciding, decider, why_not_known),
            client_text=self.wading_words if verdict == "no_stop_found" else BANK_ONLY,
        )

    def unknown(self, why: str) -> Wading:
        """Return the answer where there is no depth: the stops besides still stop."""
        return self.answer(None, None, why_not_known=why)

    def at_spot(self, spot: Spot, level_m: float | None, stop: _Stop | None) -> Wading:
        """Return the answer at one spot."""
        answer = self._estimated(spot, level_m)
        above = stop is not None and level_m is not None and level_m >= stop.level_m
        if above and stop is not None and answer.verdict == "no_stop_found":
            # only where soundings contradict each other: a lower level stops already
            answer = _stopped(answer, stop, "the soundings disagree")
        elif above and stop is not None and answer.verdict == "not_known":
            # higher than the soundings reach is higher than a level that stops: never milder
            answer = _stopped(answer, stop, "no estimate of the depth at this level")
        return replace(answer, spot=spot.name)

    def _estimated(self, spot: Spot, level_m: float | None) -> Wading:
        if level_m is None:
            return self.unknown("the river's level is not known")
        anchor = spot.anchor(level_m)
        depth_m = spot.depth(level_m, anchor)
        if depth_m < spot.shallowest_m - TOLERANCE:
            return self.unknown("the river is lower than the soundings reach")
        if depth_m > spot.deepest_m + TOLERANCE:
            return self.unknown("the river is higher than the soundings reach")
        more = (_reach(spot),) if abs(depth_m - spot.deepest_m) <= TOLERANCE else ()
        old = "the soundings are older than two seasons" if spot.is_old else ""
        return self.answer(depth_m, spot.speed(depth_m, anchor), more=more, why_not_known=old)

    def stop_of(self, spot: Spot) -> _Stop | None:
        """Return the lowest level that stops at one spot, by halving each stretch that holds it."""
        is_measured = all(s.speed_ms is not None for s in spot.soundings)
        if self.stops_at_every_level or self.wader.height_m is None:
            return None
        if spot.is_old or not is_measured:
            return None
        for low, high, anchor in spot.stretches():
            start = max(low, spot.level(spot.shallowest_m, anchor))
            if start > high or not self._stops(spot, high, anchor):
                continue
            level_m = self._first_stop(spot, start, high, anchor)
            return _Stop(level_m=level_m, by=self._stopper(spot, level_m, anchor), spot=spot.name)
        return None

    def _first_stop(self, spot: Spot, start: float, high: float, anchor: Sounding) -> float:
        if self._stops(spot, start, anchor):
            return start
        clear, stopped = start, high
        for _ in range(HALVINGS):
            middle = (clear + stopped) / 2
            if self._stops(spot, middle, anchor):
                stopped = middle
            else:
                clear = middle
        return stopped

    def _stops(self, spot: Spot, level_m: float, anchor: Sounding) -> bool:
        """Say whether depth or speed, or the reach of the soundings, stops at a level."""
        depth_m = spot.depth(level_m, anchor)
        if depth_m >= spot.deepest_m - TOLERANCE:
            return True
        speed_ms = spot.speed(depth_m, anchor)
        return any(limit.is_met(depth_m, speed_ms) for limit in self.moving)

    def _stopper(self, spot: Spot, level_m: float, anchor: Sounding) -> str:
        """Return what stops at a level that stops: of those that do, the one furthest over."""
        depth_m = spot.depth(level_m, anchor)
        speed_ms = spot.speed(depth_m, anchor)
        met = [
            limit.criterion(depth_m, speed_ms)
            for limit in self.moving
            if limit.is_met(depth_m, speed_ms)
        ]
        furthest = max(met, key=lambda criterion: criterion.share or 0.0, default=None)
        return furthest.name if furthest else REACH


def _verdict(deciding: Iterable[Criterion], why_not_known: str) -> str:
    verdicts = {criterion.verdict for criterion in deciding}
    if "over" in verdicts:
        return "stop"
    if "at_limit" in verdicts:
        return "at_limit"
    return "not_known" if "not_known" in verdicts or why_not_known else "no_stop_found"


def _decider(deciding: Iterable[Criterion]) -> Criterion | None:
    """Return the deciding criterion with the largest value/limit; the first of equals."""
    known = [criterion for criterion in deciding if criterion.share is not None]
    return max(known, key=lambda criterion: criterion.share or 0.0, default=None)


def _reach(spot: Spot) -> Criterion:
    return Criterion(
        name=REACH,
        value=DEEPEST,
        limit=DEEPEST,
        unit="times the deepest sounding",
        decides=True,
        verdict="at_limit",
        source=COMMON_PRACTICE,
    )


def _worst_first(answer: Wading) -> tuple[int, float]:
    shares = [c.share for c in answer.criteria if c.decides and c.share is not None]
    return WORST_FIRST.index(answer.verdict), -max(shares, default=0.0)
