"""What is still missing before a person may be taken to the water."""

from __future__ import annotations

from datetime import date

from guiding.bookings.models import PartyMember


def missing_of(member: PartyMember, day: date) -> tuple[str, ...]:
    """Return what we still need from one member of a party, in the words we ask for it."""
    person = member.person
    if not member.comes:
        return ()
    lines = []
    if not (person.emergency_name and person.emergency_phone):
        lines.append("whom we ring if you are hurt: a name and a telephone number")
    if not person.phone:
        lines.append("a telephone number we reach you on that day")
    if member.role == member.Role.GUEST:
        return tuple(lines)
    if person.licence_seen_on is None:
        lines.append("your licence: we have not seen it")
    if person.height_m is None:
        lines.append("your height: until we know it you fish from the bank")
    if person.mass_kg is None:
        lines.append("your weight: until we know it the careful limits stand")
    if not person.wading:
        lines.append("how used you are to wading")
    if not person.casting:
        lines.append("how used you are to casting")
    if not person.hand:
        lines.append("which hand you fish with")
    if person.is_junior and person.age_on(day) is None:
        lines.append("a date of birth")
    return tuple(lines)
