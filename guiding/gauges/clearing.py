"""The clearing time of a gauge: learned from the guide's notes of visibility, and kept as a fit."""

from __future__ import annotations

import json
from datetime import datetime, timedelta

from django.db import transaction

from guiding.gauges.conditions.looks import BEHIND, note_of
from guiding.gauges.hydrology.clearing import Clearing, Note, fit_clearing
from guiding.gauges.levels import levels_of
from guiding.gauges.models import Fit, Gauge, Modelled, Quantity, Reading, Series
from guiding.history.models import record

MODEL = "clearing after a spate, 1"
MOST_LOOKS = 400  # the newest; a river's bed and fields change


def kept_clearing(gauge: Gauge, at: datetime) -> Clearing:
    """Return what had been learned of a gauge by a moment; common practice where nothing was."""
    fits = Fit.objects.filter(gauge=gauge, what=Modelled.CLEARING, model=MODEL).known_at(at)
    kept = fits.values_list("parameters", flat=True).first()
    return Clearing.from_json(kept) if kept else Clearing()


def is_clearing_due(gauge: Gauge) -> bool:
    """Say whether looks have come in that the fit in force has not seen; no reading is read."""
    fit = Fit.objects.filter(gauge=gauge, what=Modelled.CLEARING, model=MODEL).in_force().first()
    return _on_file(gauge) != (fit.data_on_file if fit else 0)


def keep_clearing(gauge: Gauge, *, at: datetime) -> Fit | None:
    """Learn a gauge's clearing time from the looks on file and keep it; None: there are no looks.

    The fit before it is ended and kept. Too few notes are kept as well: they say how many there
    are, and common practice stands.
    """
    readings = Reading.objects.filter(
        series__gauge=gauge, series__quantity=Quantity.VISIBILITY, observed_at__lte=at
    ).exclude(quality=Reading.Quality.SUSPECT)
    looks = list(readings.order_by("-observed_at")[:MOST_LOOKS])
    if not looks:
        return None
    on_file = _on_file(gauge)
    learned = fit_clearing(_notes(gauge, looks))
    with transaction.atomic():
        Gauge.objects.select_for_update().get(pk=gauge.pk)
        before = Fit.objects.filter(gauge=gauge, what=Modelled.CLEARING).in_force()
        same = before.filter(model=MODEL, data_on_file=on_file).first()
        if same is not None:  # another pass was quicker, or nothing has come in
            return same
        before.update(is_in_force=False, ended_at=at)
        fit = Fit.objects.create(
            gauge=gauge,
            what=Modelled.CLEARING,
            model=MODEL,
            step_minutes=gauge.step_minutes,
            fitted_at=at,
            fit_seconds=0.0,
            data_from=looks[-1].observed_at,
            data_to=looks[0].observed_at,
            data_count=learned.notes,
            data_on_file=on_file,
            rain="none",
            parameters=learned.as_json(),
            learned=json.dumps(learned.as_json()).encode(),
            is_in_force=True,
            began_at=at,
            why="looks at the water came in",
        )
        record("clearing time learned", f"gauge {gauge.key}", at=at, after={"notes": learned.notes})
    return fit


def _on_file(gauge: Gauge) -> int:
    series = Series.objects.filter(gauge=gauge, quantity=Quantity.VISIBILITY)
    return sum(series.values_list("on_file", flat=True))


def _notes(gauge: Gauge, looks: list[Reading]) -> list[Note]:
    """Return looks beside the spates they were made in, the levels read span by span."""
    step = timedelta(minutes=gauge.step_minutes)
    notes = []
    span: list[Reading] = []
    for look in [*sorted(looks, key=lambda look: look.observed_at), None]:
        if span and (look is None or look.observed_at - span[-1].observed_at > BEHIND):
            first, last = span[0].observed_at - BEHIND, span[-1].observed_at
            levels = levels_of(gauge, first, last)
            found = (note_of(one.value, one.observed_at, levels, step) for one in span)
            notes += [note for note in found if note is not None]
            span = []
        if look is not None:
            span.append(look)
    return notes
