"""Two reasons get the words of the trade; days and the end of an offer are kept on the booking."""

from django.db import migrations
from django.db.models import Max, Min, OuterRef, Subquery

RENAMED = (("dangerous", "unsafe"), ("closed", "closed_by_order"))


def forwards(apps, schema_editor):
    booking = apps.get_model("bookings", "Booking")
    day = apps.get_model("bookings", "TripDay")
    place = apps.get_model("bookings", "Place")
    for old, new in RENAMED:
        booking.objects.filter(called_off_for=old).update(called_off_for=new)
    days = day.objects.filter(booking=OuterRef("pk")).order_by().values("booking")
    held = place.objects.filter(booking=OuterRef("pk")).order_by().values("booking")
    booking.objects.update(
        first_date=Subquery(days.annotate(first=Min("date")).values("first")),
        last_date=Subquery(days.annotate(last=Max("date")).values("last")),
    )
    booking.objects.filter(state="offered").update(
        offered_until=Subquery(held.annotate(ends=Max("held_until")).values("ends"))
    )


def backwards(apps, schema_editor):
    booking = apps.get_model("bookings", "Booking")
    for old, new in RENAMED:
        booking.objects.filter(called_off_for=new).update(called_off_for=old)


class Migration(migrations.Migration):
    dependencies = [("bookings", "0002_offer_to_closed")]

    operations = [migrations.RunPython(forwards, backwards)]
