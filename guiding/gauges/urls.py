"""Addresses of the River page."""

from django.urls import path

from guiding.gauges import views

app_name = "gauges"
urlpatterns = [
    path("", views.rivers, name="rivers"),
    path("<uuid:key>/", views.river, name="river"),
    path("<uuid:key>/confirm-marks/", views.confirm, name="confirm_marks"),
    path("<uuid:key>/record/", views.record, name="record"),
]
