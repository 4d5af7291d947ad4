"""Draining the outbox: each letter at least once, always with the same Message-ID.

A letter is claimed by a lease, sent outside any transaction, and then marked as sent. A worker
that dies in between loses its lease by time alone, and the next one sends the letter again.
"""

from __future__ import annotations

import smtplib
import time
from dataclasses import dataclass
from datetime import datetime, timedelta
from email.utils import formataddr
from html import escape
from typing import Protocol

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db.models import F

from guiding.mail.models import LINK_PLACEHOLDER, Letter, LetterQuerySet

LEASE = timedelta(minutes=10)  # longer than one letter can take at the mail server's timeout
FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(hours=4)
MOST_TRIES = 36  # with the waits above, about five days


class LinkWithheld(Exception):
    """There is no link to make any more, so the letter must not go."""


class MakeLink(Protocol):
    def __call__(self, link_for: str, *, at: datetime) -> str:
        """Return the address of a new private link."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """What one pass over the outbox did."""

    sent: int = 0
    failed: int = 0  # to be tried again
    given_up: int = 0


def send_due(*, at: datetime, make_link: MakeLink, limit: int | None = None) -> Sent:
    """Send the letters that are due, the longest due first. One bad letter never stops the rest."""
    started = time.monotonic()
    outcomes = []
    for pk in list(Letter.objects.due(at).values_list("pk", flat=True)[:limit]):
        # a pass may take minutes: a lease that began when it began could be over before its letter
        now = at + timedelta(seconds=time.monotonic() - started)
        letter = _claim(pk, now)
        if letter is not None:
            outcomes.append(_send_one(letter, now, make_link))
    return Sent(
        sent=outcomes.count("sent"),
        failed=outcomes.count("failed"),
        given_up=outcomes.count("given_up"),
    )


def wait_after(tries: int) -> timedelta:
    """Return how long to wait after so many failed tries: doubled each time, up to four hours."""
    return min(FIRST_WAIT * 2 ** min(tries - 1, 20), LONGEST_WAIT)


def build_message(letter: Letter, link: str) -> EmailMultiAlternatives:
    """Return the message as it leaves, with the link in place of its placeholder."""
    message = EmailMultiAlternatives(
        subject=letter.subject,
        body=letter.text.replace(LINK_PLACEHOLDER, link),
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[formataddr((letter.to_name, letter.to_address))],
        headers={"Message-ID": letter.message_id},
    )
    if letter.html:
        message.attach_alternative(letter.html.replace(LINK_PLACEHOLDER, escape(link)), "text/html")
    if letter.calendar_text:
        # last of the alternatives, and no attachment: that is where calendars look for it
        message.attach_alternative(
            letter.calendar_text, f"text/calendar; method={letter.calendar_method}"
        )
    for document in letter.documents.order_by("pk"):
        message.attach(document.name, document.read(), document.media_type)
    return message


def _claim(pk: int, now: datetime) -> Letter | None:
    """Lease a letter; None where another worker has it or has sent it."""
    lease = now + LEASE
    won = Letter.objects.due(now).filter(pk=pk).update(claimed_until=lease, tries=F("tries") + 1)
    return Letter.objects.get(pk=pk) if won else None


def _send_one(letter: Letter, now: datetime, make_link: MakeLink) -> str:
    link = ""
    try:
        if letter.link_for:
            link = make_link(letter.link_for, at=now)
        build_message(letter, link).send()
    except Exception as error:
        said = _without_link(f"{type(error).__name__}: {error}", link)
        return _note_failure(letter, now, said, is_final=_is_final(error))
    # whoever holds the lease by now, or has withdrawn it meanwhile: the letter has gone
    Letter.objects.filter(pk=letter.pk, sent_at__isnull=True).update(
        sent_at=now, claimed_until=None, given_up_at=None, last_error=""
    )
    return "sent"


def _is_final(error: Exception) -> bool:
    """Say whether trying again cannot help: the address or the letter itself was refused."""
    if isinstance(error, LinkWithheld):
        return True
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return all(code >= 500 for code, _ in error.recipients.values())
    return isinstance(error, smtplib.SMTPDataError) and error.smtp_code >= 500


def _note_failure(letter: Letter, now: datetime, said: str, *, is_final: bool) -> str:
    if is_final or letter.tries >= MOST_TRIES:
        _mine(letter).update(given_up_at=now, claimed_until=None, last_error=said)
        return "given_up"
    _mine(letter).update(due_at=now + wait_after(letter.tries), claimed_until=None, last_error=said)
    return "failed"


def _mine(letter: Letter) -> LetterQuerySet:
    """Return the letter's row as long as this worker's lease on it stands."""
    return Letter.objects.filter(
        pk=letter.pk, claimed_until=letter.claimed_until, sent_at__isnull=True
    )


def _without_link(said: str, link: str) -> str:
    """Blank out the link and its token: a server may quote the letter back at us."""
    token = link.rstrip("/").rpartition("/")[2]
    for secret in filter(None, (link, token)):
        said = said.replace(secret, LINK_PLACEHOLDER)
    return said
