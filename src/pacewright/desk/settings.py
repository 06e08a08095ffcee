"""Django settings of the desk, all of them.

Six values come from outside, as environment variables that `serve` sets: the data folder, the database,
the addresses the desk answers to, its ports, whether others on the network may come in, and by which
certificate what they send is encrypted.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, Final

from pacewright.desk.serving.data_folder import data_folder, mark_of, secret_of
from pacewright.desk.serving.database import database_setting

HERE: Final = Path(__file__).parent
DATA: Final = data_folder()

SECRET_KEY = secret_of(DATA)
DEBUG = False
LOOPBACK: Final = ["127.0.0.1", "localhost", "[::1]"]
ALLOWED_HOSTS = [*LOOPBACK, *filter(None, os.environ.get("PACEWRIGHT_HOSTS", "").split(","))]
IS_ON_NETWORK = os.environ.get("PACEWRIGHT_NETWORK") == "1"
# Of the certificate; empty where what others send is not encrypted.
HTTPS_FINGERPRINT = os.environ.get("PACEWRIGHT_HTTPS", "")
# The first of the hosts is this machine's own address on the network.
NETWORK_HOST = os.environ.get("PACEWRIGHT_HOSTS", "").split(",")[0]

INSTALLED_APPS = [
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "pacewright.desk",
]
MIDDLEWARE = [
    "pacewright.desk.serving.guards.PolicyMiddleware",
    "pacewright.desk.serving.https.guard.EncryptedMiddleware",
    "pacewright.desk.serving.guards.LocalTimeMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "pacewright.desk.serving.guards.SizeMiddleware",
    "pacewright.desk.serving.guest_turns.DoorTurnsMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "pacewright.desk.serving.access.AccessMiddleware",
    "pacewright.desk.serving.habits.HabitsMiddleware",
    "pacewright.desk.notebook.hidden_answers.HiddenAnswersMiddleware",
    "pacewright.desk.serving.guest_turns.GuestTurnsMiddleware",
    "pacewright.desk.serving.guards.ComplaintMiddleware",
]
ROOT_URLCONF = "pacewright.desk.urls"
TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "pacewright.desk.serving.access.who_is_here",
                "pacewright.desk.serving.https.guard.encryption",
                "pacewright.desk.serving.old_doors.old_doors",
                "pacewright.desk.serving.habits.how_it_is_read",
            ],
            "builtins": ["pacewright.desk.templatetags.said"],
        },
    }
]
DATABASES = {"default": database_setting(os.environ.get("PACEWRIGHT_DATABASE", ""), DATA)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

STATIC_URL = "/static/"
# Served straight from the package: there is no step that gathers them, and none to forget.
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 3600
WHITENOISE_MIMETYPES = {".webmanifest": "application/manifest+json"}

# The port the desk is open at, then those it had before and answers at as well.
PORTS: Final = [int(one) for one in os.environ.get("PACEWRIGHT_PORTS", "").split(",") if one]
# Browsers send a cookie to every port of a machine: two desks on one would throw each other's people out.
_OF_DESK: Final = mark_of(SECRET_KEY)
SESSION_COOKIE_NAME = f"pacewright_desk_{_OF_DESK}"
SESSION_COOKIE_AGE = 90 * 24 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_NAME = f"pacewright_form_{_OF_DESK}"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Strict"
CSRF_FAILURE_VIEW = "pacewright.desk.serving.guards.refused_form"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

MOST_FORM_BYTES: Final = 4_000_000
MOST_FILE_BYTES: Final = 64_000_000
DATA_UPLOAD_MAX_MEMORY_SIZE = MOST_FORM_BYTES
# Without scripts a row is seven fields of its page's one form, and a page holds 5 000 rows.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 50_000
FILE_UPLOAD_MAX_MEMORY_SIZE = MOST_FORM_BYTES

USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {message}", "style": "{"}},
    "filters": {
        # Whoever is asked to come again may ask without pause: no trouble of the desk is to be pushed out.
        "trouble": {
            "()": "django.utils.log.CallbackFilter",
            "callback": lambda record: getattr(record, "status_code", 0) != 503,
        },
    },
    "handlers": {
        "file": {
            "filters": ["trouble"],
            "class": "logging.handlers.RotatingFileHandler",
            "filename": str(DATA / "desk.log"),
            "maxBytes": 1_000_000,
            "backupCount": 2,
            "encoding": "utf-8",
            "delay": True,
            "formatter": "plain",
        },
        # Where the desk was started: on a full disk the file above may have no room for it either.
        "console": {"class": "logging.StreamHandler", "level": "CRITICAL", "formatter": "plain"},
    },
    "loggers": {
        name: {"handlers": ["file", "console"], "level": "ERROR", "propagate": False}
        for name in ("django", "waitress")
    },
}
