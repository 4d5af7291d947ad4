"""Addresses of this app."""

app_name = "briefings"
urlpatterns: list = []
