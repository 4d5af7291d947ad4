"""Weather runs and forecasts, kept as they were issued."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from django.db import models

from guiding.gauges.hydrology.record import (
    ForecastRecord,
    Input,
    WaterAhead,
    pack_paths,
    unpack_paths,
)
from guiding.gauges.tables.fits import Fit
from guiding.gauges.tables.places import Gauge


class WeatherRun(models.Model):
    """One weather forecast, kept as it was issued: no agency returns it later."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="weather_runs")
    issued_at = models.DateTimeField()
    fetched_at = models.DateTimeField()
    source = models.CharField(max_length=120)
    raw = models.JSONField(help_text="as received")
    # one object a step: starts_at, ends_at (ISO), rain_mm, air_c, wind_ms, wind_from_deg,
    # cloud_percent; a key that the run did not carry is null, never zero
    steps = models.JSONField(default=list)

    class Meta:
        ordering = ["gauge", "-issued_at"]
        indexes = [
            models.Index(fields=["gauge", "-issued_at"]),
            models.Index(fields=["gauge", "-fetched_at"]),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["gauge", "source", "issued_at"], name="weather_run_kept_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.source} {self.issued_at:%Y-%m-%d %H:%M} for {self.gauge}"


class ForecastQuerySet(models.QuerySet["Forecast"]):
    def known_at(self, moment: datetime) -> ForecastQuerySet:
        """Forecasts that had been issued at a moment, the newest first."""
        return self.filter(issued_at__lte=moment).order_by("-issued_at", "-id")


class Forecast(models.Model):
    """What was known when it was issued: never recomputed."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="forecasts")
    weather_run = models.ForeignKey(
        WeatherRun, null=True, blank=True, on_delete=models.PROTECT, related_name="forecasts"
    )
    # of the level; empty where there was none and the river's own past had to do
    fit = models.ForeignKey(
        Fit, null=True, blank=True, on_delete=models.RESTRICT, related_name="forecasts"
    )
    issued_at = models.DateTimeField()
    model = models.CharField(max_length=60)
    step_minutes = models.PositiveIntegerField()
    # {"times": [ISO...], "q10": [...], "q50": [...], "q90": [...]}; null where not known
    quantiles = models.JSONField(default=dict)
    # water temperature [degrees C] in the same shape, with "model" and "says"; empty: not known
    water = models.JSONField(default=dict, blank=True)
    marks = models.JSONField(default=list)
    inputs = models.JSONField(default=list)
    says = models.JSONField(default=list, help_text="what must be said in words, one a line")
    paths = models.BinaryField(null=True, help_text="whole paths, see hydrology/record.py")
    # levels at the leads that are scored, of this forecast and of "it stays as it is": see
    # hydrology/spread.py; empty once all of them are scored
    spreads = models.BinaryField(null=True)
    next_score_at = models.DateTimeField(null=True, help_text="empty: all that can be is scored")

    objects = ForecastQuerySet.as_manager()

    class Meta:
        ordering = ["gauge", "-issued_at"]
        indexes = [
            models.Index(fields=["gauge", "-issued_at"]),
            # the queue of those that wait for a score, and those whose paths may go: short ones
            models.Index(
                fields=["next_score_at"],
                condition=models.Q(next_score_at__isnull=False),
                name="forecast_waits_for_score",
            ),
            models.Index(
                fields=["gauge", "issued_at"],
                condition=models.Q(paths__isnull=False),
                name="forecast_keeps_paths",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.gauge} {self.issued_at:%Y-%m-%d %H:%M}"

    @classmethod
    def from_record(cls, record: ForecastRecord, **others: Any) -> Forecast:
        """Return an unsaved row that holds this record; `others` are the row's other fields."""
        return cls(
            issued_at=record.issued_at,
            model=record.model,
            step_minutes=record.step_minutes,
            quantiles={
                "times": [moment.isoformat() for moment in record.times],
                "q10": list(record.q10),
                "q50": list(record.q50),
                "q90": list(record.q90),
            },
            inputs=[
                {
                    "what": i.what,
                    "observed_at": i.observed_at.isoformat() if i.observed_at else None,
                    "age_hours": i.age_hours,
                    "source": i.source,
                }
                for i in record.inputs
            ],
            says=list(record.says),
            water={} if record.water is None else record.water.as_json(),
            paths=None if record.paths is None else pack_paths(record.paths),
            **others,
        )

    def as_record(self) -> ForecastRecord:
        """Return the forecast as it was issued, as plain values."""
        kept = self.quantiles
        return ForecastRecord(
            issued_at=self.issued_at,
            model=self.model,
            step_minutes=self.step_minutes,
            times=tuple(datetime.fromisoformat(text) for text in kept["times"]),
            q10=tuple(kept["q10"]),
            q50=tuple(kept["q50"]),
            q90=tuple(kept["q90"]),
            paths=None if self.paths is None else unpack_paths(bytes(self.paths)),
            inputs=tuple(
                Input(
                    what=i["what"],
                    observed_at=(
                        datetime.fromisoformat(i["observed_at"]) if i["observed_at"] else None
                    ),
                    age_hours=i["age_hours"],
                    source=i["source"],
                )
                for i in self.inputs
            ),
            says=tuple(self.says),
            water=WaterAhead.from_json(self.water) if self.water else None,
        )
