"""The set-up page: line, leader and flies become words in the reader's units."""

from __future__ import annotations

from collections.abc import Sequence

from briefings.advice import Advice
from briefings.pack.client_words import for_client
from briefings.pack.content import FlyPicture, LeaderPicture, SetUpPage
from briefings.pack.words import opened
from briefings.setups.rig import Alternative, RigAdvice
from guiding.tackle.setup import Fly, LeaderSection, SetUp
from guiding.units import fly_length_words, length_words, thickness_words

REASONS_SHOWN = 3  # on a client's page; the guide's copy carries all of them


def fly_words(fly: Fly, units: str) -> str:
    """Return "size 10 double, sparse dressing, 19 mm", or a tube by its length."""
    made = "tube" if fly.is_tube else f"size {fly.hook_size} {fly.hook}".strip()
    if not fly.is_tube and fly.hook_size is None:
        made = fly.hook
    length = fly_length_words(fly.length_mm, units)
    weight = f", {fly.weight_g:g} g" if fly.weight_g else ""
    return f"{made}, {fly.dressing} dressing, {length}{weight}"


def fly_picture(fly: Fly, units: str) -> FlyPicture:
    """Return a fly as it is drawn and named."""
    return FlyPicture(
        role=fly.role,
        pattern=fly.pattern,
        words=fly_words(fly, units),
        length_mm=fly.length_mm,
        is_tube=fly.is_tube,
        dressing=fly.dressing,
        colours=fly.colours,
        looks_like=fly.looks_like,
    )


def _section_words(section: LeaderSection, units: str) -> str:
    thick = ""
    if section.diameter_mm is not None:
        thick = f", {thickness_words(section.diameter_mm, units)}"
    material = f" {section.material}" if section.material else ""
    return f"{section.part}{material}: {length_words(section.length_m, units)}{thick}"


def _leader_picture(setup: SetUp, units: str) -> LeaderPicture:
    dropper_words = ""
    if setup.dropper and setup.dropper_from_line_m is not None:
        where = length_words(setup.dropper_from_line_m, units)
        dropper_words = (
            f"{setup.dropper.pattern}, {fly_words(setup.dropper, units)}; {where} from the line"
        )
    return LeaderPicture(
        line_words=setup.line.name,
        tip_words=setup.tip.name if setup.tip else "",
        tip_m=setup.tip.length_m if setup.tip else None,
        sections=tuple(
            (section.part, section.length_m, _section_words(section, units))
            for section in setup.leader
        ),
        leader_m=setup.leader_m,
        leader_words=length_words(setup.leader_m, units),
        dropper_from_line_m=setup.dropper_from_line_m,
        dropper_words=dropper_words,
        point_words=f"{setup.point.pattern}, {fly_words(setup.point, units)}",
    )


def setup_sentence(setup: SetUp, units: str) -> str:
    """Return the set-up in one sentence for the day sheet."""
    tip = f" with {setup.tip.name}" if setup.tip else ""
    leader = length_words(setup.leader_m, units)
    point = f"{setup.point.pattern}, {fly_words(setup.point, units)}"
    if setup.dropper is None:
        return f"{setup.line.name}{tip}, {leader} of leader, one fly: {point}."
    dropper = f"{setup.dropper.pattern}, {fly_words(setup.dropper, units)}"
    return f"{setup.line.name}{tip}, {leader} of leader; point {point}; dropper {dropper}."


def alternative_words(other: Alternative, units: str) -> str:
    """Return the next best set-up and what would switch to it."""
    return f"{other.switch_when}: {setup_sentence(other.setup, units)}"


def alternative_lines(rig: RigAdvice, units: str) -> tuple[str, ...]:
    """Return the alternatives that a reader can tell from the chosen set-up."""
    if rig.setup is None:
        return ()
    chosen = setup_sentence(rig.setup, units)
    return tuple(
        alternative_words(other, units)
        for other in rig.alternatives
        if setup_sentence(other.setup, units) != chosen
    )


def setup_page(
    same: Sequence[Advice], units: str, *, when: str = "", is_client: bool = True
) -> SetUpPage | None:
    """Return the page of one set-up, or None where there is none to show.

    `same`: the advice of each part of the day that asks for it; their reasons may differ.
    """
    advice = same[0]
    setup = advice.rig.setup
    if setup is None:
        return None
    on_the_leader = [setup.point, *([setup.dropper] if setup.dropper else [])]
    laid_out = dict.fromkeys(
        fly for each in same for fly in (*each.day_box.points, *each.day_box.droppers)
    )
    why = dict.fromkeys(
        f"{reason.text} Here: {reason.because}."
        for each in same
        for reason in each.rig.reasons[:REASONS_SHOWN]
    )
    others = dict.fromkeys(line for each in same for line in alternative_lines(each.rig, units)[:1])
    sentence = setup_sentence(setup, units)
    worded = for_client if is_client else str
    return SetUpPage(
        # the day sheet prints the sentence alone: it must say itself for which part it is
        sentence=f"{opened(when)}: {sentence}" if when else sentence,
        how=worded(setup.how),
        why=worded(" ".join(why)),
        knots=tuple(worded(knot) for knot in setup.knots),
        leader=_leader_picture(setup, units),
        flies=tuple(fly_picture(fly, units) for fly in on_the_leader),
        laid_out=tuple(fly_picture(fly, units) for fly in laid_out),
        alternative=opened(worded(" ".join(others))),
        when=when,
    )
