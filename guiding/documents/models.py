"""Files kept as they were written: packs today, uploads and invoices later."""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import models


class DocumentChanged(Exception):
    """The bytes on disk are no longer those that were kept."""


class DocumentQuerySet(models.QuerySet["Document"]):
    def keep(self, data: bytes, *, name: str, media_type: str, at: datetime) -> Document:
        """Write bytes under their own hash and add the row that speaks for them."""
        digest = hashlib.sha256(data).hexdigest()
        path = Path(settings.DOCUMENTS_ROOT) / digest[:2] / digest
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            unfinished = path.with_name(f"{digest}.{uuid.uuid4().hex}")
            unfinished.write_bytes(data)
            unfinished.replace(path)
        return self.create(
            name=name, media_type=media_type, sha256=digest, size_bytes=len(data), written_at=at
        )


class Document(models.Model):
    """One kept file. The row is never altered; a new version is a new row."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=120)
    media_type = models.CharField(max_length=80)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    written_at = models.DateTimeField()

    objects = DocumentQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name

    @property
    def path(self) -> Path:
        """Return where the bytes lie."""
        return Path(settings.DOCUMENTS_ROOT) / self.sha256[:2] / self.sha256

    def read(self) -> bytes:
        """Return the bytes, or raise DocumentChanged if they are not those that were kept."""
        data = self.path.read_bytes()
        if hashlib.sha256(data).hexdigest() != self.sha256:
            raise DocumentChanged(f"{self.name}: the file on disk is not the one that was kept.")
        return data
