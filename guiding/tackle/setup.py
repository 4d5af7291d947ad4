"""The set-up: line, tip, leader, flies and how they are fished, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

CM_PER_INCH = 2.54  # exact, by definition of the inch


@dataclass(frozen=True, slots=True, kw_only=True)
class Fly:
    """One fly of the box. `length_mm` is the dressed length; hook sizes follow no standard."""

    pattern: str
    role: str  # "point" or "dropper"
    length_mm: int
    hook_size: int | None = None
    hook: str = "double"
    is_tube: bool = False
    weight_g: float | None = None
    dressing: str = "medium"  # "full", "medium" or "sparse"
    colours: tuple[str, ...] = ()
    looks_like: str = ""
    is_surface_lure: bool = False
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line of the box; `kind` is floating, intermediate or sinking."""

    name: str
    kind: str
    sink_cm_s: float | None = None
    takes_tips: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Tip:
    """A sinking tip, or a sinking leader, looped to the line."""

    name: str
    length_m: float
    sink_cm_s: float
    is_sinking_leader: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A spool of leader material."""

    material: str  # "nylon" or "fluorocarbon"
    diameter_mm: float
    strength_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaderSection:
    """One piece of the leader, in order from the line tip; the dropper tag hangs to the side."""

    part: str  # "sinking leader", "butt", "tippet" or "dropper tag"
    length_m: float
    diameter_mm: float | None = None
    material: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TackleBox:
    """What the guide owns."""

    flies: tuple[Fly, ...] = ()
    lines: tuple[Line, ...] = ()
    tips: tuple[Tip, ...] = ()
    materials: tuple[Material, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """Line, tip, leader, point fly, dropper and how it is fished."""

    line: Line
    tip: Tip | None
    leader: tuple[LeaderSection, ...]
    point: Fly
    dropper: Fly | None
    dropper_from_line_m: float | None
    hold_s: float | None
    how: str
    knots: tuple[str, ...]

    @property
    def leader_m(self) -> float:
        """Return the length from the line's (or the tip's) end to the point fly, without tags."""
        return sum(s.length_m for s in self.leader if s.part != "dropper tag")

    @property
    def tippet_mm(self) -> float | None:
        """Return the diameter of the piece the point fly is tied to."""
        tippets = [s.diameter_mm for s in self.leader if s.part == "tippet"]
        return tippets[-1] if tippets else None


def fly_as_json(fly: Fly) -> dict[str, Any]:
    """Return a fly with the keys that commands and stored packs carry."""
    return {
        "pattern": fly.pattern,
        "length_mm": fly.length_mm,
        "hook_size": fly.hook_size,
        "tube": fly.is_tube,
        "weight_g": fly.weight_g,
        "dressing": fly.dressing,
        "colours": list(fly.colours),
    }


def setup_as_json(setup: SetUp) -> dict[str, Any]:
    """Return a set-up with the keys that commands and stored packs carry; lengths to 1 mm."""
    line, tip = setup.line, setup.tip
    said = line.name.lower()
    dropper_m = setup.dropper_from_line_m
    return {
        # a line's own name need not say what it does
        "line": line.name if line.kind in said else f"{line.name} ({line.kind})",
        "tip": None if tip is None else tip.name,
        "tip_sink_cm_s": None if tip is None else round(tip.sink_cm_s, 2),
        "leader": [
            {
                "part": section.part,
                "length_m": round(section.length_m, 3),
                "diameter_mm": section.diameter_mm,
            }
            for section in setup.leader
        ],
        "leader_m": round(setup.leader_m, 3),
        "tippet_mm": setup.tippet_mm,
        "point": fly_as_json(setup.point),
        "dropper": None if setup.dropper is None else fly_as_json(setup.dropper),
        "dropper_from_line_m": None if dropper_m is None else round(dropper_m, 3),
        "hold_s": setup.hold_s,
        "how": setup.how,
        "knots": list(setup.knots),
    }
