"""How deep and how fast one spot runs at another gauge level, from what was measured there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import log

from briefings.wading.records import Sounding, check_within

SHALLOWEST, DEEPEST = 0.5, 1.6  # times the measured depths: no estimate outside
LEAST_EXPONENT = 2 / 3  # Manning's equation for a wide channel
GREATEST_EXPONENT = 1.2
LEVELS_APART_M = 0.2  # two soundings closer than this say too little about the exponent
SEASONS = 2  # years after which a sounding is old
ROUNDING_M = 9  # decimals to which two distances in level count as a tie


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """The soundings of one spot that still hold. `is_old`: none of them is of these two seasons."""

    name: str
    soundings: tuple[Sounding, ...]
    ratio: float
    exponent: float
    is_old: bool

    @property
    def shallowest_m(self) -> float:
        """Return the least depth that may be estimated [m]."""
        return SHALLOWEST * min(s.depth_m for s in self.soundings)

    @property
    def deepest_m(self) -> float:
        """Return the greatest depth that may be estimated [m]; reaching it is a stop."""
        return DEEPEST * max(s.depth_m for s in self.soundings)

    def anchor(self, level_m: float) -> Sounding:
        """Return the sounding nearest in level, the lower on a tie.

        Of several at one level the newest speaks, and of one day's the deepest and fastest.
        """
        return min(
            self.soundings,
            key=lambda s: (
                round(abs(s.level_m - level_m), ROUNDING_M),
                s.level_m,
                -(s.measured_on or date.min).toordinal(),
                -s.depth_m,
                -(s.speed_ms or 0.0),
            ),
        )

    def depth(self, level_m: float, anchor: Sounding) -> float:
        """Return the depth [m]: measured + ratio x change of level. May be negative."""
        return anchor.depth_m + self.ratio * (level_m - anchor.level_m)

    def level(self, depth_m: float, anchor: Sounding) -> float:
        """Return the level [m] at which the depth is this: the inverse of `depth`."""
        return anchor.level_m + (depth_m - anchor.depth_m) / self.ratio

    def speed(self, depth_m: float, anchor: Sounding) -> float | None:
        """Return the speed [m/s]: measured x (depth ratio)^m. None where none was measured."""
        if anchor.speed_ms is None:
            return None
        return float(anchor.speed_ms * (depth_m / anchor.depth_m) ** self.exponent)

    def stretches(self) -> tuple[tuple[float, float, Sounding], ...]:
        """Return (from level, to level, anchor) in ascending order, one a sounding that speaks.

        Depth and speed never fall with the level inside a stretch. Between two they may jump,
        where the soundings do not agree with each other.
        """
        levels = sorted({s.level_m for s in self.soundings})
        anchors = [self.anchor(level) for level in levels]
        middles = [(low + high) / 2 for low, high in pairwise(levels)]
        lowest = self.level(self.shallowest_m, anchors[0])
        highest = self.level(self.deepest_m, anchors[-1])
        ends = pairwise([lowest, *middles, highest])
        return tuple((low, high, anchor) for (low, high), anchor in zip(ends, anchors, strict=True))


def spots_of(
    soundings: Iterable[Sounding],
    *,
    ratio: float,
    over_bank_since: date | None,
    today: date,
    undated_is_old: bool,
) -> tuple[tuple[Spot, ...], tuple[str, ...]]:
    """Sort a pool's soundings by spot.

    A sounding is void from the day of the last level over the bank on, and where that day is
    known but not the sounding's. It is old after two seasons, which is two years to the day; an
    old one is left out where the spot has a newer one, else it is used but marks the spot as old.
    `undated_is_old` says what one without a day is.

    Returns
    -------
    tuple
        The spots that hold, and the names of those whose soundings are all void.
    """
    check_within("ratio", ratio, 0.1, 5, "a pool moves 0.1 to 5 times the gauge")
    by_spot: dict[str, list[Sounding]] = {}
    void = set()
    for sounding in soundings:
        if _is_void(sounding, over_bank_since):
            void.add(sounding.spot)
        else:
            by_spot.setdefault(sounding.spot, []).append(sounding)
    spots = []
    for name, holding in sorted(by_spot.items()):
        fresh = [s for s in holding if not _is_old(s, today, undated_is_old)]
        used = tuple(fresh or holding)
        spots.append(
            Spot(
                name=name,
                soundings=used,
                ratio=ratio,
                exponent=speed_exponent(used),
                is_old=not fresh,
            )
        )
    return tuple(spots), tuple(sorted(void - by_spot.keys()))


def speed_exponent(soundings: Iterable[Sounding]) -> float:
    """Return m in speed ~ depth^m at one spot.

    Parameters
    ----------
    soundings : iterable of Sounding
        All that hold at one spot. Those without a speed, or with none at all, are left out.

    Returns
    -------
    float
        1 until two levels at least 0.2 m apart were measured, then the slope of the least-squares
        line through (ln depth, ln speed), kept within [2/3, 1.2]. 1 too where all depths are equal.

    Notes
    -----
    Through two soundings the line is exact: m = ln(v2/v1) / ln(d2/d1). 2/3 is Manning's equation
    for a wide channel at one slope and roughness; 1.2 is a bound of ours against a wild fit.
    """
    moving = [s for s in soundings if s.speed_ms]
    if len(moving) < 2:
        return 1.0
    levels = [s.level_m for s in moving]
    if max(levels) - min(levels) < LEVELS_APART_M - 10**-ROUNDING_M:
        return 1.0
    xs = [log(s.depth_m) for s in moving]
    ys = [log(s.speed_ms or 1.0) for s in moving]
    mean_x, mean_y = sum(xs) / len(xs), sum(ys) / len(ys)
    spread = sum((x - mean_x) ** 2 for x in xs)
    if spread == 0:
        return 1.0
    slope = sum((x - mean_x) * (y - mean_y) for x, y in zip(xs, ys, strict=True)) / spread
    return min(max(slope, LEAST_EXPONENT), GREATEST_EXPONENT)


def _is_void(sounding: Sounding, over_bank_since: date | None) -> bool:
    if over_bank_since is None:
        return False
    return sounding.measured_on is None or sounding.measured_on <= over_bank_since


def _is_old(sounding: Sounding, today: date, undated_is_old: bool) -> bool:
    measured = sounding.measured_on
    if measured is None:
        return undated_is_old
    return (today.year - SEASONS, today.month, today.day) > (
        measured.year,
        measured.month,
        measured.day,
    )
