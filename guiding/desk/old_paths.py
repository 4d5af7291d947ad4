"""Whole paths are heavy: kept for the newest forecasts, and for those that a pack rests on."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import OuterRef, Subquery

from guiding.gauges.models import Forecast

# a pack that is being written may rest on a forecast that was the newest a while ago
STILL_WANTED = timedelta(hours=48)


def drop_paths(at: datetime) -> int:
    """Drop the whole paths of older forecasts, and return of how many; their quantiles stay."""
    newest = Forecast.objects.filter(gauge=OuterRef("gauge")).order_by("-issued_at", "-pk")
    unused = Forecast.objects.filter(briefings__isnull=True, further_briefings__isnull=True)
    old = unused.filter(paths__isnull=False, issued_at__lt=at - STILL_WANTED).exclude(
        pk=Subquery(newest.values("pk")[:1])
    )
    keys = list(old.order_by().values_list("pk", flat=True))
    return unused.filter(pk__in=keys).update(paths=None) if keys else 0
