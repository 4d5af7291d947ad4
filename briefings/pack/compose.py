"""What was read for a trip, and a reader -> everything one issue of their pack says.

The road ends here: answers become words. The content that comes out is frozen in a Briefing;
nothing of it is computed again, and nothing here asks the database.
"""

from __future__ import annotations

from collections.abc import Sequence

from briefings import gather, pools
from briefings.cautions import day as cautions
from briefings.groundwork import Groundwork, Part
from briefings.kit import person as kit
from briefings.pack import guide_tables, pages, river_pages, words
from briefings.pack.client_words import for_client
from briefings.pack.content import (
    GuideCopy,
    InCharge,
    Kit,
    PackContent,
    River,
    Said,
    SetUpPage,
    TripPart,
    Worth,
)
from briefings.pack.emergency import emergency_page, guide_name, spot_of
from briefings.setups import worth
from briefings.trips import Trip, valid_until
from guiding.bookings.models import PartyMember, TripDay
from guiding.bookings.readiness import missing_of
from guiding.clients.models import Person
from guiding.sources import Reason
from guiding.sun import light_on

WHO_DECIDES = (
    "This sheet helps you prepare; it does not judge the water. The fishery's own rules and local "
    "regulations come first, and on the bank your guide decides. If in doubt, stay out."
)
TOO_EARLY_TO_TIE = (
    "The evening before, when the river can be read, the final issue says what to tie on."
)
TOO_EARLY_TO_WADE = "Bank only until your guide has told you at the water."
NOTHING_TO_TIE = "You come to watch: there is nothing for you to tie on."


def compose(
    ground: Groundwork,
    person: Person | None,
    *,
    number: int = 1,
    replaces: int | None = None,
    changes: Sequence[str] = (),
) -> PackContent:
    """Return the content of one issue; `person` None is the guide's copy."""
    trip, parts, covered = ground.trip, ground.parts, ground.covered
    member = trip.member_for(person) if person else None
    units = person.units if person else ground.guide.units
    zone = trip.river.zoneinfo
    wading_words = _wading_words(member, parts) if member else _everybodys_wading(trip, parts)
    fishes = member is None or any(_fishes(m) for m in (member, *trip.in_charge_of(member)))
    until = valid_until(trip, issue=ground.issue, at=ground.at)
    beats = dict.fromkeys(row.beat.name for row in covered)
    out_by = {part.day.pk: part.advice.conditions.out_by_words for part in parts}
    setup, later_setups = _setups(parts if fishes else (), units, is_client=person is not None)
    return PackContent(
        language="en",
        audience="client" if person else "guide",
        issue=ground.issue,
        number=number,
        replaces=replaces,
        reference=trip.booking.reference,
        reader=person.name if person else guide_name(ground),
        reader_line=_reader_line(trip, member),
        title=f"{words.days_words(covered[0].date, covered[-1].date)}, {' and '.join(beats)}",
        issued=words.short_moment_words(ground.at, zone),
        valid_until=words.short_moment_words(until, zone),
        danger=cautions.danger_line_over(ground.dangers, wading_words),
        changes=tuple(changes),
        parts=tuple(_trip_part(trip, row, out_by.get(row.pk, "")) for row in covered),
        wading=wading_words,
        in_charge=tuple(
            InCharge(
                name=junior.person.called,
                wading=_wading_words(junior, parts),
                kit=_kit(ground, junior),
            )
            for junior in (trip.in_charge_of(member) if member else ())
        ),
        worth=_worth(ground, is_client=person is not None),
        river=_river(ground),
        setup=setup,
        setup_says=""
        if setup
        else _setup_says(parts, is_client=person is not None)
        if fishes
        else NOTHING_TO_TIE,
        setup_first=_setup_first(parts) if fishes else "",
        later_setups=later_setups,
        kit=_kit(ground, member),
        cautions=tuple(said(reason) for reason in cautions.for_parts(ground.dangers)),
        emergency=emergency_page(ground, member),
        sources=river_pages.source_rows_of_day(
            [(name_of(part), part.advice.outlook) for part in parts],
            units,
            zone,
            is_client=person is not None,
        ),
        credits=ground.credits,
        guide=None if person else _guide_copy(ground, units),
    )


def said(reason: Reason) -> Said:
    """Return a reason as it is printed."""
    return Said(**reason.as_json())


def name_of(part: Part) -> str:
    """Return "evening, Lower Haugh"."""
    return f"{part.day.get_part_display()}, {part.day.beat.name}"


def _fishes(member: PartyMember) -> bool:
    return member.role != PartyMember.Role.GUEST


def _everybodys_wading(trip: Trip, parts: Sequence[Part]) -> str:
    """Return for the guide what each person's own sheet says, those told the same together."""
    names: dict[str, list[str]] = {}
    for member in trip.coming:
        names.setdefault(_wading_words(member, parts), []).append(member.person.called)
    if len(names) < 2:
        return "".join(names) or "Bank only."
    return " ".join(f"{words.listed(of)}: {text}" for text, of in names.items())


def _wading_words(member: PartyMember, parts: Sequence[Part]) -> str:
    if not parts:
        return TOO_EARLY_TO_WADE
    said_of = {
        name_of(part): pools.client_words(
            [row for row in part.wading if row.person.pk == member.person_id],
            comes_to_fish=_fishes(member),
        )
        for part in parts
    }
    if len(set(said_of.values())) == 1:
        return next(iter(said_of.values()))
    return " ".join(f"{words.opened(name)}: {text}" for name, text in said_of.items())


def _reader_line(trip: Trip, member: PartyMember | None) -> str:
    rods = "One rod" if trip.rods == 1 else f"{trip.rods} rods"
    if member is None:
        names = ", ".join(f"{m.person.name} ({m.get_role_display()})" for m in trip.coming)
        return f"Guide's copy. {rods}: {names}."
    others = [m.person.called for m in trip.coming if m.pk != member.pk]
    company = f", with {words.listed(others)}" if others else ""
    if member.role == PartyMember.Role.GUEST:
        return f"You come to watch{company}."
    sharing = [m.person.called for m in trip.coming if m.shares_with_id == member.pk]
    if member.shares_with:
        sharing.append(member.shares_with.person.called)
    if sharing:
        return f"{rods}. You share one with {words.listed(sharing)}."
    return f"{rods}{company}."


def _trip_part(trip: Trip, row: TripDay, out_by: str) -> TripPart:
    river = trip.river
    zone = river.zoneinfo
    return TripPart(
        date_words=words.day_words(row.date),
        part=row.get_part_display(),
        beat=row.beat.name,
        meets=words.clock_words(row.meets_at, zone),
        ends=words.clock_words(row.ends_at, zone),
        meeting_point=spot_of(row.meeting_point, river),
        light=words.light_words(light_on(row.date, river.latitude, river.longitude, zone), zone),
        out_by=out_by,
    )


def _worth(ground: Groundwork, *, is_client: bool) -> Worth:
    rules = ground.trip.booking.water.fishery_rules.splitlines()
    going = []
    for part in ground.parts:
        chosen = part.advice.rig
        # who decides stands beside this once, and not after every part
        why = " ".join(line for line in chosen.why if line != worth.WHO_DECIDES)
        why = _for_reader(why, is_client=is_client)
        going.append(f"{words.opened(name_of(part))}: {words.GOING[chosen.worth_going]} {why}")
    permitted = (
        ground.parts[0].advice.permitted_because
        if ground.parts
        else gather.permitted_reason(ground.at)
    )
    return Worth(
        worth_going=" ".join(going) or "Not known yet: it is too early to read the river.",
        permitted=permitted.text,
        rules=tuple(f"The fishery told us: {line.strip()}" for line in rules if line.strip()),
        who_decides=WHO_DECIDES,
    )


def _for_reader(text: str, *, is_client: bool) -> str:
    return for_client(text) if is_client else text


def _river(ground: Groundwork) -> River:
    zone = ground.trip.river.zoneinfo
    if ground.parts:
        outlooks = [part.advice.outlook for part in ground.parts]
        names = [name_of(part) for part in ground.parts]
        return river_pages.river_page(outlooks, zone, at=ground.at, names=names)
    usual = ground.usual
    return River(
        gauge=usual.gauge if usual else "no gauge",
        sentence="What the river will do is not known this far ahead.",
        detail="The final issue, the evening before, says what it is doing.",
        picture=None,
        usual=usual.words if usual else "No gauge speaks for this beat, so nothing is usual here.",
    )


def _setup_says(parts: Sequence[Part], *, is_client: bool) -> str:
    if not parts:
        return TOO_EARLY_TO_TIE
    why = dict.fromkeys(" ".join(part.advice.rig.why) for part in parts)
    return _for_reader(" ".join(why), is_client=is_client)


def _setup_first(parts: Sequence[Part]) -> str:
    """Return what stands before the set-up where a part of the day is not plainly worth going."""
    answers = {words.opened(name_of(p)): p.advice.rig.worth_going for p in parts}
    said = [f"{name}: {words.GOING[answer]}" for name, answer in answers.items() if answer != "yes"]
    return f"{' '.join(said)} To start with, if your guide goes:" if said else ""


def _setups(
    parts: Sequence[Part], units: str, *, is_client: bool
) -> tuple[SetUpPage | None, tuple[SetUpPage, ...]]:
    """Return the first set-up of the day, and those of later parts where they differ from it.

    Where not every part has the first one, each says for which part it is.
    """
    with_setup = [part for part in parts if part.advice.rig.setup]
    different: dict[object, list[Part]] = {}
    for part in with_setup:
        different.setdefault(part.advice.rig.setup, []).append(part)
    is_whole_day = len(different) == 1 and len(with_setup) == len(parts)
    found = [
        page
        for same in different.values()
        if (
            page := pages.setup_page(
                [part.advice for part in same],
                units,
                when="" if is_whole_day else words.listed([name_of(part) for part in same]),
                is_client=is_client,
            )
        )
    ]
    return (found[0], tuple(found[1:])) if found else (None, ())


def _kit(ground: Groundwork, member: PartyMember | None) -> Kit:
    if member is None:
        return Kit(bring=(), lent=(), buy=(), missing=())
    answer = ground.kits[member.pk]
    missing = (*answer.missing, *missing_of(member, ground.covered[0].date))
    return Kit(
        bring=answer.bring,
        lent=answer.lent,
        buy=answer.buy,
        missing=tuple(dict.fromkeys(missing)),
    )


def _guide_copy(ground: Groundwork, units: str) -> GuideCopy:
    trip, parts = ground.trip, ground.parts
    setups = tuple(part.advice.rig.setup for part in parts if part.advice.rig.setup)
    named = [(name_of(part) if len(parts) > 1 else "", part) for part in parts]
    return GuideCopy(
        stops=guide_tables.stop_rows([(name, part.wading) for name, part in named]),
        alternatives=guide_tables.each_once(
            (name, line)
            for name, part in named
            for line in pages.alternative_lines(part.advice.rig, units)
        ),
        reasons=tuple(
            dict.fromkeys(said(reason) for part in parts for reason in part.advice.rig.reasons)
        ),
        overruled=guide_tables.each_once(
            (name, f"{lost.rule} would have asked for {lost.asked}; overruled by {lost.by}.")
            for name, part in named
            for lost in part.advice.rig.overruled
        ),
        tackle=kit.for_guide(setups, rods=trip.rods) if setups else (),
        people=tuple(guide_tables.person_line(member, trip.days[0].date) for member in trip.coming),
        class_chances=guide_tables.class_rows([(name, p.advice.outlook) for name, p in named]),
    )
