"""The outbox, to read only."""

from django.contrib import admin

from guiding.history.admin import ReadOnlyAdmin
from guiding.mail.models import Letter


@admin.register(Letter)
class LetterAdmin(ReadOnlyAdmin):
    list_display = ("written_at", "kind", "to_name", "subject", "sent_at", "given_up_at")
    list_filter = ("kind",)
