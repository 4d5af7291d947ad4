"""The pages of a pack, one subject a function: answers become the words of the pack."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from briefings import words
from briefings.advice import Advice
from briefings.content import (
    FlyPicture,
    LeaderPicture,
    PoolStop,
    River,
    RiverPicture,
    SetUpPage,
    SourceRow,
)
from briefings.pools import PoolWading
from briefings.rig import Alternative
from guiding.bookings.models import PartyMember
from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.models import Gauge
from guiding.gauges.outlook import Outlook
from guiding.gauges.outlook_words import age_words, river_sentence
from guiding.gauges.picture import river_picture
from guiding.rivers.models import River as RiverRow
from guiding.tackle.setup import Fly, LeaderSection, SetUp
from guiding.units import length_words

REASONS_SHOWN = 3  # on a client's page; the guide's copy carries all of them


def fly_words(fly: Fly) -> str:
    """Return "size 10 double, sparse, 19 mm", or a tube by its length."""
    made = "tube" if fly.is_tube else f"size {fly.hook_size} {fly.hook}".strip()
    if not fly.is_tube and fly.hook_size is None:
        made = fly.hook
    weight = f", {fly.weight_g:g} g" if fly.weight_g else ""
    return f"{made}, {fly.dressing} dressing, {fly.length_mm} mm{weight}"


def fly_picture(fly: Fly) -> FlyPicture:
    """Return a fly as it is drawn and named."""
    return FlyPicture(
        role=fly.role,
        pattern=fly.pattern,
        words=fly_words(fly),
        length_mm=fly.length_mm,
        is_tube=fly.is_tube,
        dressing=fly.dressing,
        colours=fly.colours,
        looks_like=fly.looks_like,
    )


def _section_words(section: LeaderSection, units: str) -> str:
    thick = f", {section.diameter_mm:.2f} mm" if section.diameter_mm is not None else ""
    material = f" {section.material}" if section.material else ""
    return f"{section.part}{material}: {length_words(section.length_m, units)}{thick}"


def _leader_picture(setup: SetUp, units: str) -> LeaderPicture:
    dropper_words = ""
    if setup.dropper and setup.dropper_from_line_m is not None:
        where = length_words(setup.dropper_from_line_m, units)
        dropper_words = (
            f"{setup.dropper.pattern}, {fly_words(setup.dropper)}; {where} from the line"
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
        point_words=f"{setup.point.pattern}, {fly_words(setup.point)}",
    )


def setup_sentence(setup: SetUp, units: str) -> str:
    """Return the set-up in one sentence for the day sheet."""
    tip = f" with {setup.tip.name}" if setup.tip else ""
    leader = length_words(setup.leader_m, units)
    point = f"{setup.point.pattern}, {fly_words(setup.point)}"
    if setup.dropper is None:
        return f"{setup.line.name}{tip}, {leader} of leader, one fly: {point}."
    dropper = f"{setup.dropper.pattern}, {fly_words(setup.dropper)}"
    return f"{setup.line.name}{tip}, {leader} of leader; point {point}; dropper {dropper}."


def alternative_words(other: Alternative, units: str) -> str:
    """Return the next best set-up and what would switch to it."""
    return f"{other.switch_when}: {setup_sentence(other.setup, units)}"


def setup_page(advice: Advice, units: str, *, when: str = "") -> SetUpPage | None:
    """Return the set-up page, or None where there is no set-up to show."""
    setup = advice.rig.setup
    if setup is None:
        return None
    on_the_leader = [setup.point, *([setup.dropper] if setup.dropper else [])]
    laid_out = [*advice.day_box.points, *advice.day_box.droppers]
    why = " ".join(
        f"{reason.text} Here: {reason.because}." for reason in advice.rig.reasons[:REASONS_SHOWN]
    )
    return SetUpPage(
        sentence=setup_sentence(setup, units),
        how=setup.how,
        why=why,
        knots=setup.knots,
        leader=_leader_picture(setup, units),
        flies=tuple(fly_picture(fly) for fly in on_the_leader),
        laid_out=tuple(fly_picture(fly) for fly in laid_out),
        alternative=(
            alternative_words(advice.rig.alternatives[0], units) if advice.rig.alternatives else ""
        ),
        when=when,
    )


def river_page(outlooks: Sequence[Outlook], zone: ZoneInfo, *, at: datetime) -> River:
    """Return the river on the day sheet for the hours from the first part to the last."""
    first = outlooks[0]
    starts_at = min(o.conditions.starts_at for o in outlooks)
    ends_at = max(o.conditions.ends_at for o in outlooks)
    if first.gauge is None:
        return River(
            gauge="no gauge",
            sentence="What the river will do is not known: no gauge speaks for this beat.",
            detail="Your guide looks at the water before anybody fishes.",
            picture=None,
            usual="",
        )
    beyond_rain = [o.conditions.regime for o in outlooks if o.conditions.regime != "natural"]
    if beyond_rain:
        return _river_beyond_rain(first, beyond_rain[0], (starts_at, ends_at), zone, at)
    sentence, detail = river_sentence(
        first.record, first.levels, first.marks, starts_at, ends_at, zone
    )
    unseen = " ".join(line for line in first.conditions.says if line not in detail)
    return River(
        gauge=first.gauge.name,
        sentence=sentence,
        detail=f"{detail} {unseen}".strip(),
        picture=_picture(first, first.record, (starts_at, ends_at), zone, at),
        usual="",
    )


def _river_beyond_rain(
    outlook: Outlook,
    regime: str,
    hours: tuple[datetime, datetime],
    zone: ZoneInfo,
    at: datetime,
) -> River:
    """Return the river of a beat that a dam or the tide moves: measured only, nothing forecast."""
    mover = "water is let out at a dam" if regime == "regulated" else "the tide moves this water"
    gauge = outlook.gauge
    return River(
        gauge=gauge.name if gauge else "no gauge",
        sentence=f"What this water will do is not known: {mover}.",
        detail=" ".join(
            (
                f"The line is {gauge.name if gauge else 'a gauge'}, which cannot see that.",
                *outlook.conditions.says,
            )
        ),
        picture=_picture(outlook, None, hours, zone, at),
        usual="",
    )


def _picture(
    outlook: Outlook,
    record: ForecastRecord | None,
    hours: tuple[datetime, datetime],
    zone: ZoneInfo,
    at: datetime,
) -> RiverPicture:
    return RiverPicture(
        **river_picture(
            levels=outlook.levels,
            record=record,
            marks=outlook.marks,
            zone=zone,
            at=at,
            day=hours,
            day_words="your day",
            step_minutes=outlook.gauge.step_minutes if outlook.gauge else 60,
        )
    )


def source_rows(outlook: Outlook, units: str, zone: ZoneInfo) -> tuple[SourceRow, ...]:
    """Return every condition, and every input of the forecast, as listed on the last page."""
    rows = [
        SourceRow(
            what=words.NAMES.get(value.what, value.what.replace("_", " ")),
            value=words.value_words(value, units),
            spread=words.spread_words(value, units),
            how_known=words.HOW_KNOWN[value.kind],
            at=words.short_moment_words(value.at, zone) if value.at else "",
            age=age_words(value.age_hours),
            source=value.source,
        )
        for value in outlook.conditions.all()
    ]
    if outlook.record:
        rows += [
            SourceRow(
                what=f"forecast made from: {given.what}",
                value="used" if given.observed_at else "none on file",
                spread="",
                how_known="",
                at=words.short_moment_words(given.observed_at, zone) if given.observed_at else "",
                age=age_words(given.age_hours),
                source=given.source,
            )
            for given in outlook.record.inputs
        ]
    return tuple(rows)


def credit_lines(river: RiverRow) -> tuple[str, ...]:
    """Return whose gauges and whose weather the pack stands on."""
    lines = []
    for gauge in Gauge.objects.filter(river=river):
        if gauge.source:
            lines.append(f"Gauge {gauge.name}: {gauge.source}.")
        run = gauge.weather_runs.order_by("-issued_at").first()
        if run:
            lines.append(f"Weather: {run.source}.")
    return tuple(dict.fromkeys(lines))


def stop_rows(judged: Sequence[PoolWading]) -> tuple[PoolStop, ...]:
    """Return the guide's table: the level at which wading stops, for each person and pool."""
    return tuple(
        PoolStop(
            person=row.person.name,
            pool=row.pool.name,
            spot="",
            stop_level=(
                "not known"
                if row.wading.stop_level_m is None
                else f"{row.wading.stop_level_m:.2f} m"
            ),
            decider=row.wading.decider or "",
            chance=words.chance_words(row.chance),
            text=row.wading.text,
        )
        for row in judged
    )


def person_line(member: PartyMember, day: date) -> str:
    """Return one of the party as the guide needs to know them; what is not known is said."""
    person = member.person
    age = person.age_on(day)
    facts = [
        member.get_role_display(),
        f"{age} years" if age is not None else "age not known",
        f"{person.height_m:.2f} m" if person.height_m else "height not known",
        f"{person.mass_kg:.0f} kg" if person.mass_kg else "weight not known",
        f"wading: {person.get_wading_display() or 'not known'}",
        f"casting: {person.get_casting_display() or 'not known'}",
        f"{person.hand}-handed" if person.hand else "hand not known",
    ]
    if person.is_nervous:
        facts.append("nervous in moving water")
    if person.is_frail:
        facts.append("bank only, whatever the water does")
    if person.can_swim is False:
        facts.append("does not swim")
    return f"{person.name}: {', '.join(facts)}."
