"""Kept files, to read only."""

from django.contrib import admin

from guiding.documents.models import Document
from guiding.history.admin import ReadOnlyAdmin


@admin.register(Document)
class DocumentAdmin(ReadOnlyAdmin):
    list_display = ("name", "media_type", "size_bytes", "written_at")
