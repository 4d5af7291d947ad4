"""Addresses of this app."""

app_name = "visits"
urlpatterns: list = []
