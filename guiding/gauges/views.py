"""The River page: how high, which way, when it passes the marks, how sure, how old."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from guiding.gauges.actions import ReadingRefused, confirm_marks, type_in_reading
from guiding.gauges.forms import TypedReadingForm
from guiding.gauges.models import Gauge
from guiding.gauges.now import river_now
from guiding.gauges.record_page import record_page
from guiding.gauges.windows import beat_windows


@require_GET
def rivers(request: HttpRequest) -> HttpResponse:
    """Name the gauges; with one gauge, lead to it."""
    gauges = list(Gauge.objects.select_related("river"))
    if len(gauges) == 1:
        return redirect("gauges:river", key=gauges[0].key)
    return render(request, "gauges/rivers.html", {"gauges": gauges})


@require_http_methods(["GET", "POST"])
def river(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show one gauge; take a typed-in reading."""
    gauges = Gauge.objects.select_related("river").prefetch_related("marks", "series")
    gauge = get_object_or_404(gauges, key=key)
    at = timezone.now()
    here = at.astimezone(gauge.river.zoneinfo)
    with timezone.override(gauge.river.zoneinfo):
        form = TypedReadingForm(
            request.POST or None,
            initial={"observed_at": here.replace(second=0, microsecond=0)},
            at=at,
        )
        if request.method == "POST" and form.is_valid():
            try:
                type_in_reading(
                    gauge,
                    form.cleaned_data["quantity"],
                    form.cleaned_data["value"],
                    form.cleaned_data["observed_at"],
                    by=request.user.get_username(),
                    at=at,
                )
            except ReadingRefused as refusal:
                form.add_error("value", f"{refusal}")
            else:
                messages.success(request, "Kept. The next forecast will use it.")
                return redirect("gauges:river", key=gauge.key)
        now = river_now(gauge, at)
        windows = beat_windows(gauge, now.record, now.levels, at, not_known=now.not_known)
        page = {"now": now, "beats": windows, "form": form}
        return render(request, "gauges/river.html", page)


@require_GET
def record(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show how good our forecasts of one gauge have been."""
    gauge = get_object_or_404(Gauge.objects.select_related("river"), key=key)
    with timezone.override(gauge.river.zoneinfo):
        page = record_page(gauge, timezone.now())
        return render(request, "gauges/record.html", {"page": page})


@require_POST
def confirm(request: HttpRequest, key: UUID) -> HttpResponse:
    """Take the guide's word that marks and soundings hold for the levels as they are now."""
    gauge = get_object_or_404(Gauge, key=key)
    if confirm_marks(gauge, by=request.user.get_username(), at=timezone.now()):
        messages.success(request, "Kept. The next forecast counts the marks again.")
    return redirect("gauges:river", key=gauge.key)
