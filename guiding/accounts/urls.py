"""Addresses of signing in and out."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from guiding.accounts.views import SignIn

app_name = "accounts"
urlpatterns = [
    path("sign-in/", SignIn.as_view(), name="sign_in"),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
]
