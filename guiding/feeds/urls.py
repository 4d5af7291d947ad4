"""Addresses of the sources and the credits."""

from django.urls import path

from guiding.feeds import views

app_name = "feeds"
urlpatterns = [
    path("", views.sources, name="sources"),
    path("add/", views.add, name="add"),
    path("credits/", views.credits, name="credits"),
    path("<uuid:key>/switch/", views.switch, name="switch"),
    path("<uuid:key>/confirm/", views.confirm, name="confirm"),
    path("<uuid:key>/again/", views.again, name="again"),
]
