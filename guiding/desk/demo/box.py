"""The demo's tackle: five point flies, three droppers, and what they are fished with.

Flies are named by what they look like. Hook sizes follow no standard, so each carries its dressed
length, invented like the rest.
"""

from __future__ import annotations

from guiding.tackle.models import (
    Fly,
    FlyPattern,
    LeaderMaterial,
    Line,
    LoanItem,
    Rod,
    Tip,
)

# name, role, colours, what it looks like, whether it is skated
PATTERNS = (
    ("Red over orange", "point", ("red", "orange"), "a red wing over an orange body", False),
    ("Black with orange tail", "point", ("black", "orange"), "black, a short orange tail", False),
    ("Black and yellow", "point", ("black", "yellow"), "black wing, yellow underneath", False),
    ("Silver and grey", "point", ("silver", "grey"), "a silver body, thin grey wing", False),
    ("Dark skater", "point", ("black", "brown"), "clipped deer hair, blunt head", True),
    ("Orange tuft", "dropper", ("orange", "red"), "a tuft of orange on a bare hook", False),
    ("Small black hackle", "dropper", ("black",), "black body, a turn of black hackle", False),
    ("Silver rib", "dropper", ("silver", "black"), "black, ribbed with silver", False),
)

# pattern, length in mm, hook size, hook, weight in g, dressing, count
HOOKED = (
    ("Red over orange", 32, 6, "double", 0.9, "full", 3),
    ("Red over orange", 25, 8, "double", None, "medium", 4),
    ("Red over orange", 19, 10, "double", None, "sparse", 4),
    ("Red over orange", 15, 12, "double", None, "sparse", 4),
    ("Black with orange tail", 32, 6, "double", 0.9, "full", 3),
    ("Black with orange tail", 25, 8, "double", None, "medium", 5),
    ("Black with orange tail", 19, 10, "double", None, "medium", 5),
    ("Black with orange tail", 15, 12, "treble", None, "sparse", 5),
    ("Black with orange tail", 12, 14, "double", None, "sparse", 3),
    ("Black and yellow", 32, 6, "double", 0.9, "full", 3),
    ("Black and yellow", 25, 8, "double", None, "medium", 4),
    ("Black and yellow", 19, 10, "double", None, "medium", 4),
    ("Black and yellow", 15, 12, "double", None, "sparse", 3),
    ("Silver and grey", 25, 8, "single", None, "medium", 3),
    ("Silver and grey", 19, 10, "double", None, "sparse", 4),
    ("Silver and grey", 15, 12, "double", None, "sparse", 4),
    ("Silver and grey", 12, 14, "double", None, "sparse", 4),
    ("Silver and grey", 10, 16, "double", None, "sparse", 3),
    ("Dark skater", 38, 6, "single", None, "full", 3),
    ("Orange tuft", 25, 8, "double", None, "medium", 3),
    ("Orange tuft", 19, 10, "double", None, "medium", 4),
    ("Orange tuft", 15, 12, "double", None, "sparse", 4),
    ("Small black hackle", 19, 10, "single", None, "sparse", 4),
    ("Small black hackle", 15, 12, "single", None, "sparse", 5),
    ("Small black hackle", 12, 14, "single", None, "sparse", 5),
    ("Silver rib", 19, 10, "double", None, "medium", 3),
    ("Silver rib", 15, 12, "double", None, "sparse", 4),
    ("Silver rib", 12, 14, "double", None, "sparse", 4),
    ("Silver rib", 10, 16, "double", None, "sparse", 3),
)

# pattern, length in mm, weight in g, dressing, count
TUBES = (
    ("Red over orange", 60, 4.2, "full", 2),
    ("Red over orange", 50, 2.4, "full", 3),
    ("Red over orange", 40, 1.2, "medium", 3),
    ("Red over orange", 25, 0.5, "sparse", 4),
    ("Black with orange tail", 50, 2.4, "full", 2),
    ("Black with orange tail", 40, 0.6, "medium", 3),
    ("Black with orange tail", 25, 0.3, "sparse", 4),
    ("Black and yellow", 60, 4.2, "full", 2),
    ("Black and yellow", 40, 1.2, "medium", 3),
    ("Black and yellow", 25, 0.5, "medium", 3),
)

# name, kind, inches a second, grams, takes tips, count
LINES = (
    ("Floating head, 36 g", "floating", None, 36, True, 3),
    ("Intermediate head, 36 g", "intermediate", 1.0, 36, True, 2),
    ("Sinking head, 3 inches a second, 37 g", "sinking", 3.0, 37, True, 2),
    ("Single-handed floating line, 11 g", "floating", None, 11, True, 2),
)

# name, length in m, inches a second, whether it is a sinking leader, count
TIPS = (
    ("Slow tip, 1.5 inches a second", 3.0, 1.5, False, 3),
    ("Medium tip, 3 inches a second", 3.0, 3.0, False, 3),
    ("Fast tip, 5 inches a second", 3.0, 5.0, False, 3),
    ("Very fast tip, 7 inches a second", 3.7, 7.0, False, 2),
    ("Slow sinking leader, 1.5 inches a second", 3.0, 1.5, True, 4),
    ("Fast sinking leader, 5 inches a second", 3.0, 5.0, True, 3),
)

# material, diameter in mm, strength in kg
SPOOLS = (
    ("nylon", 0.20, 3.0),
    ("nylon", 0.23, 3.9),
    ("nylon", 0.26, 4.9),
    ("nylon", 0.28, 5.6),
    ("nylon", 0.31, 6.8),
    ("nylon", 0.35, 8.5),
    ("nylon", 0.41, 11.4),
    ("fluorocarbon", 0.20, 2.8),
    ("fluorocarbon", 0.23, 3.7),
    ("fluorocarbon", 0.26, 4.6),
    ("fluorocarbon", 0.29, 5.7),
    ("fluorocarbon", 0.33, 7.3),
    ("fluorocarbon", 0.37, 9.1),
)

# name, length in m, two-handed
RODS = (
    ("Long two-handed rod", 4.27, True),
    ("Middle two-handed rod", 3.96, True),
    ("Second middle two-handed rod", 3.96, True),
    ("Short two-handed rod", 3.66, True),
    ("Junior two-handed rod", 3.35, True),
    ("Single-handed rod for the dark", 3.05, False),
    ("Second single-handed rod for the dark", 3.05, False),
)

# kind, size, feet from and to (EU), height from and to in m, count
LOANS = (
    ("waders", "junior", 34, 37, 1.35, 1.55, 1),
    ("waders", "small", 36, 39, 1.50, 1.68, 2),
    ("waders", "medium", 39, 42, 1.63, 1.78, 2),
    ("waders", "large", 42, 45, 1.74, 1.88, 2),
    ("waders", "extra large", 44, 48, 1.83, 2.05, 1),
    *(("boots", str(size), size, size + 0.9, None, None, 1) for size in range(36, 47)),
    ("jacket", "junior", None, None, 1.35, 1.55, 1),
    ("jacket", "small", None, None, 1.50, 1.68, 2),
    ("jacket", "medium", None, None, 1.63, 1.80, 2),
    ("jacket", "large", None, None, 1.76, 2.05, 2),
    ("buoyancy", "junior", None, None, 1.20, 1.55, 2),
    ("buoyancy", "small", None, None, 1.50, 1.70, 2),
    ("buoyancy", "large", None, None, 1.65, 2.05, 4),
    ("staff", "", None, None, None, None, 5),
    ("glasses", "", None, None, None, None, 4),
)


def fill_box() -> None:
    """Write all of it, in the caller's transaction."""
    patterns = {
        name: FlyPattern.objects.create(
            name=name, role=role, colours=list(colours), looks_like=looks, is_surface_lure=skated
        )
        for name, role, colours, looks, skated in PATTERNS
    }
    Fly.objects.bulk_create(
        Fly(
            pattern=patterns[name],
            length_mm=length_mm,
            hook_size=size,
            hook=hook,
            weight_g=weight_g,
            dressing=dressing,
            count=count,
        )
        for name, length_mm, size, hook, weight_g, dressing, count in HOOKED
    )
    Fly.objects.bulk_create(
        Fly(
            pattern=patterns[name],
            length_mm=length_mm,
            hook=Fly.Hook.TREBLE,
            is_tube=True,
            weight_g=weight_g,
            dressing=dressing,
            count=count,
        )
        for name, length_mm, weight_g, dressing, count in TUBES
    )
    fill_bag()


def fill_bag() -> None:
    """Write lines, tips, spools, rods and loan kit."""
    Line.objects.bulk_create(
        Line(name=name, kind=kind, sink_ips=ips, weight_g=grams, takes_tips=takes, count=count)
        for name, kind, ips, grams, takes, count in LINES
    )
    Tip.objects.bulk_create(
        Tip(name=name, length_m=length_m, sink_ips=ips, is_sinking_leader=is_leader, count=count)
        for name, length_m, ips, is_leader, count in TIPS
    )
    LeaderMaterial.objects.bulk_create(
        LeaderMaterial(material=material, diameter_mm=diameter_mm, strength_kg=strength_kg)
        for material, diameter_mm, strength_kg in SPOOLS
    )
    Rod.objects.bulk_create(
        Rod(name=name, length_m=length_m, is_two_handed=two) for name, length_m, two in RODS
    )
    LoanItem.objects.bulk_create(
        LoanItem(
            kind=kind,
            size=size,
            smallest_foot_eu=foot_from,
            largest_foot_eu=foot_to,
            smallest_height_m=height_from,
            largest_height_m=height_to,
            count=count,
        )
        for kind, size, foot_from, foot_to, height_from, height_to, count in LOANS
    )
