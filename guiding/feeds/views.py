"""The sources: how each is getting on, one added, one switched; and whom we credit."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from guiding.accounts.models import User
from guiding.feeds import overview
from guiding.feeds.actions import SourceRefused, add_feed, confirm_feed, switch_feed, try_again
from guiding.feeds.credits import credits_in_use
from guiding.feeds.forms import SourceForm
from guiding.feeds.models import Feed
from guiding.gauges.providers.agencies import AGENCIES, BY_CODE


@require_GET
def sources(request: HttpRequest) -> HttpResponse:
    """Say how every source is getting on."""
    return render(request, "feeds/sources.html", {"page": overview.sources(timezone.now())})


@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Take a new source."""
    who = _keeper_of_records(request)
    form = SourceForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            feed = add_feed(
                typed["gauge"],
                typed["agency"],
                typed["quantity"],
                station=typed["station"],
                series=typed["series"],
                base_url=typed["base_url"],
                credit=typed["credit"],
                at=timezone.now(),
                who=who,
            )
        except SourceRefused as refusal:
            form.add_error(None, f"{refusal}")
        else:
            messages.success(request, f"Added: {feed}. It is asked at the next pass.")
            return redirect("feeds:sources")
    page = {"form": form, "agencies": AGENCIES}
    return render(request, "feeds/add.html", page)


@require_POST
def switch(request: HttpRequest, key: UUID) -> HttpResponse:
    """Switch a source on or off."""
    who = _keeper_of_records(request)
    feed = get_object_or_404(Feed, key=key, agency_code__in=BY_CODE)
    try:
        switch_feed(feed, is_on=request.POST.get("on") == "yes", at=timezone.now(), who=who)
    except SourceRefused as refusal:
        messages.error(request, f"{refusal}")
    return redirect("feeds:sources")


@require_POST
def confirm(request: HttpRequest, key: UUID) -> HttpResponse:
    """Take a closed source as what it was."""
    who = _keeper_of_records(request)
    feed = get_object_or_404(Feed, key=key, agency_code__in=BY_CODE)
    confirm_feed(feed, at=timezone.now(), who=who)
    messages.success(request, "Confirmed. Look at your marks as well before you rely on them.")
    return redirect("feeds:sources")


@require_POST
def again(request: HttpRequest, key: UUID) -> HttpResponse:
    """Ask again of a server that refused us."""
    who = _keeper_of_records(request)
    feed = get_object_or_404(Feed, key=key, agency_code__in=BY_CODE)
    try_again(feed, at=timezone.now(), who=who)
    messages.success(request, "It is asked again at the next pass.")
    return redirect("feeds:sources")


@login_not_required
@require_GET
def credits(request: HttpRequest) -> HttpResponse:
    """Say whose data stand here, for everybody."""
    return render(request, "feeds/credits.html", {"credits": credits_in_use()})


def _keeper_of_records(request: HttpRequest) -> User:
    """Return who asks, if the records are open to them."""
    who = request.user
    if not isinstance(who, User) or not who.is_staff:
        raise PermissionDenied
    return who
