"""The house's settings with what only tests need on top."""

import os
import tempfile
from pathlib import Path

os.environ.setdefault("SECRET_KEY", "only-for-tests-" + "x" * 40)
os.environ.setdefault("HTTPS", "off")
os.environ["DATABASE_URL"] = os.environ.get("TEST_DATABASE_URL", "sqlite://:memory:")

from guiding.settings import *  # noqa: F403

ALLOWED_HOSTS = ["testserver", "127.0.0.1", "localhost"]
HTTPS = SECURE_SSL_REDIRECT = SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = False
SECURE_HSTS_SECONDS = 0
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
DOCUMENTS_ROOT = tempfile.mkdtemp(prefix="spatebook-documents-")
STATIC_ROOT = Path(
    tempfile.mkdtemp(prefix="spatebook-static-")
)  # whitenoise warns where there is none
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
