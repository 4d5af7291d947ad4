"""Rivers, waters, beats and pools in the records."""

from django.contrib import admin

from guiding.rivers.models import AccessPoint, Beat, PartHours, Pool, River, Water


class PartHoursInline(admin.TabularInline):
    model = PartHours
    extra = 0


class AccessPointInline(admin.StackedInline):
    model = AccessPoint
    extra = 0


class PoolInline(admin.TabularInline):
    model = Pool
    extra = 0
    fields = ("name", "order", "length_m", "bottom", "fished_from")


@admin.register(River)
class RiverAdmin(admin.ModelAdmin):
    list_display = ("name", "zone", "grid")


@admin.register(Water)
class WaterAdmin(admin.ModelAdmin):
    list_display = ("name", "river", "rods_a_day", "let_by")
    inlines = (PartHoursInline, AccessPointInline)


@admin.register(Beat)
class BeatAdmin(admin.ModelAdmin):
    list_display = ("name", "water", "order", "regime")
    inlines = (PoolInline,)
