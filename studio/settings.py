"""Settings, read from the environment. docs/running.md lists every variable."""

import datetime
import sys
from pathlib import Path

import environ
from django.core.exceptions import ImproperlyConfigured
from django.utils.translation import gettext_lazy as _

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = BASE_DIR / "var"

env = environ.Env()

DEBUG = env.bool("DEBUG", default=False)

# The demo has a database file of its own, whatever DATABASE_URL says, and a key that guards
# nothing.
DEMO = sys.argv[1:2] == ["demo"] or (sys.argv[1:2] == ["readings"] and "--demo" in sys.argv)

SECRET_KEY = env.str("SECRET_KEY", default="")
if DEMO and not SECRET_KEY:
    SECRET_KEY = "demo-key-that-signs-nothing-of-value-and-is-never-used-elsewhere"  # noqa: S105
if not SECRET_KEY:
    key_file = VAR_DIR / "secret-key"
    if key_file.exists():
        SECRET_KEY = key_file.read_text().strip()

# Commands that only read files, or that make the key, run without one.
KEYLESS_COMMANDS = {"begin", "makemigrations", "makemessages", "compilemessages", "compare_rules"}
if not SECRET_KEY:
    if len(sys.argv) > 1 and sys.argv[1] in KEYLESS_COMMANDS:
        SECRET_KEY = "no-key-yet"  # noqa: S105
    else:
        raise ImproperlyConfigured(
            "Set SECRET_KEY, or run 'manage.py begin', which makes one in var/secret-key."
        )

ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
# Set when the site is served over https; the demo and a first try on one machine are not.
HTTPS = env.bool("HTTPS", default=False)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "studio",
    "progression",
    "readiness",
]

MIDDLEWARE = [
    "studio.middleware.PrivateAnswersMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "studio.middleware.CallsKeepCookiesMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    # Before anybody asks whose session it is.
    "studio.middleware.EndedSessionMiddleware",
    "studio.middleware.OlderSessionMiddleware",
    "studio.middleware.BusyMiddleware",
    "studio.middleware.ByPinMiddleware",
    "studio.middleware.QuickAnswerMiddleware",
    "studio.middleware.IdleDeskMiddleware",
    "studio.middleware.SignInRequiredMiddleware",
    # After the sign-in, which needs no body, and before the first that reads one.
    "studio.bodies.BodyMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "studio.urls"
WSGI_APPLICATION = "studio.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.i18n",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "studio.context.page",
                "readiness.proposals.context.ladder_waiting",
            ],
            "builtins": ["django.templatetags.i18n", "django.templatetags.static"],
        },
    }
]

if DEMO:
    DATABASES = {"default": env.db_url_config(f"sqlite:///{VAR_DIR / 'demo.sqlite3'}")}
else:
    DATABASES = {"default": env.db("DATABASE_URL", f"sqlite:///{VAR_DIR / 'studio.sqlite3'}")}

# docs/scale.md says what each of these is for, and what was measured.
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    VAR_DIR.mkdir(mode=0o700, exist_ok=True)
    DATABASES["default"]["OPTIONS"] = {
        # A writer that first reads cannot upgrade an outdated view: every atomic() takes the
        # write lock at its start, so that writers queue instead of failing. Pages that only
        # read open no atomic(), and requests are not wrapped in one: readers never queue.
        "transaction_mode": "IMMEDIATE",
        # The longest that a writer waits for its turn, in seconds; then the call answers 503
        # and the tablet sends again.
        "timeout": 20,
        # An acknowledged turn survives a power cut (FULL); readers go on beside a writer (WAL).
        # Django itself switches foreign keys on for each connection. Recursive triggers: what
        # replaces a row deletes it, and the guards of append-only tables see it.
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; "
        "PRAGMA recursive_triggers=ON;",
    }
else:
    options = DATABASES["default"].setdefault("OPTIONS", {})
    # One pool for each process of the server. It holds as many connections as requests were
    # under way at once, and keeps one. With a pool no connection belongs to a thread for longer
    # than its request.
    options["pool"] = {
        "min_size": 1,
        "max_size": 20,
        # Seconds that a request waits for a connection; then it fails, and a tablet sends again.
        "timeout": 10,
    }
    # From the third time on, a connection has a plan for a statement: planning took most of the
    # time of a turn's small queries.
    options["server_side_binding"] = True
    options["prepare_threshold"] = 2
    DATABASES["default"]["CONN_MAX_AGE"] = 0
    # A connection that the database has closed in the meantime is noticed, and another taken.
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True

DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "studio.Staff"
AUTHENTICATION_BACKENDS = [
    "studio.sign_in.backends.PasswordBackend",
    "studio.sign_in.backends.PinBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        # NIST SP 800-63B-4, 3.1.1.2, where nothing else is asked for.
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "studio.sign_in.new_password.EndsPin"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "tonight"
LOGOUT_REDIRECT_URL = "sign-in"

SESSION_ENGINE = "studio.sign_in.sessions"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = env.int("SESSION_COOKIE_AGE", default=60 * 60 * 14)
# A sign-in by PIN on a shared tablet ends sooner, however busy it is.
PIN_SESSION_AGE = env.int("PIN_SESSION_AGE", default=60 * 60 * 4)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = env.bool("HSTS_SUBDOMAINS", default=False)
# Whether all other sites under the same name are served over https, and may be named to browsers
# for ever, only whoever owns that name can say.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "studio.error_views.stale_token"
# studio/bodies.py refuses bodies before they are read, each view's by its own limit; this one is
# above them all.
DATA_UPLOAD_MAX_MEMORY_SIZE = 20 * 1024 * 1024

LANGUAGE_CODE = env.str("LANGUAGE_CODE", default="en")
# Of the program's own pages.
LANGUAGES = [("en", _("English"))]
# Of letters to families.
LETTER_LANGUAGES = ["en", "es", "fr", "pt", "de", "ar"]
LOCALE_PATHS = [BASE_DIR / "studio" / "locale", BASE_DIR / "readiness" / "letters" / "locale"]
USE_I18N = True
USE_TZ = True
# Days are a matter of each location's own zone (studio.models.Location); this one is only
# for times that belong to no location.
TIME_ZONE = env.str("TIME_ZONE", default="UTC")

# Turns of a day more than so many days ago are kept, and graded once a director confirms them.
LATE_AFTER_DAYS = env.int("LATE_AFTER_DAYS", default=7)
# After so many minutes without a touch, a shared tablet asks who is at it.
IDLE_MINUTES = env.int("IDLE_MINUTES", default=10)
# After so many minutes without a page, a sign-in by password ends; 0: it does not. The floor has
# its own question.
DESK_IDLE_MINUTES = env.int("DESK_IDLE_MINUTES", default=60)
# Month and day on which a season begins: consent to hands-on spotting is asked for each season.
month_and_day = env.str("SEASON_BEGINS", default="09-01")
try:
    # A day of every year, 29 February is none: only its month and day are looked at.
    SEASON_BEGINS = datetime.date.fromisoformat(f"2001-{month_and_day}")
except ValueError as error:
    raise ImproperlyConfigured(
        f"SEASON_BEGINS is a month and a day of every year, such as 09-01, not {month_and_day!r}."
    ) from error
# Called with the children whose answers have changed, by key, and the day of each: what is stored
# of them is worked out again.
AFTER_CONSENTS = "readiness.record.standings.consents_changed"
# What is told which records are of other children than before (studio/people/merging.py).
AFTER_MERGE = "readiness.record.standings.records_changed"
# What two people have signed for a child: no merge adds to it.
SIGNED_STAGES = "readiness.record.merged.signed.signed_stages"
# Called with the session of a sign-in that ends, and the time.
BEFORE_SIGN_OUT = "progression.log.signing_keys.end_key"
# Called with the time when a backup has been put back, after every sign-in has ended.
AFTER_RESTORE = "progression.log.signing_keys.end_all"

# Where backups are kept, how many, and whose age keys may read them (manage.py backup --encrypt).
BACKUP_DIR = Path(env.str("BACKUP_DIR", default=str(VAR_DIR / "backups")))
BACKUP_KEEP = env.int("BACKUP_KEEP", default=30)
BACKUP_RECIPIENTS = env.list("BACKUP_RECIPIENTS", default=[])
# So long a change of the ladder waits where no second director can say yes to it.
LADDER_WAITS_DAYS = env.int("LADDER_WAITS_DAYS", default=7)
# What happened to a child keeps its record until the child is an adult, and so many years more, in
# which claims may be made. Until a studio has said how many, such a record is kept.
ADULT_AT = env.int("ADULT_AT", default=18)
INCIDENT_CLAIM_YEARS = env.int("INCIDENT_CLAIM_YEARS", default=None)
# Children who left so many years ago are put up to be erased (manage.py retention).
LEFT_KEPT_YEARS = env.int("LEFT_KEPT_YEARS", default=None)
# A folder of typefaces for letters, beside the shipped ones: Chinese, Japanese, Korean.
LADDER_FACES = env.str("LADDER_FACES", default="")
# Whose forms of the characters that Chinese, Japanese and Korean share: zh-hans, zh-hant, ja, ko.
LADDER_HAN = env.str("LADDER_HAN", default="zh-hans")
if LADDER_HAN not in ("zh-hans", "zh-hant", "ja", "ko"):
    raise ImproperlyConfigured(f"LADDER_HAN is {LADDER_HAN!r}; it is zh-hans, zh-hant, ja or ko.")
# The paper of letters: a4, or letter for US Letter.
LADDER_PAPER = env.str("LADDER_PAPER", default="a4")
if LADDER_PAPER not in ("a4", "letter"):
    raise ImproperlyConfigured(f"LADDER_PAPER is {LADDER_PAPER!r}; it is a4 or letter.")

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "studio.static_files.HashedFiles"},
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "loggers": {
        "ladder": {"handlers": ["stderr"], "level": env.str("LOG_LEVEL", default="INFO")},
        "django": {"handlers": ["stderr"], "level": "WARNING", "propagate": False},
    },
}
