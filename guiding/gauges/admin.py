"""Gauges, marks and soundings in the records; readings and forecasts to read only."""

from typing import Any

from django.contrib import admin
from django.db import models
from django.http import HttpRequest

from guiding.gauges.models import (
    BeatGauge,
    Fit,
    Forecast,
    ForecastScore,
    Gauge,
    Mark,
    PoolGauge,
    ReadingImport,
    Sounding,
    WeatherRun,
)
from guiding.gauges.pairing import learned_words
from guiding.history.admin import ReadOnlyAdmin


class MarkInline(admin.TabularInline):
    model = Mark
    extra = 0


class BeatGaugeInline(admin.TabularInline):
    model = BeatGauge
    extra = 0
    readonly_fields = ("learned_from_both_records",)

    @admin.display(description="learned from both records")
    def learned_from_both_records(self, link: BeatGauge) -> str:
        """Return how well a further gauge tells of the beat's first one."""
        return learned_words(link) if link.pk else ""


@admin.register(Gauge)
class GaugeAdmin(admin.ModelAdmin):
    list_display = ("name", "river", "step_minutes", "source")
    inlines = (MarkInline, BeatGaugeInline)
    formfield_overrides = {models.URLField: {"assume_scheme": "https"}}

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False  # its whole record would go with it


@admin.register(Sounding)
class SoundingAdmin(admin.ModelAdmin):
    list_display = ("pool", "spot", "level_m", "depth_m", "speed_ms", "measured_on")
    list_filter = ("pool__beat",)


@admin.register(PoolGauge)
class PoolGaugeAdmin(admin.ModelAdmin):
    list_display = ("pool", "gauge", "ratio")


@admin.register(ReadingImport)
class ReadingImportAdmin(ReadOnlyAdmin):
    list_display = ("imported_at", "gauge", "name", "stored", "repeated")


@admin.register(WeatherRun)
class WeatherRunAdmin(ReadOnlyAdmin):
    list_display = ("issued_at", "gauge", "source")


@admin.register(Forecast)
class ForecastAdmin(ReadOnlyAdmin):
    list_display = ("issued_at", "gauge", "model")
    exclude = ("paths", "spreads")


@admin.register(Fit)
class FitAdmin(ReadOnlyAdmin):
    list_display = ("fitted_at", "gauge", "what", "is_in_force", "why")
    exclude = ("learned",)


@admin.register(ForecastScore)
class ForecastScoreAdmin(ReadOnlyAdmin):
    list_display = ("target_at", "forecast", "lead_hours", "observed_m", "q50", "not_scored")
