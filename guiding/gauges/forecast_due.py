"""Which gauges want a new forecast: one question for all of them, and none of it reads history."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from guiding.gauges.models import Fit, Forecast, Gauge, ReadingImport, WeatherRun


def gauges_to_forecast(at: datetime) -> list[Gauge]:
    """Return the gauges whose last forecast is a step old, or for which something came in since."""
    return [gauge for gauge in _with_news(at) if _is_due(gauge, at)]


def is_forecast_due(gauge: Gauge, at: datetime) -> bool:
    """Say whether a gauge wants a new forecast."""
    return _is_due(_with_news(at).get(pk=gauge.pk), at)


def _is_due(gauge: Gauge, at: datetime) -> bool:
    newest_at = getattr(gauge, "newest_at")  # noqa: B009  (annotated by the query)
    if newest_at is None or at - newest_at >= timedelta(minutes=gauge.step_minutes):
        return True
    return bool(getattr(gauge, "has_news"))  # noqa: B009


def _with_news(at: datetime) -> QuerySet[Gauge]:
    newest = Forecast.objects.filter(gauge=OuterRef("pk")).known_at(at)
    since = OuterRef("newest_at")
    return (
        Gauge.objects.select_related("river")
        .annotate(newest_at=Subquery(newest.values("issued_at")[:1]))
        .annotate(
            has_news=Exists(
                ReadingImport.objects.filter(
                    gauge=OuterRef("pk"), imported_at__gt=since, imported_at__lte=at
                )
            )
            | Exists(
                WeatherRun.objects.filter(
                    gauge=OuterRef("pk"), fetched_at__gt=since, fetched_at__lte=at
                )
            )
            | Exists(Fit.objects.filter(gauge=OuterRef("pk"), began_at__gt=since, began_at__lte=at))
        )
        .order_by("pk")
    )
