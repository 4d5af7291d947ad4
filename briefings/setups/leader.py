"""The leader as ordered sections from owned spools, and its knots by name.

Lengths are worked out in whole millimetres, so that they add up exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

from briefings.setups.boxchoice import nearest_spool
from guiding.tackle.setup import LeaderSection, Material, Tip

# all common practice, no source
TAG_MM = 150
SHORTEST_TIPPET_MM = 900  # behind a sinking leader
ONE_PIECE_UP_TO_MM = 1600
BUTT_THICKER_MM, MIDDLE_THICKER_MM = 0.15, 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaderWanted:
    """What the leader is asked to be."""

    leader_m: float
    tippet_mm: float
    material: str
    dropper_from_line_m: float | None  # None: no dropper


@dataclass(frozen=True, slots=True, kw_only=True)
class Leader:
    """The leader as made up; the dropper's place is None where there is none."""

    sections: tuple[LeaderSection, ...]
    dropper_from_line_m: float | None
    tippet: Material | None


def make_up(want: LeaderWanted, tip: Tip | None, materials: tuple[Material, ...]) -> Leader:
    """Make up the leader: sinking leader or butt, tippet, dropper tag, tippet to the point."""
    tippet = nearest_spool(materials, want.tippet_mm, material=want.material)
    total = round(want.leader_m * 1000)
    sinking = round(tip.length_m * 1000) if tip is not None and tip.is_sinking_leader else 0
    if sinking:
        total = max(total, sinking + SHORTEST_TIPPET_MM)
    dropper = None
    if want.dropper_from_line_m is not None:
        dropper = _dropper_place(round(want.dropper_from_line_m * 1000), total, sinking)
    plan: list[tuple[str, int, float]] = [("sinking leader", sinking, 0.0)] if sinking else []
    if dropper is not None:
        plan += _above_the_dropper(dropper - sinking, has_sinking=bool(sinking))
        plan += [("dropper tag", TAG_MM, MIDDLE_THICKER_MM), ("tippet", total - dropper, 0.0)]
    else:
        plan += _plain(total - sinking, has_sinking=bool(sinking))
    return Leader(
        sections=tuple(_section(part, mm, more, tippet, materials) for part, mm, more in plan),
        dropper_from_line_m=None if dropper is None else dropper / 1000,
        tippet=tippet,
    )


def _dropper_place(asked: int, total: int, sinking: int) -> int:
    """Return the dropper's place: as asked, or two thirds of the way where that does not fit."""
    first, last = sinking + TAG_MM, total - TAG_MM
    place = asked if first <= asked <= last else sinking + round((total - sinking) * 2 / 3)
    return min(max(place, sinking + 1), total - 1)


def _above_the_dropper(length: int, *, has_sinking: bool) -> list[tuple[str, int, float]]:
    if has_sinking or length < 2 * TAG_MM:
        return [("tippet", length, MIDDLE_THICKER_MM)]
    butt = length // 2
    return [("butt", butt, BUTT_THICKER_MM), ("tippet", length - butt, MIDDLE_THICKER_MM)]


def _plain(length: int, *, has_sinking: bool) -> list[tuple[str, int, float]]:
    if has_sinking or length <= ONE_PIECE_UP_TO_MM:
        return [("tippet", length, 0.0)]
    butt = round(length * 0.45)
    return [("butt", butt, BUTT_THICKER_MM), ("tippet", length - butt, 0.0)]


def _section(
    part: str,
    millimetres: int,
    thicker_mm: float,
    tippet: Material | None,
    spools: tuple[Material, ...],
) -> LeaderSection:
    length_m = millimetres / 1000
    if part == "sinking leader" or tippet is None:
        return LeaderSection(part=part, length_m=length_m)
    spool = tippet
    if thicker_mm:
        aim = tippet.diameter_mm + thicker_mm
        spool = (
            nearest_spool(spools, aim, material=tippet.material, not_under_mm=tippet.diameter_mm)
            or tippet
        )
    return LeaderSection(
        part=part,
        length_m=length_m,
        diameter_mm=spool.diameter_mm,
        material=spool.material,
    )


def knots_for(leader: Leader, point_knot: str) -> tuple[str, ...]:
    """Return the knots from the line to the point fly, by name."""
    parts = [section.part for section in leader.sections]
    knots = ["loop to loop, line to leader"]
    if "sinking leader" in parts:
        knots.append("loop to loop, sinking leader to tippet")
    if "butt" in parts:
        knots.append("double blood knot, butt to tippet")
    if "dropper tag" in parts:
        knots.append("four-turn water knot, its tag left long for the dropper")
        knots.append("tucked half blood knot for the dropper")
    knots.append(f"{point_knot} for the point fly")
    return tuple(knots)
