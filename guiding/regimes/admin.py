"""Dams and tide places in the records; what was said of days, and looks, to read only."""

from django.contrib import admin

from guiding.history.admin import ReadOnlyAdmin, ReadOnlyInline
from guiding.regimes.models import (
    Dam,
    DamBeat,
    IceLook,
    Release,
    Schedule,
    TideBeat,
    TidePlace,
    TideTable,
    TideTurn,
)


class DamBeatInline(admin.TabularInline):
    model = DamBeat
    extra = 0


class TideBeatInline(admin.StackedInline):
    model = TideBeat
    extra = 0


class ReleaseInline(ReadOnlyInline):
    model = Release


class TideTurnInline(ReadOnlyInline):
    model = TideTurn


@admin.register(Dam)
class DamAdmin(admin.ModelAdmin):
    list_display = ("name", "river", "phone")
    inlines = (DamBeatInline,)


@admin.register(TidePlace)
class TidePlaceAdmin(admin.ModelAdmin):
    list_display = ("name", "river", "zone")
    inlines = (TideBeatInline,)


@admin.register(Schedule)
class ScheduleAdmin(ReadOnlyAdmin):
    list_display = ("day", "dam", "revision", "said_by", "said_at")
    inlines = (ReleaseInline,)


@admin.register(TideTable)
class TideTableAdmin(ReadOnlyAdmin):
    list_display = ("day", "place", "revision", "said_by", "said_at")
    inlines = (TideTurnInline,)


@admin.register(IceLook)
class IceLookAdmin(ReadOnlyAdmin):
    list_display = ("looked_at", "river", "beat", "seen", "who")
