"""A pack as a page, and its stored PDF, for those who are signed in."""

from __future__ import annotations

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from briefings.models import Briefing
from briefings.pack.drawings import draw_page


@require_GET
def page(request: HttpRequest, key: UUID) -> HttpResponse:
    """Show what an issue says, as it was frozen."""
    briefing = get_object_or_404(
        Briefing.objects.select_related("booking", "person", "replaced_by"), key=key
    )
    content = briefing.content
    return render(
        request,
        "briefings/page.html",
        {"briefing": briefing, "content": content, "drawings": draw_page(content)},
    )


@require_GET
def pdf(request: HttpRequest, key: UUID) -> HttpResponse:
    """Serve the stored bytes."""
    briefing = get_object_or_404(Briefing.objects.select_related("document"), key=key)
    if briefing.document is None:
        raise Http404("This pack's PDF has not been made yet.")
    response = HttpResponse(briefing.document.read(), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{briefing.document.name}"'
    response["Cache-Control"] = "private, no-store"
    return response
