"""Settings, all from the environment; README.md lists the variables."""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import Any

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from custody.private_files import keep_secret


def _flag(name: str) -> bool:
    return os.environ.get(name, "").strip().lower() in {"1", "true", "yes", "on"}


def database(url: str) -> dict[str, Any]:
    """Django's settings for a database address: `sqlite:///relative`, `sqlite:////absolute`, or any libpq URI.

    A libpq URI may name several hosts and `target_session_attrs=read-write`, so that a standby takes over by itself.
    Connections stay open, one a thread, and are tried before a request uses them.
    """
    kept = {"CONN_MAX_AGE": None, "CONN_HEALTH_CHECKS": True}
    if url.startswith("sqlite:///"):
        options = {
            # A transaction that will write takes its lock first: two that read, then write, would end in "locked".
            "transaction_mode": "IMMEDIATE",
            "timeout": 30,
            # FULL: what a receipt was given for survives a power cut. Foreign keys are switched on by Django.
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-16000",
        }
        path = Path(url.removeprefix("sqlite:///")).expanduser().absolute()
        return {"ENGINE": "django.db.backends.sqlite3", "NAME": str(path), "OPTIONS": options, **kept}
    if url.startswith(("postgresql://", "postgres://")):
        from psycopg.conninfo import conninfo_to_dict

        parts: dict[str, Any] = dict(conninfo_to_dict(url))
        names = {"NAME": "dbname", "USER": "user", "PASSWORD": "password", "HOST": "host", "PORT": "port"}
        found = {setting: str(parts.pop(part, "")) for setting, part in names.items()}
        # Few statements, run over and over: prepared on the server they cost a fifth less (measured on appending).
        options = {"server_side_binding": True, "prepare_threshold": 5, **parts}
        return {"ENGINE": "django.db.backends.postgresql", **found, "OPTIONS": options, **kept}
    raise ImproperlyConfigured("CUSTODY_DATABASE_URL must begin with sqlite:/// or postgresql://")


BASE_DIR = Path(__file__).resolve().parent.parent

# The folder for what is not code: the embedded database, the secret key, the log's signing keys, photos.
CUSTODY_DATA = Path(os.environ.get("CUSTODY_DATA") or BASE_DIR / "var").expanduser().absolute()
CUSTODY_DATA.mkdir(mode=0o700, parents=True, exist_ok=True)

# The host in the origin of every checkpoint, fixed for a log when the log is made.
CUSTODY_ORIGIN = os.environ.get("CUSTODY_ORIGIN", "custody.example")
# The rehearsal that the pages show in place of the log in earnest; they say so, and are open to whoever reaches them.
CUSTODY_REHEARSAL = os.environ.get("CUSTODY_REHEARSAL", "").strip()

SECRET_KEY = (
    os.environ.get("CUSTODY_SECRET_KEY")
    or keep_secret(CUSTODY_DATA / "secret_key", lambda: secrets.token_urlsafe(50).encode()).decode()
)
DEBUG = _flag("CUSTODY_DEBUG")
ALLOWED_HOSTS = [host.strip() for host in os.environ.get("CUSTODY_HOSTS", "localhost,127.0.0.1,[::1]").split(",")]
# Set where a proxy in front speaks HTTPS and tells so in X-Forwarded-Proto, replacing what a client sent.
CUSTODY_HTTPS = _flag("CUSTODY_HTTPS")

DATABASES = {
    "default": database(os.environ.get("CUSTODY_DATABASE_URL") or f"sqlite:///{CUSTODY_DATA / 'custody.sqlite3'}")
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "custody",
    "api",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_otp.middleware.OTPMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
    "custody.web.access.Door",
]

ROOT_URLCONF = "custody.urls"
WSGI_APPLICATION = "custody.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "custody.web.context.rehearsal",
                "custody.web.context.may",
            ],
            "builtins": ["custody.web.tags"],
        },
    },
]

# Only what comes from here, and nothing inline: a name typed into a form must never become script.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
CSRF_COOKIE_SECURE = SESSION_COOKIE_SECURE = SECURE_SSL_REDIRECT = CUSTODY_HTTPS
# A rehearsal may be shown for a day at a host that has other uses: it asks for nothing that outlasts it.
SECURE_HSTS_SECONDS = 365 * 86_400 if CUSTODY_HTTPS and not CUSTODY_REHEARSAL else 0
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if CUSTODY_HTTPS else None
# Whether the office's other hosts are ever served without HTTPS is not ours to say: no subdomains, no preload list.
# Guessing is counted by name, from wherever it comes.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021", "axes.W006"]
LOGIN_URL, LOGIN_REDIRECT_URL = "sign-in", "start"
CSRF_FAILURE_VIEW = "custody.web.errors.unsafe_form"
SESSION_COOKIE_AGE = 16 * 3600  # an election day and the night after it

AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
    "custody.web.badge_backend.BadgeBackend",
]
OTP_ADMIN_HIDE_SENSITIVE_DATA = True  # whoever takes a lost second factor off sees nobody's secret
AXES_FAILURE_LIMIT = 10
AXES_LOCKOUT_PARAMETERS = ["username"]
AXES_RESET_ON_SUCCESS = True  # in a row, not in a lifetime
AXES_COOLOFF_TIME = 1  # hour; a badge, whose PIN is short, stays locked until the office lifts it (services/sign_in.py)
AXES_ENABLE_ADMIN = False  # the admin is for the register and the accounts
AXES_LOCKOUT_TEMPLATE = "access/locked.html"

# OWASP Password Storage Cheat Sheet: PBKDF2-HMAC-SHA256 with at least 600,000 rounds; Django 5.2 uses 1,000,000.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]
# NIST SP 800-63B: 15 characters where a password stands alone, 8 beside a second factor; common ones refused, no rules of
# composition.
AUTH_PASSWORD_VALIDATORS: list[dict[str, Any]] = [
    {"NAME": "custody.web.passwords.LengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]

USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
LOCALE_PATHS = [BASE_DIR / "custody" / "locale"]
# The language that somebody chose. A phone's page sets it without the server: no secret.
LANGUAGE_COOKIE_AGE = 365 * 86_400
LANGUAGE_COOKIE_SAMESITE = "Lax"
LANGUAGE_COOKIE_SECURE = CUSTODY_HTTPS

STATIC_URL = "static/"
STATIC_ROOT = CUSTODY_DATA / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    # Names with the hash of the content, for ever in a browser's cache; in debug mode, the plain names.
    "staticfiles": {"BACKEND": "custody.static_files.HashedStaticFiles"},
}

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["api.permissions.HasRight"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    # A receiving station's desks share one address; a whole county's evening fits twice over.
    "DEFAULT_THROTTLE_RATES": {"entries": "6000/min", "photos": "600/min"},
    # Counted by the address that the proxy saw, or that we see. What a sender writes into X-Forwarded-For is no address.
    "NUM_PROXIES": 1 if CUSTODY_HTTPS else 0,
    "EXCEPTION_HANDLER": "api.errors.answer_problem",
}
# A day's entries of a place without a network come in one request.
DATA_UPLOAD_MAX_MEMORY_SIZE = 16 * 1024 * 1024
SPECTACULAR_SETTINGS = {
    "TITLE": "Custody log",
    "DESCRIPTION": "The chain of custody of physical election material: signed entries in, what is on record out.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
}
