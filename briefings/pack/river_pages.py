"""The river on the day sheet, and what it all rests on: outlooks become words and a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from briefings.pack import words
from briefings.pack.content import River, RiverPicture, SourceRow
from briefings.pack.words import listed, opened
from guiding.feeds.credits import credits_for
from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.models import Gauge
from guiding.gauges.outlook import Outlook
from guiding.gauges.outlook_words import age_words, river_sentence
from guiding.gauges.picture import river_picture
from guiding.rivers.models import River as RiverRow

UNSEEN_MARK = "your guide's mark"


def river_page(
    outlooks: Sequence[Outlook], zone: ZoneInfo, *, at: datetime, names: Sequence[str] = ()
) -> River:
    """Return the river on the day sheet for the hours from the first part to the last.

    Parts that one gauge speaks for are told together; where there are several, or a dam or the
    tide moves one of them, each is told under its own name. The picture is of the first that has a
    forecast.
    """
    groups: dict[tuple[int | None, str], list[int]] = {}
    for place, outlook in enumerate(outlooks):
        gauge = outlook.gauge.pk if outlook.gauge else None
        groups.setdefault((gauge, outlook.conditions.regime), []).append(place)
    rivers = [
        _river_of([outlooks[place] for place in places], zone, at) for places in groups.values()
    ]
    if len(rivers) == 1:
        return rivers[0]
    called = [
        opened(listed([names[p] if names else outlooks[p].conditions.part for p in places]))
        for places in groups.values()
    ]
    pictured = next((r for r in rivers if r.picture and r.picture.forecast), None)
    shown = pictured or next((r for r in rivers if r.picture), rivers[0])
    told = list(zip(called, rivers, strict=True))
    return River(
        gauge=shown.gauge,
        sentence=" ".join(f"{name}: {river.sentence}" for name, river in told),
        detail=" ".join(f"{name}: {river.detail}" for name, river in told),
        picture=shown.picture,
        usual="",
    )


def _river_of(outlooks: Sequence[Outlook], zone: ZoneInfo, at: datetime) -> River:
    """Return the river of parts that share a gauge and what moves the water."""
    first = outlooks[0]
    starts_at = min(o.conditions.starts_at for o in outlooks)
    ends_at = max(o.conditions.ends_at for o in outlooks)
    says = tuple(dict.fromkeys(line for o in outlooks for line in o.conditions.says))
    if first.conditions.regime != "natural":
        return _river_beyond_rain(outlooks, says)
    if first.gauge is None:
        return River(
            gauge="no gauge",
            sentence="What the river will do is not known: no gauge speaks for this beat.",
            detail="Your guide looks at the water before anybody fishes.",
            picture=None,
            usual="",
        )
    sentence, detail = river_sentence(
        first.record,
        first.levels,
        first.marks,
        starts_at,
        ends_at,
        zone,
        step_minutes=first.gauge.step_minutes,
    )
    unseen = " ".join(line for line in says if line not in detail)
    return River(
        gauge=first.gauge.name,
        sentence=sentence,
        detail=f"{detail} {unseen}".strip(),
        picture=_picture(first, first.record, (starts_at, ends_at), zone, at),
        usual="",
    )


def _river_beyond_rain(outlooks: Sequence[Outlook], says: Sequence[str]) -> River:
    """Return the river of a beat that a dam or the tide moves: measured only, nothing forecast."""
    conditions, gauge = outlooks[0].conditions, outlooks[0].gauge
    regulated = conditions.regime == "regulated"
    mover = "water is let out at a dam" if regulated else "the tide moves this water"
    coming = dict.fromkeys(
        moved.because(o.conditions.asked_at)
        for o in outlooks
        if (moved := o.conditions.moved) is not None
    )
    sentence = " ".join(f"{opened(why)}." for why in coming if why)
    moved = conditions.moved
    if moved is not None and moved.is_known:
        ask = "Ask for the times again on the day itself: they change."
    else:
        ask = "Ask the fishery for today's times before anybody goes near the water."
    called = gauge.name if gauge else "A gauge"
    feels = moved is not None and moved.gauge_is_there
    sees = "measures only what has come" if feels else "cannot see that"
    # the order to be out stands in the bar, beside the hours and under the word Wading
    told = {o.conditions.out_by_words for o in outlooks} - {""}
    says = [line for line in says if not any(line.startswith(words_of) for words_of in told)]
    return River(
        gauge=gauge.name if gauge else "no gauge",
        sentence=sentence or f"What this water will do is not known: {mover}.",
        detail=" ".join((f"{called} {sees}, so nothing is drawn.", ask, *says)),
        picture=None,
        usual="",
    )


def _picture(
    outlook: Outlook,
    record: ForecastRecord | None,
    hours: tuple[datetime, datetime],
    zone: ZoneInfo,
    at: datetime,
) -> RiverPicture:
    # a mark without a word on what is seen there is drawn by its level alone: no class names
    marks = [replace(mark, seen=mark.seen or UNSEEN_MARK) for mark in outlook.marks]
    return RiverPicture(
        **river_picture(
            levels=outlook.levels,
            record=record,
            marks=marks,
            zone=zone,
            at=at,
            day=hours,
            day_words="your day",
            step_minutes=outlook.gauge.step_minutes if outlook.gauge else 60,
            rain=outlook.rain,
            place=_place(outlook.gauge),
        )
    )


def _place(gauge: Gauge | None) -> tuple[float, float] | None:
    """Return where the nights are counted, or None where it was never written down."""
    if gauge is None or gauge.latitude is None or gauge.longitude is None:
        return None
    return gauge.latitude, gauge.longitude


def source_rows_of_day(
    named: Sequence[tuple[str, Outlook]], units: str, zone: ZoneInfo, *, is_client: bool
) -> tuple[SourceRow, ...]:
    """Return the sources of every part of a day; of later parts, what differs, by its name."""
    rows: list[SourceRow] = []
    for name, outlook in named:
        mine = source_rows(outlook, units, zone, is_client=is_client)
        rows += [
            row if not rows else replace(row, what=f"{name}: {row.what}")
            for row in mine
            if row not in rows
        ]
    return tuple(rows)


def source_rows(
    outlook: Outlook, units: str, zone: ZoneInfo, *, is_client: bool
) -> tuple[SourceRow, ...]:
    """Return every condition, and every input of the forecast, as listed on the last page.

    A client's copy leaves out the class of the level: its name is a word between guides.
    """
    conditions = outlook.conditions
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
        for value in conditions.all()
        if not (is_client and value is conditions.level_class)
    ]
    if conditions.moved:
        rows += [
            SourceRow(
                what=said.what,
                value=said.value,
                spread="none",
                how_known="said",
                at=words.short_moment_words(said.said_at, zone),
                age=age_words((conditions.asked_at - said.said_at).total_seconds() / 3600),
                source=said.source,
            )
            for said in conditions.moved.on_record
        ]
    if outlook.record:
        rows += [
            SourceRow(
                what=f"forecast made from: {given.what}",
                value="used" if given.observed_at else "none on file",
                spread="none",
                how_known="on file" if given.observed_at else "not known",
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
    gauges = list(Gauge.objects.filter(river=river))
    for gauge in gauges:
        if gauge.source:
            lines.append(f"Gauge {gauge.name}: {gauge.source}.")
        run = gauge.weather_runs.order_by("-issued_at").first()
        if run:
            lines.append(f"Weather: {run.source}.")
    return tuple(dict.fromkeys((*lines, *credits_for(gauges))))
