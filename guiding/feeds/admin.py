"""Sources and addresses in the records, to read only: they are changed on their own page."""

from django.contrib import admin
from django.db import models

from guiding.feeds.models import Address, BadBody, Feed
from guiding.history.admin import ReadOnlyAdmin, ReadOnlyInline


class BadBodyInline(ReadOnlyInline):
    model = BadBody


@admin.register(Feed)
class FeedAdmin(ReadOnlyAdmin):
    formfield_overrides = {models.URLField: {"assume_scheme": "https"}}
    list_display = ("gauge", "quantity", "agency_code", "station", "series", "is_on", "trouble")


@admin.register(Address)
class AddressAdmin(ReadOnlyAdmin):
    formfield_overrides = {models.URLField: {"assume_scheme": "https"}}
    list_display = ("agency_code", "kind", "feed", "next_at", "good_at", "failures", "why")
    list_select_related = ("feed__gauge",)
    inlines = (BadBodyInline,)
