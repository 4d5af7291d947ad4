"""A water file -> rows: all of it or nothing, and a second time it only brings rows up to date."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction

from guiding.gauges.models import BeatGauge, Gauge, Mark, PoolGauge, Sounding
from guiding.gauges.pairing import note_typed
from guiding.gauges.waterfile.checks import problems_between
from guiding.gauges.waterfile.reading import Entry, WaterFile, WaterFileRefused, read_water_file
from guiding.history.models import record
from guiding.regimes.models import Dam, DamBeat, TideBeat, TidePlace
from guiding.rivers.models import AccessPoint, Beat, PartHours, Pool, River, Water


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """What a water file changed, by table, and what the guide should know is still missing."""

    river: River
    added: dict[str, int]
    changed: dict[str, int]
    unchanged: dict[str, int]
    says: tuple[str, ...]


@transaction.atomic
def load_water(document: dict[str, Any], *, at: datetime, who: Any = None) -> Loaded:
    """Store a parsed water file; raise WaterFileRefused, with nothing changed, on any problem.

    Rows are found by name (soundings by spot, day and level). Keys that the file leaves out keep
    what is on file, and rows that it no longer names stay.
    """
    file = read_water_file(document)
    problems = problems_between(file, today=at.date())
    if problems:
        raise WaterFileRefused(problems)
    loading = _Loading()
    river = loading.load(file)
    if loading.problems:
        raise WaterFileRefused(loading.problems)
    if loading.added or loading.changed:
        record(
            "water loaded",
            f"river {river.key}",
            at=at,
            who=who,
            after={"added": dict(loading.added), "changed": dict(loading.changed)},
        )
    return Loaded(
        river=river,
        added=dict(loading.added),
        changed=dict(loading.changed),
        unchanged=dict(loading.unchanged),
        says=tuple(_still_missing(river)),
    )


class _Loading:
    """One run: it counts what it did and collects what it could not do."""

    def __init__(self) -> None:
        self.added: Counter[str] = Counter()
        self.changed: Counter[str] = Counter()
        self.unchanged: Counter[str] = Counter()
        self.problems: list[str] = []
        self.gauges: dict[str, Gauge] = {}

    def load(self, file: WaterFile) -> River:
        river = self._keep(River, file.river, {"name__iexact": file.river.name})
        for entry in file.gauges:
            gauge = self._owned(Gauge, entry, river=river)
            if gauge is not None:
                self.gauges[entry.name.casefold()] = gauge
        for entry in file.waters:
            water = self._owned(Water, entry, river=river)
            if water is not None:
                self._water(entry, water)
        for entry in file.gauges:
            gauge = self.gauges.get(entry.name.casefold())
            if gauge is not None:
                for mark in entry.inside("mark"):
                    self._mark(mark, gauge)
        for entry in file.dams:
            self._mover(entry, self._owned(Dam, entry, river=river), DamBeat, "dam")
        for entry in file.tide_places:
            self._mover(entry, self._owned(TidePlace, entry, river=river), TideBeat, "place")
        return river

    def _mover(self, entry: Entry, mover: Any, link: type[models.Model], kind: str) -> None:
        """Lay beats below a dam, or in reach of a tide; a natural beat has neither."""
        for beat_entry in entry.inside("beat") if mover is not None else ():
            beat = Beat.objects.named(beat_entry.name).first()
            if beat is None:
                self.problems.append(f"{beat_entry.place}: no beat is called {beat_entry.name!r}")
            elif beat.is_natural:
                self.problems.append(
                    f"{beat_entry.place}: {beat} has the regime natural; allowed are regulated "
                    "and tidal"
                )
            else:
                self._keep(link, beat_entry, {kind: mover, "beat": beat}, without=("name",))

    def _water(self, entry: Entry, water: Water) -> None:
        for hours in entry.inside("part_hours"):
            same = {key: hours.values[key] for key in ("part", "first_month_day")}
            self._keep(PartHours, hours, {"water": water, **same})
        for point in entry.inside("access_point"):
            same = {"water": water, "name__iexact": point.name}
            self._keep(AccessPoint, point, same, pool=None)
        for beat_entry in entry.inside("beat"):
            beat = self._owned(Beat, beat_entry, water=water)
            if beat is not None:
                self._beat(beat_entry, beat)

    def _beat(self, entry: Entry, beat: Beat) -> None:
        links = [(link, self._gauge(link, link.name)) for link in entry.inside("gauge")]
        for link, gauge in links:
            if gauge is not None:
                row = self._keep(BeatGauge, link, {"beat": beat, "gauge": gauge}, without=("name",))
                note_typed(row, link.given)
        if not links and len(self.gauges) == 1 and not beat.gauge_links.exists():
            BeatGauge.objects.create(beat=beat, gauge=next(iter(self.gauges.values())))
            self.added[str(BeatGauge._meta.verbose_name)] += 1
        for pool_entry in entry.inside("pool"):
            same = {"beat": beat, "name__iexact": pool_entry.name}
            pool = self._keep(Pool, pool_entry, same, without=("ratio",))
            self._pool(pool_entry, pool)

    def _pool(self, entry: Entry, pool: Pool) -> None:
        for point in entry.inside("access_point"):
            same = {"water": pool.beat.water, "name__iexact": point.name}
            self._keep(AccessPoint, point, same, pool=pool)
        gauges = set()
        for sounding in entry.inside("sounding"):
            gauge = self._gauge(sounding, sounding.values["gauge"])
            if gauge is None:
                continue
            gauges.add(gauge)
            self._within(sounding, gauge)
            same = {key: sounding.values[key] for key in ("spot", "measured_on", "level_m")}
            self._keep(
                Sounding, sounding, {"pool": pool, "gauge": gauge, **same}, without=("gauge",)
            )
        if entry.values["ratio"] is None:
            return
        gauges = gauges or {link.gauge for link in pool.beat.gauge_links.all()[:1]}
        if not gauges:
            self.problems.append(f"{entry.place}: ratio needs a gauge on the beat or a sounding")
        for gauge in gauges:
            self._ratio(entry, pool, gauge)

    def _ratio(self, entry: Entry, pool: Pool, gauge: Gauge) -> None:
        only = Entry(
            place=entry.place,
            values={"ratio": entry.values["ratio"]},
            given=frozenset(["ratio"]),
            parts={},
        )
        self._keep(PoolGauge, only, {"pool": pool, "gauge": gauge})

    def _mark(self, entry: Entry, gauge: Gauge) -> None:
        self._within(entry, gauge)
        beat = None
        if entry.values["beat"]:
            beat = Beat.objects.named(entry.values["beat"]).first()
            if beat is None:
                self.problems.append(f"{entry.place}: no beat is called {entry.values['beat']!r}")
                return
        same = {"gauge": gauge, "beat": beat, "kind": entry.values["kind"]}
        self._keep(Mark, entry, same, without=("beat",))

    def _gauge(self, entry: Entry, name: str | None) -> Gauge | None:
        """Return the gauge an entry names, from the file or on file; none: the file's only one."""
        if name is None:
            return next(iter(self.gauges.values()), None)
        gauge = self.gauges.get(name.casefold()) or Gauge.objects.named(name).first()
        if gauge is None:
            known = ", ".join(Gauge.objects.values_list("name", flat=True)) or "none"
            self.problems.append(f"{entry.place}: no gauge is called {name!r}; known are: {known}")
        return gauge

    def _within(self, entry: Entry, gauge: Gauge) -> None:
        level_m = entry.values["level_m"]
        if not gauge.lowest_m <= level_m <= gauge.highest_m:
            self.problems.append(
                f"{entry.place}: level_m is {level_m:g}; gauge {gauge.name} reads "
                f"{gauge.lowest_m:g} to {gauge.highest_m:g} m"
            )

    def _owned(self, model: type[models.Model], entry: Entry, **owner: Any) -> Any:
        """Keep a row whose name is single in the house, unless somebody else's has that name."""
        row = model._default_manager.filter(name__iexact=entry.name).first()
        ((kind, whose),) = owner.items()
        if row is not None and getattr(row, kind) != whose:
            self.problems.append(
                f"{entry.place}: the {kind} {getattr(row, kind)} has one of that name already"
            )
            return None
        return self._keep(model, entry, {"name__iexact": entry.name}, **owner)

    def _keep(
        self,
        model: type[models.Model],
        entry: Entry,
        same: dict[str, Any],
        without: tuple[str, ...] = (),
        **owner: Any,
    ) -> Any:
        """Add the row, or bring the one that is the `same` up to date; count which it was."""
        table = str(model._meta.verbose_name)
        row = model._default_manager.filter(**_lookup(same)).first()
        values = {key: value for key, value in entry.values.items() if key not in without}
        values |= owner
        if row is None:
            links = {key: value for key, value in same.items() if "__" not in key}
            filled = {key: value for key, value in values.items() if value is not None}
            row = model(**links | filled)
            self.added[table] += 1
        else:
            news = {
                key: value
                for key, value in values.items()
                if (key in entry.given or key in owner) and getattr(row, key) != value
            }
            (self.changed if news else self.unchanged)[table] += 1
            for key, value in news.items():
                setattr(row, key, value)
            if not news:
                return row
        self._save(row, entry)
        return row

    def _save(self, row: models.Model, entry: Entry) -> None:
        try:
            row.clean_fields()
            row.validate_constraints()
        except ValidationError as error:
            # what hangs on a row that cannot be stored cannot be looked at either
            problem = f"{entry.place}: {' '.join(error.messages)}"
            raise WaterFileRefused([*self.problems, problem]) from error
        row.save()


def _lookup(same: dict[str, Any]) -> dict[str, Any]:
    """Return filters; a link to nothing is looked for as nothing."""
    return {
        (f"{key}__isnull" if value is None else key): (True if value is None else value)
        for key, value in same.items()
    }


def _still_missing(river: River) -> list[str]:
    says = []
    for water in river.waters.prefetch_related("access_points", "part_hours", "beats"):
        if not any(point.is_meeting_point for point in water.access_points.all()):
            says.append(f"{water}: no meeting point yet")
        if not water.part_hours.all():
            says.append(f"{water}: no hours for any part of the day yet")
        if not water.beats.all():
            says.append(f"{water}: no beat yet")
        for beat in water.beats.all():
            if not beat.gauge_links.exists():
                says.append(f"{beat}: no gauge speaks for it, so its level is not known")
            if not beat.is_natural and not _has_mover(beat):
                says.append(f"{beat}: no dam or tide place is on file, so bank only")
            if not Sounding.objects.filter(pool__beat=beat).exists():
                says.append(f"{beat}: no sounding yet, so wading there is not known")
    says += [
        f"{gauge}: no marks yet, so its levels have no names"
        for gauge in river.gauges.filter(marks__isnull=True)
    ]
    return says


def _has_mover(beat: Beat) -> bool:
    return DamBeat.objects.filter(beat=beat).exists() or TideBeat.objects.filter(beat=beat).exists()
