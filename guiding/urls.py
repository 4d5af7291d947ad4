"""The site's table of contents: every app under its own prefix."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("guiding.desk.urls")),
    path("account/", include("guiding.accounts.urls")),
    path("river/", include("guiding.gauges.urls")),
    path("regimes/", include("guiding.regimes.urls")),
    path("sources/", include("guiding.feeds.urls")),
    path("briefings/", include("briefings.urls")),
    path("v/", include("guiding.visits.urls")),
    path("admin/", admin.site.urls),
]
