"""The records of what owners let."""

from django.contrib import admin

from guiding.permits.models import Let


@admin.register(Let)
class LetAdmin(admin.ModelAdmin):
    list_display = ["water", "first_date", "last_date", "rods", "state", "owner", "cost_amount"]
    list_filter = ["water", "state"]
    date_hierarchy = "first_date"
