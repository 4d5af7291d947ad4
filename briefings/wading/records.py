"""What a judgement on wading is made from, and what it says. Impossible values are refused."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from guiding.sources import Source

CONFIDENCES = ("novice", "used", "strong")
REGIMES = ("natural", "regulated", "tidal")


def check_within(name: str, value: float, low: float, high: float, allowed: str) -> None:
    """Refuse a value outside [low, high]; NaN lies in no range.

    Raises
    ------
    ValueError
        With the value met and what is allowed.
    """
    if not low <= value <= high:
        raise ValueError(f"{name} is {value}; {allowed}.")


def check_depth(depth_m: float) -> None:
    """Refuse a depth that nobody can have measured at a wading line."""
    if not 0 < depth_m <= 10:
        raise ValueError(f"depth_m is {depth_m}; a depth is above 0 and at most 10 m.")


def check_speed(speed_ms: float) -> None:
    """Refuse a speed that no river runs at."""
    check_within("speed_ms", speed_ms, 0, 6, "a speed is 0 to 6 m/s")


def check_level(level_m: float) -> None:
    """Refuse a level that no gauge reads."""
    check_within("level_m", level_m, -1, 20, "a level is -1 to 20 m")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """A measured depth [m] and speed [m/s] at one spot with the gauge at `level_m`."""

    level_m: float
    depth_m: float
    speed_ms: float | None
    spot: str = ""
    measured_on: date | None = None

    def __post_init__(self) -> None:
        check_level(self.level_m)
        check_depth(self.depth_m)
        if self.speed_ms is not None:
            check_speed(self.speed_ms)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wader:
    """What decides for a person. None is not known, and is treated as the careful case."""

    height_m: float | None = None
    mass_kg: float | None = None
    age: int | None = None
    is_frail: bool = False
    is_nervous: bool = False
    confidence: str | None = None  # "novice", "used", "strong"

    def __post_init__(self) -> None:
        if self.height_m is not None:
            check_within("height_m", self.height_m, 0.5, 2.3, "a person's height is 0.5 to 2.3 m")
        if self.mass_kg is not None:
            check_within("mass_kg", self.mass_kg, 10, 250, "a person's mass is 10 to 250 kg")
        if self.age is not None:
            check_within("age", self.age, 0, 120, "an age is 0 to 120 years")
        if self.confidence is not None and self.confidence not in CONFIDENCES:
            raise ValueError(
                f"confidence is {self.confidence!r}; it is one of {', '.join(CONFIDENCES)}, "
                "or None where it is not known."
            )

    @property
    def height_mass(self) -> float | None:
        """Return height times mass [m kg], which AR&R sorts people by, or None."""
        if self.height_m is None or self.mass_kg is None:
            return None
        return self.height_m * self.mass_kg

    @property
    def may_not_wade(self) -> bool:
        """Say whether this person stays on the bank whatever the water does."""
        product = self.height_mass
        return self.is_frail or (product is not None and product <= 25)

    def is_adult(self, *, omitted_age_is_adult: bool) -> bool:
        """Say whether the adult columns apply: 16 or over, height times mass over 50, not frail."""
        product = self.height_mass
        if product is None or product <= 50 or self.is_frail:
            return False
        return omitted_age_is_adult if self.age is None else self.age >= 16

    def stays_at_the_knee(self, *, omitted_age_is_adult: bool) -> bool:
        """Say whether the knee is the most: novice, nervous, not known, or not an adult."""
        return (
            self.confidence in (None, "novice")
            or self.is_nervous
            or not self.is_adult(omitted_age_is_adult=omitted_age_is_adult)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What the water and the light do besides depth and speed. None: not known."""

    rise_cm_h: float | None = None
    rise_is_flagged: bool | None = None
    is_coloured: bool | None = None
    visibility_cm: float | None = None
    has_ice: bool | None = None
    is_night: bool | None = None
    was_walked_today: bool | None = None
    regime: str = "natural"
    # asked of regulated and tidal water alone: whether moved water may be there; True unless a
    # schedule or table of that day says otherwise, None where none is on file
    may_be_moved: bool | None = True
    why_moved: str = ""  # what is missing, in words

    def __post_init__(self) -> None:
        if self.rise_cm_h is not None:
            # 21 m is all that a gauge can move between its lowest and its highest reading
            check_within("rise_cm_h", self.rise_cm_h, -2100, 2100, "a rise is -2100 to 2100 cm/h")
        if self.visibility_cm is not None:
            check_within(
                "visibility_cm", self.visibility_cm, 0, 1000, "a visibility is 0 to 1000 cm"
            )
        if self.regime not in REGIMES:
            raise ValueError(f"regime is {self.regime!r}; it is one of {', '.join(REGIMES)}.")

    @property
    def is_rising_or_coloured(self) -> bool | None:
        """Say whether the river is rising or coloured; None where that cannot be told."""
        rising = None if self.rise_cm_h is None else self.rise_cm_h > 0
        signs = (rising, self.rise_is_flagged, self.is_coloured)
        if any(signs):
            return True
        return None if None in signs else False

    @property
    def is_moved(self) -> bool | None:
        """Say whether a dam's water or the tide may be there; natural water is never moved."""
        return False if self.regime == "natural" else self.may_be_moved

    @property
    def is_unwalked_night(self) -> bool | None:
        """Say whether it is night in a pool nobody walked that day; None: cannot be told."""
        if self.was_walked_today or self.is_night is False:
            return False
        return True if self.is_night and self.was_walked_today is False else None

    def not_known(self) -> tuple[str, ...]:
        """Return what nobody looked at, in words."""
        looked_at = {
            "rise": None if self.rise_is_flagged is None else self.rise_cm_h,
            "colour": self.is_coloured,
            "visibility": self.visibility_cm,
            "ice": self.has_ice,
            "light": self.is_unwalked_night,
        }
        return tuple(name for name, value in looked_at.items() if value is None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One criterion at one depth and speed. `verdict`: over, at_limit, under or not_known.

    A yes-or-no criterion (ice, night, ...) has the unit "yes or no": 1 is yes, 0 is no and the
    limit lies half way, so that one law, value over limit, holds for every criterion.
    """

    name: str
    value: float | None
    limit: float | None
    unit: str
    decides: bool
    verdict: str
    source: Source

    @property
    def share(self) -> float | None:
        """Return value/limit, the share of the limit that is used up; None where not known."""
        if self.value is None or self.limit is None:
            return None
        if self.limit <= 0:
            return float("inf") if self.value > self.limit else 1.0
        return self.value / self.limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Wading:
    """The answer. `verdict`: stop, at_limit, no_stop_found or not_known.

    `stop_level_m` is the lowest level at which wading stops, `stop_by` the criterion that stops it
    there and `stop_spot` the spot where it does. `spot` is the spot that the rest speaks of.
    """

    depth_m: float | None
    speed_ms: float | None
    criteria: tuple[Criterion, ...]
    decider: str | None
    verdict: str
    stop_level_m: float | None
    unchecked: tuple[str, ...]
    text: str
    client_text: str
    spot: str = ""
    stop_by: str | None = None
    stop_spot: str = ""
