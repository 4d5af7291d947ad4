"""Users in the records: everybody of the house is shown, only a guide changes them."""

from typing import Any

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group
from django.http import HttpRequest

from guiding.accounts.models import User

admin.site.unregister(Group)  # what somebody may do follows from their role alone


@admin.register(User)
class HouseUserAdmin(UserAdmin):
    list_display = ("username", "get_full_name", "role", "phone", "is_staff", "is_active")
    list_filter = ("role", "is_active")
    filter_horizontal = ()
    readonly_fields = ("last_login", "date_joined")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Who it is", {"fields": ("first_name", "last_name", "email", "phone", "units")}),
        ("What they may do", {"fields": ("role", "is_staff", "is_active")}),
        ("Dates", {"fields": ("last_login", "date_joined")}),
    )

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return bool(request.user.is_active and request.user.is_staff)

    def has_module_permission(self, request: HttpRequest) -> bool:
        return self.has_view_permission(request)

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return _is_guide(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return _is_guide(request)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False  # somebody who leaves is switched off: what they did keeps its name


def _is_guide(request: HttpRequest) -> bool:
    user = request.user
    return isinstance(user, User) and user.is_active and user.is_staff and user.is_guide
