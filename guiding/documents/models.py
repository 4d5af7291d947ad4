"""Files kept as they were written: packs today, uploads and invoices later."""

from __future__ import annotations

import hashlib
import os
import uuid
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import models


class DocumentChanged(Exception):
    """The bytes on disk are no longer those that were kept."""


def _write_whole(path: Path, data: bytes) -> None:
    """Write a file for the house alone: either all of it stands under its name, or nothing."""
    unfinished = path.with_name(f"{path.name}.{uuid.uuid4().hex}")
    unfinished.touch(mode=0o600)
    with unfinished.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())  # the row must not outlive the bytes it speaks for
    unfinished.replace(path)


class DocumentQuerySet(models.QuerySet["Document"]):
    def keep(self, data: bytes, *, name: str, media_type: str, at: datetime) -> Document:
        """Write bytes under their own hash and add the row that speaks for them."""
        digest = hashlib.sha256(data).hexdigest()
        path = Path(settings.DOCUMENTS_ROOT) / digest[:2] / digest
        # a file of that name with other bytes in it was damaged: these are the right ones
        if not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != digest:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            _write_whole(path, data)
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
