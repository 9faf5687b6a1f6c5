"""Settings, from the environment, in one place."""

from pathlib import Path

from csp.constants import NONE, SELF

from readiness.environment import from_process
from readiness.logs import without_trace
from readiness.sqlite import WAIT_SECONDS, safe_options, use_mended

use_mended()

BASE_DIR = Path(__file__).resolve().parent.parent
ENVIRONMENT = from_process(BASE_DIR)

DEBUG = ENVIRONMENT.debug
SECRET_KEY = ENVIRONMENT.secret_key
ALLOWED_HOSTS = list(ENVIRONMENT.hosts)
READINESS_DEMO = ENVIRONMENT.demo
READINESS_PROXIES = ENVIRONMENT.proxies

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_htmx",
    "template_partials.apps.SimpleAppConfig",
    "csp",
    "drills",
    "drills.people",
    "drills.rigs",
    "drills.formulary",
    "drills.competency",
    "drills.scenarios",
    "drills.runs",
    "drills.boards",
    "drills.demo",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "drills.people.middleware.SignInFirst",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "drills.people.middleware.personal_pages",
    "drills.people.middleware.text_alone",
    "drills.people.middleware.DatabaseBusy",
    "drills.rigs.middleware.ComeInForce",
]

if not DEBUG:
    # The development server finds static files by itself, and there is no folder of them yet.
    MIDDLEWARE.insert(1, "whitenoise.middleware.WhiteNoiseMiddleware")

ROOT_URLCONF = "readiness.urls"
WSGI_APPLICATION = "readiness.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "OPTIONS": {
            "loaders": [
                (
                    "template_partials.loader.Loader",
                    [
                        (
                            "django.template.loaders.cached.Loader",
                            [
                                "django.template.loaders.filesystem.Loader",
                                "django.template.loaders.app_directories.Loader",
                            ],
                        )
                    ],
                )
            ],
            "builtins": [
                "template_partials.templatetags.partials",
                "django_htmx.templatetags.django_htmx",
                "django.templatetags.static",
                "django.contrib.humanize.templatetags.humanize",
                "drills.people.unbroken",
            ],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "drills.people.context.sheet",
            ],
        },
    },
]

# What is thought of each person is kept for the day: of a large service on every layout.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "OPTIONS": {"MAX_ENTRIES": 20_000},
    }
}
DATABASES = {"default": ENVIRONMENT.database}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = safe_options()
else:
    # Nobody waits for a lock without end, nor longer than on SQLite.
    waits = {"options": f"-c lock_timeout={WAIT_SECONDS}s"}
    DATABASES["default"]["OPTIONS"] = waits | DATABASES["default"].get("OPTIONS", {})
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "people.Person"
LOGIN_URL = "people:sign_in"
LOGIN_REDIRECT_URL = "boards:home"
LOGOUT_REDIRECT_URL = "people:sign_in"
# The sheets along the top: name, address by name, and the roles that may open it; none is all.
SHEETS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("Today", "boards:home", ()),
    ("Drills", "boards:drills", ()),
    ("Assigned", "runs:assignments", ("fto", "educator")),
    ("Rigs", "rigs:index", ()),
    ("Formulary", "formulary:index", ()),
    ("Calls", "scenarios:calls", ("educator", "fto", "keeper", "director", "admin")),
    ("Roster", "boards:roster", ("admin",)),
)
# Where a person finds the run they are in.
RUNS_URL = "boards:drills"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

LANGUAGE_CODE = "en-us"
TIME_ZONE = ENVIRONMENT.time_zone
USE_TZ = True
FIXTURE_DIRS = [BASE_DIR / "fixtures"]

STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / ".static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}

# Without a place to hand mail in the service sends none, and says so where it is asked for.
READINESS_MAIL_HOURS = ENVIRONMENT.mail_hours if ENVIRONMENT.mail or DEBUG else None
EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
if ENVIRONMENT.mail:
    EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    EMAIL_HOST, EMAIL_PORT = ENVIRONMENT.mail.host, ENVIRONMENT.mail.port
    EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = ENVIRONMENT.mail.user, ENVIRONMENT.mail.password
    EMAIL_USE_SSL = ENVIRONMENT.mail.security == "smtps"
    EMAIL_USE_TLS = ENVIRONMENT.mail.security == "smtp+starttls"
    DEFAULT_FROM_EMAIL = ENVIRONMENT.mail.sender
    EMAIL_TIMEOUT = 30
# What a letter links to; listening on every card, no name is the site's own.
READINESS_HOME = f"{'http' if DEBUG else 'https'}://{ALLOWED_HOSTS[0].replace('*', 'localhost')}/"

SESSION_COOKIE_AGE = 12 * 60 * 60
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = not DEBUG
CSRF_COOKIE_HTTPONLY = True
if not DEBUG:
    # A browser takes a cookie of this name over TLS alone, for this one host and every path.
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "__Host-session", "__Host-csrf"
SECURE_SSL_REDIRECT = not DEBUG
SECURE_HSTS_SECONDS = 0 if DEBUG else 365 * 24 * 60 * 60
SECURE_HSTS_INCLUDE_SUBDOMAINS = ENVIRONMENT.hsts_subdomains and not DEBUG
SECURE_HSTS_PRELOAD = ENVIRONMENT.hsts_preload and not DEBUG
# Names below this one may belong to somebody else in the agency, and a name on the list that
# browsers are shipped with is not taken off it for months: the operator decides, and is not warned.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
# A service stands behind a proxy that ends TLS and sets this header: without one it could answer
# nothing but redirects. A client that reaches it past the proxy and forges the header spares only
# itself the redirect, and gets cookies that no browser sends in clear. Development has no proxy,
# so there the header is not believed.
SECURE_PROXY_SSL_HEADER = None if DEBUG else ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 6 * 1024 * 1024
# A kit is sent with a field for each line of the rig; the greatest layouts have 5,000 lines.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 12_000

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "connect-src": [SELF],
        "font-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
        "object-src": [NONE],
    }
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "filters": {"refusals": {"()": "django.utils.log.CallbackFilter", "callback": without_trace}},
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "formatter": "line",
            "filters": ["refusals"],
        }
    },
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    # With DEBUG off Django would mail its errors and print none.
    "loggers": {"django": {"handlers": [], "level": "WARNING", "propagate": True}},
}
