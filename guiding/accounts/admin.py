"""Users in the records."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin

from guiding.accounts.models import User


@admin.register(User)
class HouseUserAdmin(UserAdmin):
    list_display = ("username", "get_full_name", "role", "phone", "is_active")
    fieldsets = (
        *(UserAdmin.fieldsets or ()),
        ("In the house", {"fields": ("role", "phone", "units")}),
    )
