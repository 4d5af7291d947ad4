"""Addresses of the pages that look across everything."""

from django.urls import path

from guiding.desk import views

app_name = "desk"
urlpatterns = [
    path("", views.today, name="today"),
    path("trips/", views.trips, name="trips"),
    path("trips/new/", views.new_trip, name="new_trip"),
    path("trips/new/<uuid:water>/", views.take, name="take"),
    path("trips/<uuid:key>/", views.trip, name="trip"),
    path("trips/<uuid:key>/issue/", views.issue, name="issue"),
    path("tackle/", views.tackle, name="tackle"),
]
