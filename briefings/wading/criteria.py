"""Every criterion for wading: its measure, its limit, for whom it decides, and who says so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from briefings.wading.hazard import TOLERANCE, hazard_rating
from briefings.wading.records import Circumstances, Criterion, Wader
from guiding.sources import COMMON_PRACTICE, Label, Source
from guiding.units import FOOT_M

RULE_OF_TEN_M2S = 10 * FOOT_M**2  # 10 ft2/s = 0.9290304 m2/s
SHARES_OF_HEIGHT = {"novice": 0.27, "used": 0.42, "strong": 0.50}  # knee, mid-thigh, hip
FASTEST_RISE_CM_H = 5.0
YES_OR_NO = "yes or no"

AIDR = Source(
    label=Label.PUBLISHED,
    title="NSW flood risk management guideline FB03 (2023), Figure 1, flood hazard classes H1 to H6"
    " (seen second-hand)",
)
RULE_OF_TEN = Source(
    label=Label.PUBLISHED,
    title="Rule of ten, depth in feet times speed in feet a second, published as a rule of thumb",
)
ARR = Source(
    label=Label.MEMORY,
    title="Cox, Shand & Blacka 2010, Australian Rainfall and Runoff, Revision Project 10,"
    " report P10/S1/006, table for people",
)
HAZARD_RATING = Source(
    label=Label.PUBLISHED,
    title="Environment Agency and HR Wallingford, Supplementary Note on Flood Hazard Ratings,"
    " May 2008, debris factors of FD2321 for pasture (seen second-hand)",
)
OLDER_FIGURES = Source(
    label=Label.PUBLISHED,
    title="Older AR&R and EMA planning figures as quoted by R. Cox 2011 (seen second-hand)",
)

Measure = Callable[[float, float], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A criterion before it meets the water. `measure` takes depth [m] and speed [m/s].

    `measure` None: the value is `fact`, whatever the depth and speed. `needs_speed` False: the
    depth alone is enough. `limit` or `fact` None: not known.
    """

    name: str
    limit: float | None
    unit: str
    source: Source
    measure: Measure | None = None
    needs_speed: bool = True
    fact: float | None = None
    decides: bool = True

    def value(self, depth_m: float | None, speed_ms: float | None) -> float | None:
        """Return what is held against the limit, or None where it is not known."""
        if self.measure is None:
            return self.fact
        if depth_m is None or (self.needs_speed and speed_ms is None):
            return None
        return self.measure(depth_m, 0.0 if speed_ms is None else speed_ms)

    def is_met(self, depth_m: float | None, speed_ms: float | None) -> bool:
        """Say whether the value is known to be at or over the limit."""
        value = self.value(depth_m, speed_ms)
        return value is not None and self.limit is not None and value >= self.limit - TOLERANCE

    def criterion(self, depth_m: float | None, speed_ms: float | None) -> Criterion:
        """Return the criterion at one depth and speed."""
        value = self.value(depth_m, speed_ms) if self.limit is not None else None
        return Criterion(
            name=self.name,
            value=value,
            limit=self.limit,
            unit=self.unit,
            decides=self.decides,
            verdict=verdict_of(value, self.limit),
            source=self.source,
        )


def verdict_of(value: float | None, limit: float | None) -> str:
    """Return over, at_limit (within 1e-9), under or not_known."""
    if value is None or limit is None:
        return "not_known"
    if abs(value - limit) <= TOLERANCE:
        return "at_limit"
    return "over" if value > limit else "under"


def limits_for(
    wader: Wader, circumstances: Circumstances, *, omitted_is_absent: bool
) -> tuple[Limit, ...]:
    """Return every criterion for a person in these circumstances, in the order they are shown.

    `omitted_is_absent`: an age that was not given is an adult's, and what was not said of the
    water and the light does not decide. Otherwise what is not known stays not known and decides.
    """
    adult = wader.is_adult(omitted_age_is_adult=omitted_is_absent)
    knee = wader.stays_at_the_knee(omitted_age_is_adult=omitted_is_absent)
    return (
        *_everybody(),
        _share_of_height(wader, knee=knee),
        *_arr(wader, adult=adult),
        _rating(circumstances, adult=adult, omitted_is_absent=omitted_is_absent),
        *_circumstances(circumstances, knee=knee, omitted_is_absent=omitted_is_absent),
        *_three("older planning figure", 0.4, 1.2, 0.8, OLDER_FIGURES, decides=False),
    )


def _product(depth_m: float, speed_ms: float) -> float:
    return depth_m * speed_ms


def _depth(depth_m: float, speed_ms: float) -> float:
    return depth_m


def _speed(depth_m: float, speed_ms: float) -> float:
    return speed_ms


def _three(
    name: str, product: float, depth: float, speed: float, source: Source, *, decides: bool = True
) -> tuple[Limit, ...]:
    """Return the limits on depth times speed, on depth and on speed that one table sets."""
    return (
        Limit(
            name=f"{name}, depth x speed",
            limit=product,
            unit="m2/s",
            measure=_product,
            decides=decides,
            source=source,
        ),
        Limit(
            name=f"{name}, depth",
            limit=depth,
            unit="m",
            measure=_depth,
            needs_speed=False,
            decides=decides,
            source=source,
        ),
        Limit(
            name=f"{name}, speed",
            limit=speed,
            unit="m/s",
            measure=_speed,
            decides=decides,
            source=source,
        ),
    )


def _everybody() -> tuple[Limit, ...]:
    return (
        *_three("AIDR class H4 or above", 0.6, 1.2, 2.0, AIDR),
        Limit(
            name="rule of ten",
            limit=RULE_OF_TEN_M2S,
            unit="m2/s",
            measure=_product,
            source=RULE_OF_TEN,
        ),
    )


def _share_of_height(wader: Wader, *, knee: bool) -> Limit:
    height_m = wader.height_m
    share = SHARES_OF_HEIGHT["novice" if knee or wader.confidence is None else wader.confidence]
    return Limit(
        name="depth as a share of body height",
        limit=share,
        unit="of body height",
        measure=None if height_m is None else lambda depth_m, _: depth_m / height_m,
        needs_speed=False,
        source=COMMON_PRACTICE,
    )


def _arr(wader: Wader, *, adult: bool) -> tuple[Limit, ...]:
    if adult:
        return _three("AR&R adult", 0.6, 1.2, 3.0, ARR)
    return (
        *_three("AR&R light or young (height x mass 25 to 50)", 0.4, 0.5, 3.0, ARR),
        _yes_or_no("AR&R frail, or height x mass 25 or under", wader.may_not_wade, ARR),
    )


def _rating(circumstances: Circumstances, *, adult: bool, omitted_is_absent: bool) -> Limit:
    holds = circumstances.is_rising_or_coloured
    return Limit(
        name="flood hazard rating",
        limit=1.25 if adult else 0.75,
        unit="",
        measure=hazard_rating,
        decides=not omitted_is_absent if holds is None else holds,
        source=HAZARD_RATING,
    )


def _circumstances(
    circumstances: Circumstances, *, knee: bool, omitted_is_absent: bool
) -> tuple[Limit, ...]:
    def counts(value: object) -> bool:
        return value is not None or not omitted_is_absent

    rise_cm_h, seen_cm = circumstances.rise_cm_h, circumstances.visibility_cm
    flagged, ice = circumstances.rise_is_flagged, circumstances.has_ice
    night = circumstances.is_unwalked_night
    return (
        Limit(
            name="rise",
            limit=FASTEST_RISE_CM_H,
            unit="cm/h",
            fact=rise_cm_h,
            decides=counts(rise_cm_h),
            source=COMMON_PRACTICE,
        ),
        _yes_or_no("flagged rise", flagged, decides=counts(flagged)),
        Limit(
            name="depth against visibility",
            limit=None if seen_cm is None else seen_cm / 100,
            unit="m",
            measure=_depth,
            needs_speed=False,
            decides=knee and counts(seen_cm),
            source=COMMON_PRACTICE,
        ),
        _yes_or_no("ice", ice, decides=counts(ice)),
        _yes_or_no("night in a pool not walked that day", night, decides=counts(night)),
        _yes_or_no("regulated or tidal water", circumstances.is_moved),
    )


def _yes_or_no(
    name: str, is_so: bool | None, source: Source = COMMON_PRACTICE, *, decides: bool = True
) -> Limit:
    return Limit(
        name=name,
        limit=0.5,
        unit=YES_OR_NO,
        fact=None if is_so is None else float(is_so),
        decides=decides,
        source=source,
    )
