"""Bookings in the records, to read: places are claimed by the page that takes a booking."""

from django.contrib import admin

from guiding.bookings.models import Booking, PartyMember, Place, TripDay
from guiding.history.admin import ReadOnlyAdmin, ReadOnlyInline


class TripDayInline(ReadOnlyInline):
    model = TripDay


class PartyMemberInline(ReadOnlyInline):
    model = PartyMember
    fk_name = "booking"


@admin.register(Booking)
class BookingAdmin(ReadOnlyAdmin):
    list_display = ("reference", "water", "payer", "state", "fish")
    list_filter = ("state", "water")
    inlines = (TripDayInline, PartyMemberInline)


@admin.register(Place)
class PlaceAdmin(ReadOnlyAdmin):
    list_display = ("water", "date", "part", "seat", "state", "booking", "held_until")
    list_filter = ("water", "state")
