"""The box, the lines and the loan kit in the records."""

from django.contrib import admin

from guiding.tackle.models import Fly, FlyPattern, LeaderMaterial, Line, LoanItem, Rod, Tip


class FlyInline(admin.TabularInline):
    model = Fly
    extra = 0


@admin.register(FlyPattern)
class FlyPatternAdmin(admin.ModelAdmin):
    list_display = ("name", "role", "looks_like")
    inlines = (FlyInline,)


@admin.register(Line)
class LineAdmin(admin.ModelAdmin):
    list_display = ("name", "kind", "count")


@admin.register(Tip)
class TipAdmin(admin.ModelAdmin):
    list_display = ("name", "length_m", "sink_ips", "count")


@admin.register(LeaderMaterial)
class LeaderMaterialAdmin(admin.ModelAdmin):
    list_display = ("material", "diameter_mm", "strength_kg")


@admin.register(Rod)
class RodAdmin(admin.ModelAdmin):
    list_display = ("name", "length_m", "is_two_handed", "is_lent")


@admin.register(LoanItem)
class LoanItemAdmin(admin.ModelAdmin):
    list_display = ("kind", "size", "count")
