"""Weather runs kept as they were issued: no agency returns them later."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from guiding.gauges.intake.limits import moment_refusal
from guiding.gauges.models import Gauge, WeatherRun
from guiding.gauges.providers import metno
from guiding.gauges.providers.weather import WeatherRunRead
from guiding.history.models import record
from guiding.rivers.gridref import distance_km

FAR_KM = 50.0  # a run for a place further off than this is worth a word


class RunRefused(ValueError):
    """A run that may not be kept; the message says why."""


class RunDiffers(RunRefused):
    """Another run is on file under the same moment of issue; the first one stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRun:
    """A weather run on file, and whether it was there before."""

    run: WeatherRun
    is_repeated: bool
    says: tuple[str, ...]


@transaction.atomic
def keep_weather_run(gauge: Gauge, read: WeatherRunRead, *, at: datetime) -> KeptRun:
    """Keep a weather run as it was issued; a second time changes nothing.

    Raises RunRefused for a run from the future, and for another run under the same moment of
    issue: what was known then is never rewritten.
    """
    late = moment_refusal(read.issued_at, at)
    if late:
        raise RunRefused(f"issued at {late}.")
    says = _weather_says(gauge, read)
    run, is_new = WeatherRun.objects.get_or_create(
        gauge=gauge,
        source=metno.SOURCE,
        issued_at=read.issued_at,
        defaults={
            "fetched_at": at,
            "raw": read.raw,
            "steps": [step.as_json() for step in read.steps],
        },
    )
    if not is_new:
        if run.raw != read.raw:
            raise RunDiffers(
                f"another run issued at {read.issued_at:%Y-%m-%d %H:%M} UTC is on file for "
                f"{gauge.name}; a run is kept as it was issued."
            )
        return KeptRun(run=run, is_repeated=True, says=says)
    record(
        "weather run kept",
        f"gauge {gauge.key}",
        at=at,
        after={"source": metno.SOURCE, "issued_at": read.issued_at.isoformat()},
    )
    return KeptRun(run=run, is_repeated=False, says=says)


def _weather_says(gauge: Gauge, read: WeatherRunRead) -> tuple[str, ...]:
    says = []
    far_km = distance_km(gauge.latitude, gauge.longitude, read.latitude, read.longitude)
    if far_km > FAR_KM:
        says.append(
            f"mind: the run is for {read.latitude:g}, {read.longitude:g}, {far_km:.0f} km from "
            f"{gauge.name}"
        )
    dry = [step for step in read.steps if step.rain_mm is None]
    if dry:
        says.append(
            f"{len(dry)} of {len(read.steps)} steps do not say how much rain: not known, not nought"
        )
    return tuple(says)
