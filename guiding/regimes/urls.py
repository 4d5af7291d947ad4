"""Addresses of the pages of moved and iced water."""

from django.urls import path

from guiding.regimes import views

app_name = "regimes"
urlpatterns = [
    path("", views.index, name="index"),
    path("dams/<uuid:key>/", views.dam, name="dam"),
    path("dams/<uuid:key>/file/", views.import_releases, name="import_releases"),
    path("tides/<uuid:key>/", views.tide, name="tide"),
    path("tides/<uuid:key>/file/", views.import_tides, name="import_tides"),
    path("ice/<uuid:key>/", views.ice, name="ice"),
]
