"""The few flies laid out for the day, and a different one for each rod."""

from __future__ import annotations

from dataclasses import dataclass

from briefings.setups.rig import RigAdvice
from guiding.gauges.conditions.values import Conditions
from guiding.tackle.setup import Fly, TackleBox

# common practice, no source: four or five point flies and two or three droppers
FEWEST_POINTS, MOST_POINTS = 4, 5
LIKELY = 3
FEWEST_DROPPERS, MOST_DROPPERS = 2, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class DayBox:
    """Four or five point flies and two or three droppers where the box has them."""

    points: tuple[Fly, ...]
    droppers: tuple[Fly, ...]
    # point and dropper each rod starts with; more rods than flies laid out: of the rest of the box
    starts: tuple[tuple[Fly, Fly | None], ...]
    says: tuple[str, ...]  # what the box lacks


def lay_out(conditions: Conditions, box: TackleBox, advice: RigAdvice, *, rods: int) -> DayBox:
    """Lay out the day's flies: the chosen ones first, then the ones a change would ask for.

    Raises ValueError for fewer than one rod.
    """
    if rods < 1:
        raise ValueError(f"rods is {rods}; at least 1.")
    setups = [advice.setup] if advice.setup else []
    setups += [other.setup for other in advice.alternatives]
    # the set-up and what the two likeliest changes would ask for; the rest is other patterns
    chosen_points = [setup.point for setup in setups[:LIKELY]]
    chosen_droppers = [s.dropper for s in setups[:1] if s.dropper is not None]
    points = _laid(chosen_points, advice.points_by_fit, most=MOST_POINTS)
    droppers = _laid(chosen_droppers, advice.droppers_by_fit, most=MOST_DROPPERS)
    starts = _starts(advice, points, droppers, rods=rods)
    return DayBox(
        points=points,
        droppers=droppers,
        starts=starts,
        says=_says(advice, points, droppers, starts, rods=rods),
    )


def _laid(first: list[Fly], by_fit: tuple[Fly, ...], *, most: int) -> tuple[Fly, ...]:
    """Return the chosen flies, then the best of each other pattern, then other sizes."""
    patterns: dict[str, Fly] = {}
    for fly in by_fit:
        # a surface lure lies at the end of the order unless it was asked for
        if not fly.is_surface_lure:
            patterns.setdefault(fly.pattern, fly)
    taken = {fly.pattern for fly in first}
    others = [fly for pattern, fly in patterns.items() if pattern not in taken]
    return tuple(dict.fromkeys((*first, *others, *by_fit)))[:most]


def _starts(
    advice: RigAdvice, points: tuple[Fly, ...], droppers: tuple[Fly, ...], *, rods: int
) -> tuple[tuple[Fly, Fly | None], ...]:
    if advice.setup is None:
        return ()
    ranked = _by_pattern(advice.setup.point, points, advice.points_by_fit)
    others = [fly for fly in advice.points_by_fit if not fly.is_surface_lure]
    ranked = tuple(dict.fromkeys((*ranked, *(others if rods > len(ranked) else ()))))
    with_dropper = advice.setup.dropper is not None
    hung = _by_pattern(advice.setup.dropper, droppers, advice.droppers_by_fit)
    starts = []
    for rod in range(rods):
        point = ranked[rod % len(ranked)]
        dropper = hung[rod % len(hung)] if with_dropper and hung else None
        starts.append((point, dropper))
    return tuple(starts)


def _by_pattern(
    first: Fly | None, laid: tuple[Fly, ...], by_fit: tuple[Fly, ...]
) -> tuple[Fly, ...]:
    """Return the laid-out flies: the chosen, each other pattern by fit, then further sizes."""
    ranked = sorted(laid, key=lambda fly: by_fit.index(fly) if fly in by_fit else len(by_fit))
    if first is not None:
        ranked = [first, *(fly for fly in ranked if fly != first)]
    seen: set[str] = set()
    heads: list[Fly] = []
    rest: list[Fly] = []
    for fly in ranked:
        (rest if fly.pattern in seen else heads).append(fly)
        seen.add(fly.pattern)
    return (*heads, *rest)


def _says(
    advice: RigAdvice,
    points: tuple[Fly, ...],
    droppers: tuple[Fly, ...],
    starts: tuple[tuple[Fly, Fly | None], ...],
    *,
    rods: int,
) -> tuple[str, ...]:
    if advice.setup is None and not points and not droppers:
        return ("No flies are laid out: see why.",)
    said = []
    if len(points) < FEWEST_POINTS:
        said.append(f"The box has {len(points)} point flies; four or five are wanted.")
    if len(droppers) < FEWEST_DROPPERS:
        said.append(f"The box has {len(droppers)} droppers; two or three are wanted.")
    if len({point for point, _ in starts}) < len(starts):
        said.append(f"The box has too few point flies for {rods} rods to start on different ones.")
    return tuple(said)
