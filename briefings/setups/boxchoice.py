"""The nearest the box holds to what is wanted: a fly, a line with its tip, a spool.

Sizes are compared in steps: one step is one size of hook (10 to 8), or about a fifth in dressed
length. Hook sizes follow no standard, so the dressed length stands in where a fly has no number.
All weights here are common practice, no source: size first, then any colour
asked for, then dressing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefings.setups.precedence import Wanted
from guiding.tackle.setup import Fly, Line, Material, TackleBox, Tip
from guiding.units import INCH_CM

STEP_RATIO = 1.2  # dressed length from one hook size to the next; common practice, no source
SIZE_TEN_MM = 19.0  # dressed length usual on a size 10; common practice, no source
DRESSINGS = ("sparse", "medium", "full")
KINDS = ("floating", "intermediate", "sinking")
TIPS = ("none", "slow", "medium", "fast")
# inches a second at which a tip counts as medium and as fast; common practice, no source
MEDIUM_FROM_IPS, FAST_FROM_IPS = 2.5, 5.0
OTHER_MM = 0.03  # how much nearer the other material must be; common practice, no source
TIP_IPS = {"sinking leader": 2.0, "slow": 1.5, "medium": 3.5, "fast": 6.5}


@dataclass(frozen=True, slots=True, kw_only=True)
class FlyWanted:
    """What a fly is asked to be; `low` and `high` in steps from a size 10, smaller is lower."""

    low: float
    high: float
    by_hook: bool
    is_tube: bool | None
    is_heavy: bool
    is_surface_lure: bool
    dressing: str | None
    colours: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthWanted:
    """Kinds of line in the order they are liked, and the tip: see TIPS, or a sinking leader."""

    kinds: tuple[str, ...]
    tip: str


def steps_of_length(length_mm: float) -> float:
    """Return how many steps a dressed length [mm] is above that of a size 10."""
    return math.log(length_mm / SIZE_TEN_MM) / math.log(STEP_RATIO)


def steps_of_hook(hook_size: float) -> float:
    """Return how many steps a hook size is above a size 10; sizes go by twos."""
    return (10 - hook_size) / 2


def length_of_steps(steps: float) -> float:
    """Return the dressed length [mm] that stands for a number of steps above a size 10."""
    return float(SIZE_TEN_MM * STEP_RATIO**steps)


def fly_wanted(wanted: Wanted) -> FlyWanted:
    """Return what the rules ask of the point fly, steps and cap counted in."""
    asks = wanted.asks
    hooks: Mapping[str, Any] | None = asks.get("hook_sizes")
    lengths: Mapping[str, Any] | None = asks.get("length_mm")
    if lengths is not None:
        low, high = steps_of_length(lengths["from"]), steps_of_length(lengths["to"])
    elif hooks is not None:
        low, high = steps_of_hook(hooks["to"]), steps_of_hook(hooks["from"])
    else:
        low, high = steps_of_length(5), steps_of_length(150)
    low, high = low + wanted.steps, high + wanted.steps
    if wanted.not_over_mm is not None:
        high = min(high, steps_of_length(wanted.not_over_mm))
        # a cap leaves a size to choose within, and not one length alone
        low = min(low, high - 1)
    return FlyWanted(
        low=low,
        high=high,
        by_hook=lengths is None,
        is_tube=asks.get("tube"),
        is_heavy=bool(asks.get("heavy")),
        is_surface_lure=bool(asks.get("surface_lure")),
        dressing=asks.get("dressing"),
        colours=tuple(asks.get("colours", ())),
    )


def depth_wanted(wanted: Wanted) -> DepthWanted:
    """Return what the rules ask of line and tip, `deeper` counted in."""
    kinds = tuple(wanted.asks.get("line", KINDS))
    tip = wanted.asks.get("tip", "none")
    if wanted.deeper:
        place = TIPS.index("slow" if tip == "sinking leader" else tip)
        tip = TIPS[min(place + wanted.deeper, len(TIPS) - 1)]
    return DepthWanted(kinds=kinds, tip=tip)


# --- flies ----------------------------------------------------------------------------------------


def size_of(fly: Fly, want: FlyWanted) -> float:
    """Return a fly's size in steps: by its hook where hooks were asked for and it has a number."""
    if want.by_hook and fly.hook_size is not None and not fly.is_tube:
        return steps_of_hook(fly.hook_size)
    return steps_of_length(fly.length_mm)


def size_gap(fly: Fly, want: FlyWanted) -> float:
    """Return how many steps a fly lies outside the size wanted: above 0 too large, below too small.

    Half a step either way is within the size: dressed lengths vary by as much.
    """
    size = size_of(fly, want)
    if size > want.high + 0.5:
        return size - want.high
    return size - want.low if size < want.low - 0.5 else 0.0


def colour_gap(fly: Fly, want: FlyWanted) -> float:
    """Return 0 for the colour liked best, up to 1 for the last, 2.5 for none of them."""
    shown = [colour.lower() for colour in fly.colours]
    for place, choice in enumerate(want.colours):
        if all(any(part in colour for colour in shown) for part in choice.split(" and ")):
            return place / len(want.colours)
    return 2.5 if want.colours else 0.0


def dressing_gap(fly: Fly, want: FlyWanted) -> int:
    """Return how many grades the dressing is off."""
    if want.dressing is None or fly.dressing not in DRESSINGS:
        return 0
    return abs(DRESSINGS.index(fly.dressing) - DRESSINGS.index(want.dressing))


def flies_by_fit(flies: tuple[Fly, ...], want: FlyWanted) -> tuple[Fly, ...]:
    """Return the flies, the nearest to what is wanted first; ties keep one fixed order."""
    return tuple(sorted(flies, key=lambda fly: (_misfit(fly, want), _identity(fly))))


def _misfit(fly: Fly, want: FlyWanted) -> float:
    aim = {"sparse": want.low, "full": want.high}.get(
        want.dressing or "", (want.low + want.high) / 2
    )
    spread = max(want.high - want.low, 1.0)
    misfit = 3.0 * abs(size_gap(fly, want)) + colour_gap(fly, want)
    misfit += 1.0 * dressing_gap(fly, want)
    misfit += 0.3 * min(abs(size_of(fly, want) - aim) / spread, 1.0)
    if want.is_tube is not None and fly.is_tube is not want.is_tube:
        misfit += 2.0
    if fly.is_surface_lure is not want.is_surface_lure:
        misfit += 20.0
    if want.is_heavy:
        misfit -= 0.2 * min(fly.weight_g or 0.0, 5.0)
    return round(misfit, 6)


def _identity(fly: Fly) -> tuple[Any, ...]:
    return (fly.pattern, fly.length_mm, fly.is_tube, fly.dressing, fly.weight_g or 0.0)


# --- line and tip ---------------------------------------------------------------------------------


def tip_class(tip: Tip) -> str:
    """Return slow, medium or fast from the sink rate."""
    ips = tip.sink_cm_s / INCH_CM
    if ips >= FAST_FROM_IPS:
        return "fast"
    return "medium" if ips >= MEDIUM_FROM_IPS else "slow"


def line_and_tip(box: TackleBox, want: DepthWanted) -> tuple[Line, Tip | None] | None:
    """Return the nearest line with its tip, or None where no line is owned."""
    pairs: list[tuple[Line, Tip | None]] = [(line, None) for line in box.lines]
    pairs += [(line, tip) for line in box.lines if line.takes_tips for tip in box.tips]
    return min(pairs, key=lambda pair: _depth_misfit(pair[0], pair[1], want), default=None)


def depth_fits(line: Line, tip: Tip | None, want: DepthWanted) -> bool:
    """Return whether line and tip are what was asked for, or as good: a sinking line for a tip."""
    if line.kind not in want.kinds:
        return False
    if want.tip == "none" or tip is None:
        return (want.tip == "none" and tip is None) or _stands_for_a_tip(line, want)
    if want.tip == "sinking leader":
        return tip.is_sinking_leader
    return tip_class(tip) == want.tip


def _stands_for_a_tip(line: Line, want: DepthWanted) -> bool:
    """An intermediate line for a sinking leader or a medium tip, a sinking one for a fast tip."""
    stands_for = {"intermediate": ("sinking leader", "slow", "medium"), "sinking": ("fast",)}
    return want.tip in stands_for.get(line.kind, ())


def _depth_misfit(line: Line, tip: Tip | None, want: DepthWanted) -> tuple[float, str, str]:
    if line.kind in want.kinds:
        misfit = 0.4 * want.kinds.index(line.kind)
    else:
        misfit = 4.0 + min(abs(KINDS.index(line.kind) - KINDS.index(k)) for k in want.kinds)
    if want.tip == "none":
        misfit += 0.0 if tip is None else 6.0
    elif tip is None:
        misfit += 1.0 if _stands_for_a_tip(line, want) else 5.0
    else:
        misfit += abs(tip.sink_cm_s / INCH_CM - TIP_IPS[want.tip]) / 3
        misfit += 0.0 if depth_fits(line, tip, want) else 1.5
        if tip.is_sinking_leader is not (want.tip == "sinking leader"):
            misfit += 0.5
    return (misfit, line.name, "" if tip is None else tip.name)


# --- spools ---------------------------------------------------------------------------------------


def nearest_spool(
    materials: tuple[Material, ...],
    diameter_mm: float,
    *,
    material: str = "nylon",
    not_under_mm: float = 0.0,
) -> Material | None:
    """Return the spool nearest in diameter, the other material only where it is clearly nearer."""
    thick_enough = tuple(m for m in materials if m.diameter_mm >= not_under_mm)
    return min(
        thick_enough,
        key=lambda m: (
            round(abs(m.diameter_mm - diameter_mm) + OTHER_MM * (m.material != material), 6),
            m.material,
            m.diameter_mm,
        ),
        default=None,
    )
