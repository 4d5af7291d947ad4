"""Private links in the records: who was sent one, when it ends. A link can be revoked here."""

from django.contrib import admin

from guiding.visits.models import PrivateLink


@admin.register(PrivateLink)
class PrivateLinkAdmin(admin.ModelAdmin):
    list_display = ("person", "booking", "made_at", "expires_at", "revoked_at")
    readonly_fields = ("person", "booking", "token_sha256", "made_at", "expires_at")
