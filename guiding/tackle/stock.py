"""Rows of the box -> the plain TackleBox that the advice chooses from."""

from __future__ import annotations

from guiding.tackle import models
from guiding.tackle.setup import Fly, Line, Material, TackleBox, Tip
from guiding.units import ips_to_cm_s


def tackle_box() -> TackleBox:
    """Return everything of which the guide owns at least one."""
    return TackleBox(
        flies=tuple(map(_fly, models.Fly.objects.filter(count__gt=0).select_related("pattern"))),
        lines=tuple(map(_line, models.Line.objects.filter(count__gt=0))),
        tips=tuple(map(_tip, models.Tip.objects.filter(count__gt=0))),
        materials=tuple(map(_material, models.LeaderMaterial.objects.all())),
    )


def _fly(row: models.Fly) -> Fly:
    return Fly(
        pattern=row.pattern.name,
        role=row.pattern.role,
        length_mm=row.length_mm,
        hook_size=row.hook_size,
        hook=row.hook,
        is_tube=row.is_tube,
        weight_g=row.weight_g,
        dressing=row.dressing,
        colours=tuple(row.pattern.colours),
        looks_like=row.pattern.looks_like,
        is_surface_lure=row.pattern.is_surface_lure,
        count=row.count,
    )


def _line(row: models.Line) -> Line:
    return Line(
        name=row.name,
        kind=row.kind,
        sink_cm_s=None if row.sink_ips is None else ips_to_cm_s(row.sink_ips),
        takes_tips=row.takes_tips,
    )


def _tip(row: models.Tip) -> Tip:
    return Tip(
        name=row.name,
        length_m=row.length_m,
        sink_cm_s=ips_to_cm_s(row.sink_ips),
        is_sinking_leader=row.is_sinking_leader,
    )


def _material(row: models.LeaderMaterial) -> Material:
    return Material(material=row.material, diameter_mm=row.diameter_mm, strength_kg=row.strength_kg)
