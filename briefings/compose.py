"""A booking and a reader -> everything one issue of their pack says.

The road ends here: rows are gathered, the pure parts are asked, and their answers become words. The
content that comes out is frozen in a Briefing; nothing of it is computed again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from briefings import cautions, gather, kit, loans, pages, pools, words
from briefings.advice import Advice, advise_on
from briefings.cautions import Ground
from briefings.content import (
    Emergency,
    GuideCopy,
    Kit,
    PackContent,
    River,
    Said,
    SetUpPage,
    Spot,
    TripPart,
    Worth,
)
from briefings.pools import PoolWading
from guiding.accounts.models import User
from guiding.bookings.models import Booking, PartyMember, TripDay
from guiding.bookings.readiness import missing_of
from guiding.clients.models import Person
from guiding.gauges.conditions import Given
from guiding.gauges.usual import usual_level
from guiding.rivers.gridref import grid_words
from guiding.rivers.models import AccessPoint, Beat
from guiding.rivers.models import River as RiverRow
from guiding.sources import Reason

WHO_DECIDES = (
    "This sheet helps you prepare; it does not judge the water. The fishery's own rules and local "
    "regulations come first, and on the bank your guide decides. If in doubt, stay out."
)
FINAL_ISSUE_AT = time(18, 0)


class NothingToBrief(Exception):
    """The booking has no day to come, or the reader does not belong to it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the day with what is advised for it."""

    day: TripDay
    advice: Advice
    wading: tuple[PoolWading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """A booking's rows, read once for every reader of one issue."""

    booking: Booking
    river: RiverRow
    days: tuple[TripDay, ...]
    party: tuple[PartyMember, ...]

    @property
    def coming(self) -> tuple[PartyMember, ...]:
        """Return who will stand on the bank."""
        return tuple(member for member in self.party if member.comes)

    @property
    def rods(self) -> int:
        """Return how many rods are fished: two who share count once."""
        return sum(member.role == PartyMember.Role.ROD for member in self.party)

    @property
    def beats(self) -> tuple[Beat, ...]:
        """Return the beats in the order in which they are fished, each once."""
        return tuple({day.beat_id: day.beat for day in self.days}.values())


def read_trip(booking: Booking) -> Trip:
    """Read a booking's rows."""
    return Trip(
        booking=booking,
        river=booking.water.river,
        days=tuple(booking.days.select_related("beat", "meeting_point").order_by("meets_at")),
        party=tuple(booking.party.select_related("person", "shares_with__person")),
    )


def next_day(trip: Trip, at: datetime) -> date:
    """Return the fishing day that a final issue written now is about."""
    for day in trip.days:
        if day.ends_at > at:
            return day.date
    raise NothingToBrief(f"{trip.booking.reference} has no day left to brief.")


def compose(
    trip: Trip,
    person: Person | None,
    *,
    issue: str,
    at: datetime,
    number: int = 1,
    replaces: int | None = None,
    changes: Sequence[str] = (),
) -> PackContent:
    """Return the content of one issue; `person` None is the guide's copy."""
    member = _member(trip, person)
    day = next_day(trip, at)
    is_final = issue == "final"
    covered = tuple(row for row in trip.days if row.date == day) if is_final else trip.days
    parts = advise_day(trip, day, at) if is_final else ()
    grounds = _ground(trip, tuple({row.beat_id: row.beat for row in covered}.values()))
    units = person.units if person else _guide().units
    zone = trip.river.zoneinfo
    wading_words = _wading_words(member, parts)
    conditions = parts[0].advice.conditions if parts else None
    said = _cautions(parts, grounds)
    beats = {row.beat.name: None for row in covered}
    return PackContent(
        language="en",
        audience="client" if person else "guide",
        issue=issue,
        number=number,
        replaces=replaces,
        reference=trip.booking.reference,
        reader=person.name if person else _guide_name(),
        reader_line=_reader_line(trip, member),
        title=f"{words.days_words(covered[0].date, covered[-1].date)}, {' and '.join(beats)}",
        issued=words.short_moment_words(at, zone),
        valid_until=words.short_moment_words(valid_until(trip, issue=issue, at=at), zone),
        danger=cautions.danger_line(conditions, grounds, wading_words),
        changes=tuple(changes),
        parts=tuple(_trip_part(trip, row) for row in covered),
        wading=wading_words,
        worth=_worth(trip, parts),
        river=_river(trip, covered, parts, at),
        setup=pages.setup_page(parts[0].advice, units) if parts else None,
        setup_says=_setup_says(parts),
        later_setups=_later_setups(parts, units),
        kit=_kit(trip, member, covered, parts),
        cautions=said,
        emergency=_emergency(trip, covered, person),
        sources=pages.source_rows(parts[0].advice.outlook, units, zone) if parts else (),
        credits=pages.credit_lines(trip.river),
        guide=None if person else _guide_copy(trip, parts, units),
    )


def valid_until(trip: Trip, *, issue: str, at: datetime) -> datetime:
    """Return when an issue stops speaking: the first until the final one, that until you meet."""
    day = next_day(trip, at)
    first_meeting = next(row.meets_at for row in trip.days if row.date == day)
    if issue == "final":
        return max(first_meeting, at + timedelta(hours=1))
    evening_before = trip.river.moment(day - timedelta(days=1), FINAL_ISSUE_AT)
    return evening_before if evening_before > at else first_meeting


def _member(trip: Trip, person: Person | None) -> PartyMember | None:
    if person is None:
        return None
    for member in trip.coming:
        if member.person_id == person.pk:
            return member
    raise NothingToBrief(f"{person.name} does not come on {trip.booking.reference}.")


def advise_day(trip: Trip, day: date, at: datetime) -> tuple[Part, ...]:
    """Return what is advised for each part of one day of a trip, as known at a moment."""
    return tuple(_advise(trip, row, at) for row in trip.days if row.date == day)


def _advise(trip: Trip, row: TripDay, at: datetime) -> Part:
    advice = advise_on(
        row.beat,
        row.date,
        row.part,
        at=at,
        given=Given(),
        fish=trip.booking.fish,
        casting=_least_casting(trip),
        rods=max(trip.rods, 1),
        people=len(trip.coming) + 1,
    )
    people = [member.person for member in trip.coming if member.role != PartyMember.Role.GUEST]
    return Part(
        day=row,
        advice=advice,
        wading=pools.wading_on(row.beat, people, advice.outlook, row.date),
    )


def _least_casting(trip: Trip) -> str | None:
    """Return how well the least practised of the rods casts; one unknown makes it unknown."""
    levels = [m.person.casting for m in trip.coming if m.role != PartyMember.Role.GUEST]
    if not levels or "" in levels:
        return None
    return min(levels, key=["novice", "used", "strong"].index)


def _ground(trip: Trip, beats: Sequence[Beat]) -> Ground:
    """Return one ground for all the beats of the issue: the worst of each."""
    each = [gather.ground_of(beat, people=len(trip.coming) + 1) for beat in beats]
    regimes = {ground.regime for ground in each}
    worst = next((name for name in ("regulated", "tidal") if name in regimes), "natural")
    return Ground(
        regime=worst,
        power_lines=tuple(line for ground in each for line in ground.power_lines),
        hazards=tuple(line for ground in each for line in ground.hazards),
        bottoms=tuple(sorted({name for ground in each for name in ground.bottoms})),
        people_on_the_bank=len(trip.coming) + 1,
    )


def _cautions(parts: Sequence[Part], ground: Ground) -> tuple[Said, ...]:
    """Return every caution of every part once, in the order in which they first appear."""
    reasons: dict[str, Reason] = {}
    if not parts:
        for reason in cautions.for_day(None, ground):
            reasons.setdefault(reason.text, reason)
    for part in parts:
        for reason in cautions.for_day(part.advice.conditions, ground):
            reasons.setdefault(reason.text, reason)
    return tuple(Said(**reason.as_json()) for reason in reasons.values())


def _wading_words(member: PartyMember | None, parts: Sequence[Part]) -> str:
    if not parts:
        return "Bank only until your guide has told you at the water."
    if member is None:
        return "Each person's words are on their own sheet; the levels are in this copy."
    fishes = member.role != PartyMember.Role.GUEST
    said = {
        part.day.beat.name: pools.client_words(
            [row for row in part.wading if row.person.pk == member.person_id],
            comes_to_fish=fishes,
        )
        for part in parts
    }
    if len(set(said.values())) == 1:
        return next(iter(said.values()))
    return " ".join(f"{beat}: {text}" for beat, text in said.items())


def _reader_line(trip: Trip, member: PartyMember | None) -> str:
    rods = "One rod" if trip.rods == 1 else f"{trip.rods} rods"
    if member is None:
        names = ", ".join(f"{m.person.name} ({m.get_role_display()})" for m in trip.coming)
        return f"Guide's copy. {rods}: {names}."
    others = [m.person.called for m in trip.coming if m.pk != member.pk]
    company = f", with {_listed(others)}" if others else ""
    if member.role == PartyMember.Role.GUEST:
        return f"You come to watch{company}."
    sharing = [m.person.called for m in trip.coming if m.shares_with_id == member.pk]
    if member.shares_with:
        sharing.append(member.shares_with.person.called)
    if sharing:
        return f"{rods}. You share one with {_listed(sharing)}."
    return f"{rods}{company}."


def _listed(names: Sequence[str]) -> str:
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _trip_part(trip: Trip, row: TripDay) -> TripPart:
    zone = trip.river.zoneinfo
    return TripPart(
        date_words=words.day_words(row.date),
        part=row.get_part_display(),
        beat=row.beat.name,
        meets=words.clock_words(row.meets_at, zone),
        ends=words.clock_words(row.ends_at, zone),
        meeting_point=_spot(trip, row.meeting_point),
    )


def _spot(trip: Trip, point: AccessPoint) -> Spot:
    name = f"{point.pool.name}: {point.name}" if point.pool else point.name
    try:
        grid = grid_words(point.latitude, point.longitude, trip.river.grid)
    except ValueError as error:
        grid = f"no grid reference: {error}"
    return Spot(
        name=name,
        grid=grid,
        latitude=round(point.latitude, 5),
        longitude=round(point.longitude, 5),
        directions=point.directions,
    )


def _worth(trip: Trip, parts: Sequence[Part]) -> Worth:
    going = {
        "yes": "Yes, as the river looks now.",
        "no": "No, as the river looks now.",
        "not_known": "Not known.",
    }
    rules = tuple(line.strip() for line in trip.booking.water.fishery_rules.splitlines() if line)
    said = []
    for part in parts:
        chosen = part.advice.rig
        why = " ".join(chosen.why)
        said.append(f"{part.day.beat.name}, {part.day.part}: {going[chosen.worth_going]} {why}")
    return Worth(
        worth_going=" ".join(said) or "Not known yet: it is too early to read the river.",
        permitted=parts[0].advice.permitted_because.text
        if parts
        else gather.permitted_reason(trip.days[0].meets_at).text,
        rules=tuple(f"The fishery told us: {line}" for line in rules),
        who_decides=WHO_DECIDES,
    )


def _river(trip: Trip, covered: Sequence[TripDay], parts: Sequence[Part], at: datetime) -> River:
    if parts:
        return pages.river_page([part.advice.outlook for part in parts], trip.river.zoneinfo, at=at)
    links = covered[0].beat.gauge_links.select_related("gauge").order_by("order")
    gauge = links[0].gauge if links else None
    usual = usual_level(gauge, covered[0].date, at=at) if gauge else None
    return River(
        gauge=gauge.name if gauge else "no gauge",
        sentence="What the river will do is not known this far ahead.",
        detail="The final issue, the evening before, says what it is doing.",
        picture=None,
        usual=usual.words if usual else "The record is too short to say what is usual that week.",
    )


def _setup_says(parts: Sequence[Part]) -> str:
    if not parts:
        return (
            "The evening before, when the river can be read, the final issue says what to tie on."
        )
    chosen = parts[0].advice.rig
    return "" if chosen.setup else " ".join(chosen.why)


def _later_setups(parts: Sequence[Part], units: str) -> tuple[SetUpPage, ...]:
    """Return the set-ups of later parts of the day, where they differ from the first."""
    seen = [parts[0].advice.rig.setup] if parts else []
    later = []
    for part in parts[1:]:
        setup = part.advice.rig.setup
        if setup is None or setup in seen:
            continue
        seen.append(setup)
        page = pages.setup_page(part.advice, units, when=f"{part.day.part}, {part.day.beat.name}")
        if page:
            later.append(page)
    return tuple(later)


def _kit(
    trip: Trip,
    member: PartyMember | None,
    covered: Sequence[TripDay],
    parts: Sequence[Part],
) -> Kit:
    if member is None:
        return Kit(bring=(), lent=(), buy=(), missing=())
    conditions = parts[0].advice.conditions if parts else None
    answer = loans.kit_for(member, [row.date for row in covered], conditions)
    missing = (*answer.missing, *missing_of(member, covered[0].date))
    return Kit(
        bring=answer.bring,
        lent=answer.lent,
        buy=answer.buy,
        missing=tuple(dict.fromkeys(missing)),
    )


def _emergency(trip: Trip, covered: Sequence[TripDay], person: Person | None) -> Emergency:
    guide = _guide()
    river = trip.river
    pool_points = AccessPoint.objects.filter(
        pool__beat__in={row.beat_id for row in covered}
    ).select_related("pool")
    points = {row.meeting_point_id: row.meeting_point for row in covered}
    points.update({point.pk: point for point in pool_points})
    whose = [person] if person else [member.person for member in trip.coming]
    contact = "; ".join(_contact(one, is_named=person is None) for one in whose)
    return Emergency(
        number=river.emergency_number,
        guide_name=guide.get_full_name() or guide.username,
        guide_phone=guide.phone or "not on file",
        fishery_phone=trip.booking.water.fishery_phone or "not on file",
        hospital=river.hospital or "not on file: ask your guide",
        no_signal_plan=river.no_signal_plan or "not on file: agree one with your guide first",
        if_the_guide_is_the_casualty=(
            "Do not go into the water after anybody. Shout, throw or reach with whatever floats. "
            f"Ring {river.emergency_number}, ask for water rescue and an ambulance, and give the "
            "grid reference of where you stand. Stay where you can be seen. No signal: "
            "follow the plan on this page."
        ),
        spots=tuple(_spot(trip, point) for point in points.values()),
        contact=contact,
    )


def _contact(person: Person, *, is_named: bool) -> str:
    held = f"{person.emergency_name} {person.emergency_phone}".strip()
    words = held or "none on file: ask before you start"
    return f"for {person.name}: {words}" if is_named else words


def _guide_copy(trip: Trip, parts: Sequence[Part], units: str) -> GuideCopy:
    judged = [row for part in parts for row in part.wading]
    setups = tuple(p.advice.rig.setup for p in parts if p.advice.rig.setup)
    return GuideCopy(
        stops=pages.stop_rows(judged),
        alternatives=tuple(
            pages.alternative_words(other, units)
            for part in parts
            for other in part.advice.rig.alternatives
        ),
        reasons=tuple(
            Said(**reason.as_json()) for part in parts for reason in part.advice.rig.reasons
        ),
        overruled=tuple(
            f"{lost.rule} would have asked for {lost.asked}; overruled by {lost.by}."
            for part in parts
            for lost in part.advice.rig.overruled
        ),
        tackle=kit.for_guide(setups, rods=trip.rods) if setups else (),
        people=tuple(pages.person_line(member, trip.days[0].date) for member in trip.coming),
        class_chances=tuple(
            (name.replace("_", " "), words.chance_words(chance))
            for name, chance in (parts[0].advice.conditions.class_chances if parts else ())
        ),
    )


def _guide() -> User:
    """Return the guide whose name and telephone stand on the packs."""
    guide = User.objects.filter(role=User.Role.GUIDE, is_active=True).order_by("id").first()
    if guide is None:
        raise NothingToBrief("No guide has an account yet, and a pack must say who to call.")
    return guide


def _guide_name() -> str:
    guide = _guide()
    return guide.get_full_name() or guide.username
