"""Addresses of this app."""

app_name = "gauges"
urlpatterns: list = []
