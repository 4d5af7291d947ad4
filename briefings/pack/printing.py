"""Write the documents of briefings that have none yet. Only commands and chores come here."""

from __future__ import annotations

from datetime import datetime

from briefings.actions import keep_document
from briefings.models import Briefing
from briefings.pack.pdf import pack_pdf
from guiding.documents.models import Document


def write_document(briefing: Briefing, *, at: datetime) -> Document:
    """Return a briefing's document; the first time, make it. No transaction is open meanwhile."""
    if briefing.document:
        return briefing.document
    return keep_document(briefing, pack_pdf(briefing.content), at=at)


def write_waiting_documents(*, at: datetime) -> tuple[int, list[str]]:
    """Write every waiting document; one bad pack never stops the rest.

    Returns how many were written, and one line for each that could not be.
    """
    written, failed = 0, []
    for briefing in Briefing.objects.filter(document__isnull=True).order_by("issued_at"):
        try:
            write_document(briefing, at=at)
            written += 1
        except Exception as error:
            failed.append(f"{briefing}: {error}")
    return written, failed
