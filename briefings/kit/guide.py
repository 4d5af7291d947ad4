"""What the guide packs: counted from set-ups and rods, with what always comes along."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from math import ceil

from guiding.tackle.setup import Fly, LeaderSection, SetUp

SPARE_RODS = 1
SPARE_LINES = 1  # of each line and each tip
FLIES_A_ROD = 2  # one on the leader, one in the box
SPARE_FLIES = 1
LEADERS_A_ROD = 3  # the one that is fished and two to replace it
FEWEST_HEADLAMPS = 2

ALWAYS = (
    "First-aid kit, checked",
    "Throw line",
    "Phone with power bank, in a dry bag",
    "Wading staff and spare belt",
    "Foil blanket, group shelter, dry clothes bag, hot drink",
    "Spare glasses and hats for everybody",
    f"{FEWEST_HEADLAMPS} head lamps",
    "Knotless net, forceps, side cutters for hooks in people",
    "Thermometer, tape and hook file",
    "Disinfectant or a hot-water flask for kit that changes river",
    "Emergency page on paper: grid references, numbers, no-signal plan",
)


def tackle(setups: Iterable[SetUp], *, rods: int) -> tuple[str, ...]:
    """Return rods, lines, tips, leader material and flies for the day.

    Raises
    ------
    ValueError
        Where `rods` is negative.
    """
    if rods < 0:
        raise ValueError(f"rods is {rods}; a day has 0 rods or more.")
    if rods == 0:
        return ()
    different = list(dict.fromkeys(setups))
    if not different:
        return (
            f"{_count(rods + SPARE_RODS, 'rod')}: {rods} to fish, {SPARE_RODS} spare",
            "No set-up is chosen yet: lines, leaders and flies are not counted",
        )
    return (
        f"{_count(rods + SPARE_RODS, 'rod')} with reels: {rods} to fish, {SPARE_RODS} spare",
        *_lines_and_tips(different, rods),
        *_leaders(different, rods),
        *_flies(different, rods),
    )


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _lines_and_tips(setups: list[SetUp], rods: int) -> list[str]:
    names = list(dict.fromkeys(setup.line.name for setup in setups))
    names += dict.fromkeys(setup.tip.name for setup in setups if setup.tip)
    return [f"{rods + SPARE_LINES} x {name}: {rods} to fish, {SPARE_LINES} spare" for name in names]


def _leaders(setups: list[SetUp], rods: int) -> list[str]:
    """Return metres of each material, whole metres up; sinking leaders are pieces of their own."""
    metres: defaultdict[tuple[float, str], float] = defaultdict(float)
    pieces: Counter[str] = Counter()
    for setup in setups:
        for section in setup.leader:
            if section.diameter_mm is None:
                pieces[section.part] += rods + SPARE_LINES
            else:
                metres[_material(section)] += section.length_m * rods * LEADERS_A_ROD
    lines = [f"{count} x {part}" for part, count in sorted(pieces.items())]
    for (diameter_mm, material), length_m in sorted(metres.items(), reverse=True):
        # rounding to the millimetre first: 3 x 1.1 m must not ask for a metre more
        whole = ceil(round(length_m, 3))
        lines.append(f"{whole} m of {diameter_mm:.2f} mm {material}: {LEADERS_A_ROD} leaders a rod")
    return lines


def _material(section: LeaderSection) -> tuple[float, str]:
    return section.diameter_mm or 0.0, section.material or "leader material"


def _flies(setups: list[SetUp], rods: int) -> list[str]:
    """Return each fly of the set-ups and how many."""
    wanted: dict[Fly, None] = {}
    for setup in setups:
        for fly in (setup.point, setup.dropper):
            if fly is not None:
                wanted[fly] = None
    number = rods * FLIES_A_ROD + SPARE_FLIES
    return [f"{_fly_words(fly, number)}" for fly in wanted]


def _fly_words(fly: Fly, number: int) -> str:
    made = "tube" if fly.is_tube else f"size {fly.hook_size}" if fly.hook_size else fly.hook
    line = f"{number} x {fly.pattern}, {fly.length_mm} mm, {made}"
    return line if fly.count >= number else f"{line}: only {fly.count} in the box"
