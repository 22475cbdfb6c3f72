"""Django's settings, read from the environment. Every variable and its default is listed in DEVELOPERS.md."""

import secrets
from pathlib import Path

import environ
from celery.schedules import crontab

from shop.sqlite import has_wal_fault, use_sound_library

SQLITE_VERSION = use_sound_library()

env = environ.Env()
BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.str("LATHESIDE_DATA", default=str(BASE_DIR / "var"))).resolve()

DEBUG = env.bool("LATHESIDE_DEBUG", default=False)
#: Whether people reach the room over HTTPS. On, cookies are __Host- ones and plain HTTP is turned away.
HTTPS = env.bool("LATHESIDE_HTTPS", default=False)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["127.0.0.1", "localhost", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
#: The proxy whose word is taken for the browser's address and for HTTPS; nobody's, where there is none.
TRUSTED_PROXY = env.str("LATHESIDE_PROXY", default="127.0.0.1" if HTTPS else "")


def _secret_key() -> str:
    """The key from SECRET_KEY, else the one made once and kept in the data folder, readable by its owner only."""
    if given := env.str("SECRET_KEY", default=""):
        return given
    kept = DATA_DIR / "secret_key"
    if not kept.exists():
        DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
        fresh = DATA_DIR / f"secret_key.{secrets.token_hex(4)}"
        fresh.touch(mode=0o600)
        fresh.write_text(secrets.token_urlsafe(64))
        try:
            kept.hardlink_to(fresh)  # fails if another process was first: then its key counts
        except FileExistsError:
            pass
        finally:
            fresh.unlink()
    return kept.read_text()


SECRET_KEY = _secret_key()

INSTALLED_APPS = [
    "shop.press",
    "shop.jobs",
    "shop.people",
    "shop.log",
    "shop.stock",
    "shop.record",
    "shop.duties",
    "shop.cutting",
    "shop.room",
    "shop.safety",
    "shop.training",
    "shop.watch",
    "shop.morning",
    "shop.demo",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django.forms",
    "django_filters",
    "django_htmx",
    "django_tables2",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.people.middleware.RoomMiddleware",
    "shop.people.middleware.DoorMiddleware",
    "shop.press.middleware.RefusalMiddleware",
]

ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"

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
                "shop.people.context.room",
            ],
            "builtins": ["shop.people.templatetags.shop"],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# Data ---------------------------------------------------------------------------------------------------------------

DATABASES = {"default": env.db("DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'latheside.sqlite3'}")}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    _journal = "DELETE" if has_wal_fault(SQLITE_VERSION) else "WAL"
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": f"PRAGMA journal_mode={_journal}; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON",
    }
    DATABASES["default"]["CONN_MAX_AGE"] = None
else:
    DATABASES["default"]["CONN_MAX_AGE"] = 300
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
    if DATABASES["default"]["ENGINE"].endswith("postgresql"):
        # Our long queries find few rows: compiling them took PostgreSQL a second where running them takes milliseconds.
        DATABASES["default"].setdefault("OPTIONS", {}).setdefault("options", "-c jit=off")
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

REDIS_URL = env.str("REDIS_URL", default="")
#: A Redis that is away is soon done without: it is a help, and nothing that is kept rests on it.
_REDIS = {"socket_connect_timeout": 2, "socket_timeout": 5}
CACHES = {
    "default": (
        {"BACKEND": "shop.jobs.cache.SpareableRedisCache", "LOCATION": REDIS_URL, "OPTIONS": _REDIS}
        if REDIS_URL
        else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
    )
}

# Background work: Celery where there is a REDIS_URL, else the clock thread of the one server --------------------------

CELERY_BROKER_URL = REDIS_URL or None
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = False
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_TIME_LIMIT = 300
CELERY_TASK_SOFT_TIME_LIMIT = 240
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None  # a worker waits for its broker as long as it takes
CELERY_BROKER_TRANSPORT_OPTIONS = {"socket_connect_timeout": 2}
CELERY_TASK_PUBLISH_RETRY_POLICY = {"max_retries": 1, "interval_start": 0.1, "interval_max": 0.1}
CELERY_TIMEZONE = "UTC"
#: The beat keeps its schedule in Redis and holds a lock there: of several one beats, and another follows if it dies.
CELERY_BEAT_SCHEDULER = "shop.jobs.beat:Beat"
CELERY_REDBEAT_REDIS_OPTIONS = _REDIS
CELERY_REDBEAT_LOCK_TIMEOUT = 120
CELERY_BEAT_MAX_LOOP_INTERVAL = 20
CELERY_BEAT_SCHEDULE = {"run-due-jobs": {"task": "shop.jobs.tasks.run_due", "schedule": crontab(minute="*")}}

_email = env.email("EMAIL_URL", default="consolemail://")
EMAIL_BACKEND = _email.pop("EMAIL_BACKEND")
globals().update(_email)
#: A mail server that does not answer for so long (seconds) is tried again later; a sender's lease lasts longer.
EMAIL_TIMEOUT = 30
#: How people reach the room from outside: what links in mails and calendars begin with.
LATHESIDE_ADDRESS = env.str("LATHESIDE_ADDRESS", default="http://127.0.0.1:8000")
DEFAULT_FROM_EMAIL = env.str("MAIL_FROM", default="latheside@localhost")

# People -------------------------------------------------------------------------------------------------------------

AUTH_USER_MODEL = "people.Person"
AUTHENTICATION_BACKENDS = ["shop.people.backends.PersonAndRoomBackend"]
LOGIN_URL = "people:sign-in"
LOGIN_REDIRECT_URL = "morning:today"
LOGOUT_REDIRECT_URL = "people:sign-in"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "shop.people.passwords.NotRepeatedValidator"},
    {"NAME": "shop.people.passwords.NotInARowValidator"},
    {"NAME": "shop.people.passwords.NotTooLongValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("sign_in", "name", "email")},
    },
]
# in the session, so that what was saved is told on the next page even where the answer to the press was lost
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]

# The web ------------------------------------------------------------------------------------------------------------

SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "shop.press.views.csrf_failure"
if HTTPS:
    SESSION_COOKIE_NAME = "__Host-session"
    CSRF_COOKIE_NAME = "__Host-csrf"
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SECURE_SSL_REDIRECT = True
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_HSTS_SECONDS = 365 * 24 * 3600
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'"],
        "font-src": ["'self'"],
        "connect-src": ["'self'"],
        "manifest-src": ["'self'"],
        "worker-src": ["'self'"],
        "form-action": ["'self'"],
        "base-uri": ["'none'"],
        "object-src": ["'none'"],
        "frame-ancestors": ["'none'"],
    }
}

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "shop" / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
MEDIA_ROOT = DATA_DIR / "files"
FIXTURE_DIRS = [BASE_DIR / "fixtures"]

LANGUAGE_CODE = "en-gb"
USE_TZ = True
TIME_ZONE = "UTC"

DJANGO_TABLES2_TEMPLATE = "parts/table.html"
DATA_UPLOAD_MAX_NUMBER_FIELDS = 500

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.str("LATHESIDE_LOG", default="WARNING")},
    "loggers": {"weasyprint": {"level": "ERROR"}},  # it warns of each property that only the screen knows
}
