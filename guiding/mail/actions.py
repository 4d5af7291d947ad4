"""Writing a letter into the outbox, in the transaction of the change it speaks of."""

from __future__ import annotations

import re
import unicodedata
import uuid
from collections.abc import Iterable
from datetime import datetime
from email.utils import parseaddr

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from guiding.documents.models import Document
from guiding.mail.models import LINK_PLACEHOLDER, Letter

METHODS = ("REQUEST", "PUBLISH", "CANCEL")


class LetterRefused(ValueError):
    """A letter that must not be written as asked; nothing was stored."""


def write_letter(
    *,
    kind: str,
    about: str,
    to_name: str,
    to_address: str,
    subject: str,
    text: str,
    html: str = "",
    documents: Iterable[Document] = (),
    calendar_text: str = "",
    calendar_method: str = "",
    link_for: str = "",
    waits_for_document: bool = False,
    at: datetime,
    due_at: datetime | None = None,
) -> Letter:
    """Add a letter to the outbox; its Message-ID is made here, once, however often it is sent.

    `LINK_PLACEHOLDER` in the text becomes the private link of `link_for` as the letter leaves.
    `calendar_method` may be left out: the calendar entry names it.
    """
    for name, value in (("subject", subject), ("name", to_name), ("address", to_address)):
        _check_header(name, value)
    try:
        validate_email(to_address)
    except ValidationError as error:
        raise LetterRefused(f"{to_address!r} is not a mail address, for {to_name}.") from error
    if not text.strip():
        raise LetterRefused("A letter needs a text: some readers see nothing else.")
    if (LINK_PLACEHOLDER in text or LINK_PLACEHOLDER in html) and not link_for:
        raise LetterRefused("The letter has room for a private link but does not say for whom.")
    method = _calendar_method(calendar_text, calendar_method)
    with transaction.atomic():
        letter = Letter.objects.create(
            message_id=_new_message_id(),
            kind=kind,
            about=about,
            link_for=link_for,
            to_name=to_name,
            to_address=to_address,
            subject=subject,
            text=text,
            html=html,
            calendar_text=calendar_text,
            calendar_method=method,
            waits_for_document=waits_for_document,
            written_at=at,
            due_at=due_at or at,
        )
        letter.documents.set(documents)
    return letter


def attach_document(letter: Letter, document: Document) -> None:
    """Attach what a letter was waiting for, and let it go."""
    with transaction.atomic():
        letter.documents.add(document)
        Letter.objects.filter(pk=letter.pk).update(waits_for_document=False)
    letter.refresh_from_db()


def withdraw_letters(about: str, *, why: str, at: datetime) -> int:
    """Take back what has not left yet: an old letter must not arrive after the new one.

    Returns how many were taken back. One that a worker has in hand at this moment may still go.
    """
    waiting = Letter.objects.filter(about=about, sent_at__isnull=True, given_up_at__isnull=True)
    return waiting.update(given_up_at=at, last_error=f"withdrawn: {why}")


def _new_message_id() -> str:
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2]
    return f"<{uuid.uuid4()}@{domain}>"


def _check_header(name: str, value: str) -> None:
    """Refuse what could start a header of its own, and what the column cannot hold."""
    longest = {"subject": 160, "name": 120, "address": 254}[name]
    if not value.strip() or len(value) > longest:
        raise LetterRefused(f"The {name} has {len(value)} characters; it needs 1 to {longest}.")
    for character in value:
        # Cc: control characters; Zl, Zp: line and paragraph separators; Cs: half a character
        if unicodedata.category(character) in ("Cc", "Zl", "Zp", "Cs"):
            raise LetterRefused(
                f"The {name} {value!r} holds a line break or a control character; "
                "it must be one plain line."
            )


def _calendar_method(text: str, method: str) -> str:
    """Return the entry's METHOD; a mail that names another one is rejected by calendars."""
    if not text:
        if method:
            raise LetterRefused(f"calendar_method is {method} but there is no calendar entry.")
        return ""
    if LINK_PLACEHOLDER in text:
        raise LetterRefused("A private link must never be in a calendar entry.")
    found = re.search(r"^METHOD:([A-Z]+)\r?$", text, re.MULTILINE)
    inside = found.group(1) if found else "none"
    if inside not in METHODS or method not in ("", inside):
        raise LetterRefused(
            f"The calendar entry's METHOD is {inside}, the letter's {method or 'not given'}; "
            f"they must be one and the same of {', '.join(METHODS)}."
        )
    return inside
