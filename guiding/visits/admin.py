"""Private links in the records: who was sent one, when it ends. A link can be revoked here."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from guiding.visits.models import PrivateLink


@admin.register(PrivateLink)
class PrivateLinkAdmin(admin.ModelAdmin):
    list_display = ("person", "booking", "made_at", "expires_at", "revoked_at")
    readonly_fields = ("person", "booking", "token_sha256", "made_at", "expires_at")

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False  # a link is made as its letter leaves: only then is its token known

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
