"""Addresses of this app. Only the first carries a token, and it leads away from itself at once."""

from django.urls import path

from guiding.visits import views

app_name = "visits"
urlpatterns = [
    path("<str:token>/", views.open_link, name="open"),
    path("trip/<uuid:key>/", views.trip, name="trip"),
    path("trip/<uuid:key>/issue/<int:number>/", views.earlier_issue, name="issue"),
    path("trip/<uuid:key>/pack.pdf", views.pack_pdf, name="pdf"),
]
