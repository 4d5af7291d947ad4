"""Fly boxes and starting rules for the tests of the set-up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import briefings
from briefings.setups.rig import RigAdvice, choose
from briefings.setups.rules import Rule, read_rules
from guiding.tackle.setup import Fly, Line, Material, TackleBox, Tip
from guiding.units import ips_to_cm_s
from tests.factories import make_conditions

RULES: tuple[Rule, ...] = read_rules(
    (Path(briefings.__path__[0]) / "setups" / "starting_rules.toml").read_text(encoding="utf-8")
)
# dressed lengths [mm] that the flies of this box have on each hook; an invented box
HOOKS = {4: 35, 6: 28, 8: 23, 10: 19, 12: 16, 14: 13, 16: 11}


def make_fly(**changes: Any) -> Fly:
    """Return a point fly."""
    fields: dict[str, Any] = {
        "pattern": "Plain Dark",
        "role": "point",
        "length_mm": 19,
        "hook_size": 10,
        "dressing": "medium",
        "colours": ("black",),
    }
    return Fly(**{**fields, **changes})


def sizes(pattern: str, role: str, colours: tuple[str, ...], hooks: dict[int, str]) -> list[Fly]:
    """Return one fly a hook size, each with its dressing."""
    return [
        make_fly(
            pattern=pattern,
            role=role,
            colours=colours,
            hook_size=hook,
            length_mm=HOOKS[hook],
            dressing=dressing,
        )
        for hook, dressing in hooks.items()
    ]


SMALL = {8: "medium", 10: "medium", 12: "sparse", 14: "sparse", 16: "sparse"}
LARGE = {4: "full", 6: "full", 8: "medium", 10: "medium", 12: "sparse"}


def tube(pattern: str, colours: tuple[str, ...], length_mm: int, weight_g: float) -> Fly:
    """Return a fully dressed tube."""
    return make_fly(
        pattern=pattern,
        colours=colours,
        length_mm=length_mm,
        weight_g=weight_g,
        hook_size=None,
        hook="treble",
        is_tube=True,
        dressing="full",
    )


FULL_BOX = TackleBox(
    flies=(
        *sizes("Black with a Yellow Wing", "point", ("black", "yellow"), SMALL | LARGE),
        *sizes("Red Shrimp Shape", "point", ("red", "orange"), LARGE),
        *sizes("Orange Hackle", "point", ("orange", "yellow"), LARGE),
        *sizes("Silver and Blue", "point", ("silver", "blue"), SMALL),
        tube("Black and Yellow Tube", ("black", "yellow"), 50, 4.0),
        tube("Black and Yellow Tube", ("black", "yellow"), 75, 7.0),
        tube("Red and Orange Tube", ("red", "orange"), 40, 2.5),
        make_fly(pattern="Cork Skater", length_mm=40, hook_size=6, is_surface_lure=True),
        *sizes("Little Black Hackle", "dropper", ("black",), SMALL),
        *sizes("Little Red Hackle", "dropper", ("red",), SMALL),
        *sizes("Little Silver", "dropper", ("silver",), SMALL),
    ),
    lines=(
        Line(name="Floating head 38 g", kind="floating"),
        Line(name="Slow intermediate head", kind="intermediate", sink_cm_s=ips_to_cm_s(1.25)),
        Line(name="Sinking head", kind="sinking", sink_cm_s=ips_to_cm_s(4), takes_tips=False),
    ),
    tips=(
        Tip(name="Sinking leader 10 ft", length_m=3.05, sink_cm_s=ips_to_cm_s(1.5),
            is_sinking_leader=True),
        Tip(name="Type 3 tip 10 ft", length_m=3.05, sink_cm_s=ips_to_cm_s(3)),
        Tip(name="Type 7 tip 10 ft", length_m=3.05, sink_cm_s=ips_to_cm_s(7)),
    ),
    materials=(
        *(Material(material="nylon", diameter_mm=d) for d in (0.22, 0.25, 0.28, 0.30, 0.34, 0.40)),
        *(Material(material="fluorocarbon", diameter_mm=d) for d in (0.18, 0.20, 0.25, 0.34)),
    ),
)  # fmt: skip


def advise(box: TackleBox = FULL_BOX, rules: tuple[Rule, ...] = RULES, **changes: Any) -> RigAdvice:
    """Choose for `make_conditions(**changes)`; fish, casting and rods may be among the changes."""
    asked = {key: changes.pop(key) for key in ("casting", "rods", "method") if key in changes}
    fish = changes.pop("fish", "salmon")
    return choose(make_conditions(**changes), box, rules, fish=fish, **asked)
