"""Addresses of packs, for those who are signed in."""

from django.urls import path

from briefings import views

app_name = "briefings"
urlpatterns = [
    path("<uuid:key>/", views.page, name="page"),
    path("<uuid:key>/pack.pdf", views.pdf, name="pdf"),
]
