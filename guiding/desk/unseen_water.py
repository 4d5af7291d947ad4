"""What no rain tells of the water fished today and tomorrow: what is on file, what is lacking."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max

from briefings.models import Briefing
from guiding.bookings.models import Booking, TripDay
from guiding.gauges.ice import HOURS, ice_now
from guiding.gauges.models import BeatGauge, Quantity, Reading
from guiding.gauges.outlook import hours_of
from guiding.regimes.on_file import BeyondRain, FishingHours, beyond_rain_of_all
from guiding.regimes.riverclock import day_words


@dataclass(frozen=True, slots=True, kw_only=True)
class UnseenWater:
    """One part of a trip's day on water that a dam, the tide or ice may move."""

    booking: Booking
    where: str  # "Today, morning: Ossel Foot"
    lacking: tuple[str, ...]  # what is to be typed in, in words
    out_by: str  # the time to be out, where one is on record
    is_new: bool  # something came on file after the newest final pack went


def unseen_water(bookings: Iterable[Booking], at: datetime) -> list[UnseenWater]:
    """Return the parts of today and tomorrow on moved or iced water, in order of time.

    The number of questions does not grow with the trips.
    """
    coming = Booking.objects.filter(pk__in=[booking.pk for booking in bookings])
    days = (
        TripDay.objects.filter(
            booking__in=coming, ends_at__gt=at, date__lte=at.date() + timedelta(days=2)
        )
        .select_related("booking", "beat__water__river")
        .prefetch_related("beat__water__part_hours")
        .order_by("meets_at", "pk")
    )
    rows = [row for row in days if _days_ahead(row, at) <= 1]
    asked = [_hours(row) for row in rows]
    told = beyond_rain_of_all(asked, at=at)
    icy = _beats_that_may_ice(rows, at)
    issued = _last_final_issues(rows)
    found = [
        _unseen(row, beyond, at, may_ice=row.beat_id in icy, issued=issued.get(row.booking_id))
        for row, beyond in zip(rows, told, strict=True)
    ]
    return [row for row in found if row is not None]


def _days_ahead(row: TripDay, at: datetime) -> int:
    return (row.date - row.beat.water.river.day_of(at)).days


def _hours(row: TripDay) -> FishingHours:
    starts_at, ends_at = hours_of(row.beat.water, row.date, row.part)
    return FishingHours(beat=row.beat, day=row.date, starts_at=starts_at, ends_at=ends_at)


def _unseen(
    row: TripDay, beyond: BeyondRain, at: datetime, *, may_ice: bool, issued: datetime | None
) -> UnseenWater | None:
    moved, ahead = beyond.moved, _days_ahead(row, at)
    lacking = list(moved.missing) if moved else []
    if may_ice and ahead == 0 and beyond.ice.is_there is None:
        lacking.append("nobody has looked for ice today, and it may be cold enough")
    if moved is None and not lacking and not beyond.ice.is_there:
        return None
    when = ("Today", "Tomorrow")[max(ahead, 0)]
    kept = [said.kept_at for said in moved.on_record] if moved else []
    return UnseenWater(
        booking=row.booking,
        where=f"{when}, {day_words(row.date)}, {row.get_part_display()}: {row.beat.name}",
        lacking=tuple(lacking),
        out_by=_told(beyond, at),
        is_new=issued is not None and any(moment > issued for moment in kept),
    )


def _told(beyond: BeyondRain, at: datetime) -> str:
    said = []
    if beyond.ice.is_there:
        said.append(f"Ice was seen: {beyond.ice.words}.")
    if beyond.moved:
        said.append(beyond.moved.out_by_words(at))
        if beyond.moved.is_known and not said[-1]:
            said.append("No wave is on the schedule, which is a plan and not a promise.")
    return " ".join(line for line in said if line)


def _beats_that_may_ice(rows: Sequence[TripDay], at: datetime) -> set[int]:
    """Return the beats whose gauge stands on a river that can ice, and may be cold enough."""
    links = BeatGauge.objects.filter(beat__in={row.beat_id for row in rows}, gauge__may_ice=True)
    gauges: dict[int, list[int]] = {}
    for beat, gauge in links.values_list("beat", "gauge"):
        gauges.setdefault(gauge, []).append(beat)
    readings = Reading.objects.filter(
        series__gauge__in=gauges,
        series__quantity__in=(Quantity.WATER, Quantity.AIR),
        observed_at__range=(at - timedelta(hours=HOURS), at),
    ).exclude(quality=Reading.Quality.SUSPECT)
    water: dict[int, float] = {}
    air: dict[int, list[float]] = {}
    for gauge, quantity, value in readings.order_by("observed_at").values_list(
        "series__gauge", "series__quantity", "value"
    ):
        if quantity == Quantity.WATER:
            water[gauge] = value
        else:
            air.setdefault(gauge, []).append(value)
    return {
        beat
        for gauge, beats in gauges.items()
        for beat in beats
        if ice_now(
            water_c=water.get(gauge),
            air_mean_c=sum(air[gauge]) / len(air[gauge]) if gauge in air else None,
            air_is_forecast=False,
        ).may_be
    }


def _last_final_issues(rows: Sequence[TripDay]) -> Mapping[int, datetime]:
    finals = Briefing.objects.filter(
        booking__in={row.booking_id for row in rows},
        issue=Briefing.Issue.FINAL,
        person__isnull=False,
    )
    newest = finals.order_by().values("booking").annotate(last=Max("issued_at"))
    return dict(newest.values_list("booking", "last"))
