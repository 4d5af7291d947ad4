"""People in the records."""

from django.contrib import admin

from guiding.clients.models import Person


@admin.register(Person)
class PersonAdmin(admin.ModelAdmin):
    list_display = ("name", "email", "phone", "wading", "casting", "is_junior")
    search_fields = ("name", "email")
