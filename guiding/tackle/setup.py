"""The set-up: line, tip, leader, flies and how they are fished, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

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
