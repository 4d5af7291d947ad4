"""Every setting of the house, read from the environment; secrets have no default."""

from pathlib import Path

import environ
from csp.constants import NONE, SELF

HOUSE = Path(__file__).resolve().parent.parent
OWN_FOLDER = HOUSE / ".spatebook"

env = environ.FileAwareEnv()
if (OWN_FOLDER / "env").exists():
    env.read_env(OWN_FOLDER / "env")

SECRET_KEY = env.str("SECRET_KEY")
DEBUG = env.bool("DEBUG", default=False)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["127.0.0.1", "localhost"])
HTTPS = env.bool("HTTPS", default=True)
SITE_ADDRESS = env.str("SITE_ADDRESS", default="http://127.0.0.1:8000")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "guiding.accounts",
    "guiding.history",
    "guiding.documents",
    "guiding.mail",
    "guiding.clients",
    "guiding.rivers",
    "guiding.tackle",
    "guiding.regimes",
    "guiding.gauges",
    "guiding.feeds",
    "guiding.ledger",
    "guiding.permits",
    "guiding.bookings",
    "briefings",
    "guiding.desk",
    "guiding.visits",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "guiding.urls"
WSGI_APPLICATION = "guiding.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [HOUSE / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    }
]

DATABASES = {
    "default": env.db("DATABASE_URL", default=f"sqlite:///{OWN_FOLDER / 'spatebook.sqlite3'}")
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # With Django's own defaults half of many concurrent writes fail with "database is locked".
    DATABASES["default"].setdefault("OPTIONS", {}).update(
        transaction_mode="IMMEDIATE",
        timeout=20,
        init_command="PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
    )
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "accounts.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
LOGIN_URL = "accounts:sign_in"
LOGIN_REDIRECT_URL = "desk:today"
LOGOUT_REDIRECT_URL = "accounts:sign_in"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True

STATIC_URL = "static/"
STATIC_ROOT = OWN_FOLDER / "static"
STATICFILES_DIRS = [HOUSE / "briefings" / "assets"]
WHITENOISE_USE_FINDERS = True

# Packs and uploads: never under a public address, served only by views.
DOCUMENTS_ROOT = env.path("DOCUMENTS_ROOT", default=str(OWN_FOLDER / "documents"))

vars().update(env.email("EMAIL_URL", default="consolemail://"))
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env.str("MAIL_FROM", default="guide@spatebook.invalid")
SERVER_EMAIL = DEFAULT_FROM_EMAIL

# Agencies and weather. CONTACT says in every request who is asking: MET Norway answers nobody else.
FEEDS_CONTACT = env.str("CONTACT", default="")
FEEDS_KEYS = env.dict("FEEDS_KEYS", default={})  # agency=key,...; sent in headers only
FEEDS_BASES = env.dict("FEEDS_BASES", default={})  # agency=https://...: a mirror of one's own
# host:port of servers of our own, the only ones that may speak http or stand in a private network
FEEDS_OWN_SERVERS = env.list("FEEDS_OWN_SERVERS", default=[])

SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
X_FRAME_OPTIONS = "DENY"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "manifest-src": [SELF],
    }
}

# A private link's token stands in the address of its first request: no log may keep it. Django's
# own handlers are replaced, because they would write the line without the filter.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"hide_tokens": {"()": "guiding.visits.logs.HideTokens"}},
    "formatters": {"plain": {"format": "{levelname} {name}: {message}", "style": "{"}},
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": "plain",
            "filters": ["hide_tokens"],
        }
    },
    "loggers": {
        "django": {"handlers": [], "level": "INFO", "propagate": True},
        "django.server": {"handlers": [], "level": "INFO", "propagate": True},
    },
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", default="WARNING")},
}
