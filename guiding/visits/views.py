"""The client's page, behind a private link. No account, no script, nothing to change."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from hmac import compare_digest
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from briefings.models import Briefing
from briefings.pack.drawings import draw_page
from guiding.bookings.models import Booking
from guiding.visits.actions import note_visit
from guiding.visits.models import PrivateLink, hash_of

COOKIE = "trip"

View = Callable[..., HttpResponseBase]


def private(view: View) -> View:
    """Serve to anybody who has the link, and let nobody on the way keep or pass it on."""

    @login_not_required
    @require_safe
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = view(request, *args, **kwargs)
        response.headers["Cache-Control"] = "no-store, private"
        response.headers["Referrer-Policy"] = "same-origin"
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return guarded


@private
def open_link(request: HttpRequest, token: str) -> HttpResponse:
    """Swap the token for a cookie that only this trip's own pages are sent, and go there.

    Nothing is noted here: programs that test the links in a mail come this far and no further.
    """
    now = timezone.now()
    link = PrivateLink.objects.standing(now).filter(token_sha256=hash_of(token)).first()
    if link is None:
        return _not_here(request)
    page = reverse("visits:trip", args=[link.key])
    response = redirect(page)
    response.set_cookie(
        COOKIE,
        token,
        max_age=link.expires_at - now,
        path=page,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",  # a mail read in the browser is another site: Strict would lose the cookie
    )
    return response


@private
def trip(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show this person's newest pack for this trip."""
    now = timezone.now()
    link = _link_of(request, key, now)
    if link is None:
        return _not_here(request)
    briefing = _newest(link)
    if briefing is not None:
        _note(request, link, f"issue {briefing.number}", now)
    return render(request, "visits/trip.html", _shown(link, briefing, now))


@private
def earlier_issue(request: HttpRequest, key: UUID, number: int) -> HttpResponse:
    """Say of an issue that it has been replaced: its words must not be read as today's."""
    now = timezone.now()
    link = _link_of(request, key, now)
    newest = _newest(link) if link else None
    if link is None or newest is None:
        return _not_here(request)
    if number == newest.number:
        return redirect("visits:trip", link.key)
    old = _issues(link).filter(number=number).first()
    if old is None:
        return _not_here(request)
    return render(request, "visits/replaced.html", {"link": link, "old": old, "newest": newest})


@private
def pack_pdf(request: HttpRequest, key: UUID) -> HttpResponse:
    """Serve the newest pack as the bytes that were kept."""
    now = timezone.now()
    link = _link_of(request, key, now)
    briefing = _newest(link) if link else None
    if link is None or briefing is None or briefing.document is None:
        return _not_here(request)
    document = briefing.document
    response = HttpResponse(document.read(), content_type=document.media_type)
    shown = content_disposition_header(as_attachment=False, filename=document.name)
    response.headers["Content-Disposition"] = shown or "inline"
    _note(request, link, f"issue {briefing.number} PDF", now)
    return response


def _link_of(request: HttpRequest, key: UUID, now: datetime) -> PrivateLink | None:
    """Return the link whose token the visitor's cookie holds, as long as it stands."""
    link = PrivateLink.objects.standing(now).filter(key=key).first()
    shown = hash_of(request.COOKIES.get(COOKIE, ""))
    return link if compare_digest(shown, link.token_sha256 if link else "") else None


def _issues(link: PrivateLink) -> Any:
    return Briefing.objects.filter(
        booking=link.booking, person=link.person, audience=Briefing.Audience.CLIENT
    ).order_by("-number")


def _newest(link: PrivateLink) -> Briefing | None:
    """Return the newest issue for this person; none of a trip that was called off."""
    if link.booking.state == Booking.State.CANCELLED:
        return None
    newest: Briefing | None = _issues(link).select_related("document").first()
    return newest


def _shown(link: PrivateLink, briefing: Briefing | None, now: datetime) -> dict[str, Any]:
    content = briefing.content if briefing else None
    return {
        "link": link,
        "briefing": briefing,
        "content": content,
        "drawings": draw_page(content) if content else {},
        "is_called_off": link.booking.state == Booking.State.CANCELLED,
        "is_past": bool(briefing and briefing.valid_until <= now),
    }


def _note(request: HttpRequest, link: PrivateLink, what: str, now: datetime) -> None:
    if request.method == "GET":
        note_visit(link, what, at=now)


def _not_here(request: HttpRequest) -> HttpResponse:
    """Answer a wrong, an expired and a revoked link alike."""
    return render(request, "visits/not_here.html", status=404)
