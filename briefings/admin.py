"""Set-up rules in the records; briefings to read only."""

from django.contrib import admin

from briefings.models import Briefing, SetUpRule
from guiding.history.admin import ReadOnlyAdmin


@admin.register(SetUpRule)
class SetUpRuleAdmin(admin.ModelAdmin):
    list_display = ("name", "rank", "order", "label", "is_on")
    list_filter = ("rank", "is_on")


@admin.register(Briefing)
class BriefingAdmin(ReadOnlyAdmin):
    list_display = ("issued_at", "booking", "person", "issue", "number", "valid_until")
