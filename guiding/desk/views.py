"""The pages that look across everything: Today, the trips, one trip, the tackle."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.db.models import Prefetch, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from briefings.actions import issue_to_everybody
from briefings.models import Briefing, SetUpRule
from briefings.trips import NothingToBrief
from guiding.bookings.actions import next_reference, open_places, take_booking
from guiding.bookings.forms import BookingForm, PartyFormSet, party_wanted
from guiding.bookings.models import Booking, PartyMember
from guiding.bookings.wanted import BookingRefused
from guiding.desk.duties import duties
from guiding.desk.reading import read_ahead
from guiding.desk.unseen_water import unseen_water
from guiding.gauges.models import Gauge
from guiding.gauges.now import river_now
from guiding.mail.models import Letter
from guiding.rivers.models import Water
from guiding.tackle.models import Fly, FlyPattern, LeaderMaterial, Line, LoanItem, Tip

SHOWN_AHEAD_DAYS = 14
RUNNING_LOW = 2  # one on, one lost (common practice, no source)


def _bookings() -> QuerySet[Booking]:
    return (
        Booking.objects.standing()
        .select_related("water__river", "payer")
        .prefetch_related(
            "days__beat",
            "days__meeting_point",
            Prefetch("party", PartyMember.objects.select_related("person", "shares_with__person")),
            Prefetch(
                "briefings",
                Briefing.objects.select_related("person", "replaced_by").defer(
                    "content", "replaced_by__content"
                ),
            ),
        )
    )


@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """Say who comes next, whether everybody is covered, what the river does, what to send."""
    at = timezone.now()
    soon = _bookings().filter(
        days__ends_at__gt=at, days__date__lte=at.date() + timedelta(days=SHOWN_AHEAD_DAYS)
    )
    owed = duties(soon.distinct(), at)
    gauges = Gauge.objects.select_related("river").prefetch_related("marks", "series")
    return render(
        request,
        "desk/today.html",
        {
            "next": owed[0] if owed else None,
            "owed": owed,
            "to_send": [duty for duty in owed if duty.issue_due],
            "unseen": unseen_water([duty.booking for duty in owed], at),
            "uncovered": [duty for duty in owed if duty.uncovered],
            "covered": [duty for duty in owed if not duty.uncovered],
            "rivers": [river_now(gauge, at) for gauge in gauges],
            "shown_days": SHOWN_AHEAD_DAYS,
        },
    )


@require_GET
def trips(request: HttpRequest) -> HttpResponse:
    """List the trips to come."""
    at = timezone.now()
    coming = _bookings().filter(days__ends_at__gt=at).distinct()
    return render(request, "desk/trips.html", {"owed": duties(coming, at)})


@require_GET
def trip(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show everything about one trip, in the order the guide needs it."""
    at = timezone.now()
    booking = get_object_or_404(_bookings(), key=key)
    owed = duties([booking], at)
    duty = owed[0] if owed else None
    briefings = list(booking.briefings.all())
    letters = Letter.objects.filter(about__in=[f"briefing {b.key}" for b in briefings])
    reading, unread = None, ""
    if duty:
        try:
            reading = read_ahead(booking, duty.day.date, at, _units(request))
        except NothingToBrief as refusal:
            unread = str(refusal)
    return render(
        request,
        "desk/trip.html",
        {
            "booking": booking,
            "duty": duty,
            "reading": reading,
            "unread": unread,
            "issue": "first" if duty and duty.days_ahead > 1 else "final",
            "days": sorted(booking.days.all(), key=lambda row: row.meets_at),
            "briefings": sorted(briefings, key=lambda b: b.issued_at, reverse=True),
            "letters": list(letters),
        },
    )


def _units(request: HttpRequest) -> str:
    return getattr(request.user, "units", "metric")


@require_POST
def issue(request: HttpRequest, key: UUID) -> HttpResponse:
    """Write an issue for everybody who comes, and the letters that carry it."""
    booking = get_object_or_404(Booking.objects.standing(), key=key)
    which = request.POST.get("issue", "")
    if which not in Briefing.Issue.values:
        messages.error(request, f"{which!r} is no issue; it is first or final.")
        return redirect("desk:trip", key=key)
    try:
        written = issue_to_everybody(
            booking,
            issue=which,
            at=timezone.now(),
            who=request.user,
            send=request.POST.get("send") == "yes",
        )
    except NothingToBrief as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _written_words(written, sent=request.POST.get("send") == "yes"))
    return redirect("desk:trip", key=key)


def _written_words(written: list[Briefing], *, sent: bool) -> str:
    packs = f"{len(written)} packs are on file, the guide's copy among them."
    by_hand = [str(row.person) for row in written if row.person and not row.person.email]
    if by_hand:
        packs += f" No mail address for {', '.join(by_hand)}: print theirs."
    if sent:
        return f"{packs} The letters are in the post; each goes as soon as its PDF is made."
    return f"{packs} Nothing was sent yet: read them, then send."


@require_GET
def new_trip(request: HttpRequest) -> HttpResponse:
    """Ask for which water."""
    return render(request, "desk/new_trip.html", {"waters": Water.objects.select_related("river")})


@require_http_methods(["GET", "POST"])
def take(request: HttpRequest, water: UUID) -> HttpResponse:
    """Take a booking for one day on a water: every rod gets a place, or nothing is written."""
    chosen = get_object_or_404(Water.objects.select_related("river"), key=water)
    form = BookingForm(request.POST or None, water=chosen)
    party = PartyFormSet(request.POST or None)
    if request.method == "POST" and form.is_valid() and party.is_valid():
        at = timezone.now()
        try:
            booking = _take(chosen, form, party, at=at, who=request.user)
        except BookingRefused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(
                request,
                f"Taken as {booking}. Permit and season are not known here: ask the fishery.",
            )
            return redirect("desk:trip", key=booking.key)
    return render(request, "desk/take.html", {"water": chosen, "form": form, "party": party})


@transaction.atomic
def _take(water: Water, form: BookingForm, party: Any, *, at: datetime, who: Any) -> Booking:
    """Open the day's places and claim them; a refusal leaves neither behind."""
    day = form.cleaned_data["date"]
    open_places(water, day, day, form.cleaned_data["parts"], at=at)
    return take_booking(
        reference=next_reference(day.year),
        water=water,
        payer=form.cleaned_data["payer"],
        party=party_wanted(party),
        days=form.days_wanted(),
        fish=form.cleaned_data["fish"],
        at=at,
        who=who,
    )


@require_GET
def tackle(request: HttpRequest) -> HttpResponse:
    """Show what is in the box, and the rules that choose from it."""
    patterns = FlyPattern.objects.prefetch_related(
        Prefetch("flies", Fly.objects.select_related("pattern"))
    )
    flies = [fly for pattern in patterns for fly in pattern.flies.all()]
    return render(
        request,
        "desk/tackle.html",
        {
            "patterns": patterns,
            "fly_count": sum(fly.count for fly in flies),
            "running_low": [fly for fly in flies if fly.count <= RUNNING_LOW],
            "lines": Line.objects.all(),
            "tips": Tip.objects.all(),
            "materials": LeaderMaterial.objects.all(),
            "loan": LoanItem.objects.all(),
            "rules": SetUpRule.objects.all(),
        },
    )
