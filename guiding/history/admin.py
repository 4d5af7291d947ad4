"""What was done, to read only."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from guiding.history.models import Event


class _ReadOnly:
    """Nothing is added, changed or deleted through the records."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class ReadOnlyAdmin(_ReadOnly, admin.ModelAdmin):
    """Rows that were frozen when they were written."""


class ReadOnlyInline(_ReadOnly, admin.TabularInline):
    """The same, inside the row they belong to."""

    extra = 0


@admin.register(Event)
class EventAdmin(ReadOnlyAdmin):
    list_display = ("happened_at", "what", "about", "who")
