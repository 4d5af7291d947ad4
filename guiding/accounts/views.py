"""Signing in."""

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.utils.decorators import method_decorator


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """Django's own sign-in on our page."""

    template_name = "accounts/sign_in.html"
    redirect_authenticated_user = True
