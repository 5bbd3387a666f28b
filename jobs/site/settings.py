"""Settings, each with its default beside it: a clone runs with no set-up. `check --deploy` shouts where one is unsafe.

Which of the two ways to run is decided by DATABASE_URL and REDIS_URL alone: without them SQLite in the data folder and
a queue in memory; `.env.example` lists every variable.
"""

from pathlib import Path

from csp.constants import NONE, SELF
from django.core.management.utils import get_random_secret_key

from jobs.site import env, private_files

HERE = Path(__file__).resolve().parents[2]
DATA = private_files.data_folder(env.env_text("CAMBERBOOK_DATA"), default=HERE / ".data")

DEBUG = env.env_flag("DEBUG", default=False)
SECRET_KEY = env.env_text("SECRET_KEY") or private_files.kept_once(DATA / "secret-key", get_random_secret_key)

# Who may call, and over what. A shop's tablets reach `serve --host` by the machine's own names, which `serve` adds.
TLS = env.env_flag("CAMBERBOOK_TLS", default=False)                      # every request comes over https
BEHIND_PROXY = env.env_flag("CAMBERBOOK_BEHIND_PROXY", default=False)    # our proxy sets X-Forwarded-Proto and -For
LOCAL_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
ALLOWED_HOSTS = env.env_list("ALLOWED_HOSTS", LOCAL_HOSTS)
CSRF_TRUSTED_ORIGINS = env.env_list("CSRF_TRUSTED_ORIGINS")
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
SECURE_SSL_REDIRECT = TLS
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
SECURE_HSTS_SECONDS = env.env_int("CAMBERBOOK_HSTS_SECONDS", 31_536_000) if TLS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = False
SECURE_HSTS_PRELOAD = False
# Sub-domains and the browsers' preload list: the shop's name may carry other services, and that is the shop's decision.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
SECURE_REFERRER_POLICY = SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_CONTENT_TYPE_NOSNIFF = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = TLS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = env.env_int("CAMBERBOOK_SESSION_HOURS", 14, least=1) * 3600      # one long shift
SESSION_SAVE_EVERY_REQUEST = False
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "blob:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.humanize",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "django_filters",
    "django_htmx",
    "axes",
    "csp",
    "engineering",
    "jobs",
    "reports",
]
MIDDLEWARE = [
    "jobs.site.log_lines.numbered_requests",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "jobs.site.page_headers.page_headers",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "jobs.site.methods.PageMethods",
    "jobs.site.sessions.LateRequestsEndNothing",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "jobs.site.queued_entries.QueuedEntries",
    "jobs.site.language.CrewLanguage",
    # Every page asks for a sign-in, unless its view says @login_not_required.
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "jobs.site.refusals.Refusals",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "jobs.site.urls"
WSGI_APPLICATION = "jobs.site.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
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

DATABASES = {"default": env.database(env.env_text("DATABASE_URL"), data=DATA)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "jobs.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "login"

# Ten wrong passwords for one name from one address: wait a quarter of an hour.
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25    # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_CLIENT_IP_CALLABLE = "jobs.site.client_address.client_address"
AXES_VERBOSE = False
AXES_ENABLE_ACCESS_FAILURE_LOG = True    # wrong passwords by the hour, for the manager's page and the metrics
AXES_ACCESS_FAILURE_LOG_PER_USER_LIMIT = 200

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es-mx", "Español")]     # the crew's pages; each person chooses (jobs.site.language)
LOCALE_PATHS = [HERE / "jobs" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = env.time_zone(env.env_text("CAMBERBOOK_TIME_ZONE"))    # the clock on the shop's wall

STATIC_URL = "/static/"
# Where `collectstatic` put them, under names that carry their hash (the image does); otherwise straight from the apps.
STATIC_ROOT = env.env_text("CAMBERBOOK_STATIC") or None
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = False
if STATIC_ROOT is None:
    WHITENOISE_USE_FINDERS, WHITENOISE_AUTOREFRESH = True, DEBUG
STORAGES = {
    # Photos, attachments and, if so set, signed records: in the data folder, or in a bucket. Keys stay in the folder.
    **env.kept_files(
        env.env_text("CAMBERBOOK_UPLOADS"),
        key=env.env_text("CAMBERBOOK_UPLOADS_KEY"),
        secret=env.env_text("CAMBERBOOK_UPLOADS_SECRET"),
        records=env.env_flag("CAMBERBOOK_RECORDS_IN_BUCKET", default=False),
    ),
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if STATIC_ROOT
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
MEDIA_ROOT = DATA / "uploads"      # never served as files; a view that checks who asks reads them
FILE_UPLOAD_PERMISSIONS, FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o600, 0o700
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "jobs.api.authentication.KeyAuthentication",     # first: a caller with neither gets a 401
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["jobs.api.parsing.StrictJSONParser"],
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_SCHEMA_CLASS": "jobs.api.schema.ShopSchema",
    "EXCEPTION_HANDLER": "jobs.api.errors.answer_error",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Camberbook",
    "DESCRIPTION": "Orders, pieces, specifications, check runs and production records of the shop.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
    "ENUM_NAME_OVERRIDES": {
        "StageEnum": "jobs.stages.Stage",
        "JobStatusEnum": "engineering.models.JobStatus",
        "VerdictEnum": "engineering.models.Verdict",
        "RoleEnum": "jobs.models.people.Role",
        "ToStageEnum": "jobs.api.inputs.TO_STAGE",
        "LotKindEnum": "jobs.models.stock.StockLot.Kind",
        "AttachmentKindEnum": "jobs.models.attachments.Attachment.Kind",
    },
}

# The queue. A message is only a nudge, so losing one or getting one twice does no harm (jobs/site/nudge.py).
REDIS_URL = env.redis_url(env.env_text("REDIS_URL"))
# Counts of calls and nothing that must last; shared by all web processes where there is a Redis.
CACHES: dict[str, dict[str, object]] = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
if REDIS_URL:
    CACHES["default"] = {
        "BACKEND": "jobs.site.counting_cache.CountingCache",
        "LOCATION": REDIS_URL,
        "KEY_PREFIX": "calls",
        "OPTIONS": {"socket_connect_timeout": 0.2, "socket_timeout": 0.5},
    }
SWEEP_EVERY_S = env.env_int("CAMBERBOOK_SWEEP_EVERY_S", 5, least=1)
CELERY_BROKER_URL = REDIS_URL or "memory://localhost/"
CELERY_BROKER_TRANSPORT_OPTIONS = (
    {
        "visibility_timeout": 120,              # above the longest task, below
        "unacked_restore_interval": 5,
        "unacked_restore_throttle": 1,
        "unacked_mutex_expire": 10,
        "socket_connect_timeout": 0.5,
        "socket_timeout": 1,
        "max_retries": 1,
        "interval_start": 0,
        "interval_step": 0.1,
        "interval_max": 0.1,
    }
    if REDIS_URL
    else {"polling_interval": 0.02}             # the default of one second would make every task take a second
)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None     # a worker waits for its broker as long as it takes
CELERY_TASK_PUBLISH_RETRY = False               # a page does not wait for the queue: the sweeper sends it later
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_TIME_LIMIT = 90
CELERY_TASK_SOFT_TIME_LIMIT = 80
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_WORKER_SEND_TASK_EVENTS = False
CELERY_TIMEZONE = TIME_ZONE
CELERY_TASK_DEFAULT_QUEUE = "checks"
# In this order: the sweeps have a queue of their own, so a long line of work does not keep them waiting.
CELERY_TASK_ROUTES = (
    [
        ("*.nudge_*", {"queue": "sweeps"}),
        ("engineering.tasks.*study*", {"queue": "studies"}),
        ("reports.tasks.*", {"queue": "records"}),
        ("jobs.tasks.*", {"queue": "records"}),
    ],
)
QUEUES = ("checks", "records", "studies", "sweeps")
CELERY_BEAT_SCHEDULER = "jobs.site.heartbeat:Scheduler"
NOTICES_EVERY_S = env.env_int("CAMBERBOOK_NOTICES_EVERY_S", 60, least=5)
CELERY_BEAT_SCHEDULE = {
    name: {"task": task, "schedule": SWEEP_EVERY_S}
    for name, task in {
        "check runs": "engineering.tasks.nudge_runs",
        "records": "reports.tasks.nudge_records",
        "studies": "engineering.tasks.nudge_studies",
    }.items()
} | {
    "notices": {"task": "jobs.tasks.nudge_notices", "schedule": NOTICES_EVERY_S},
    # It acts once a day; asked often, since a PC is switched off at night and beat begins anew with each start.
    "what is past its time": {"task": "jobs.tasks.remove_what_is_past", "schedule": 900},
}

# Notices go out by e-mail where a server is named; on the page they are in any case.
EMAIL_HOST = env.env_text("CAMBERBOOK_EMAIL_HOST")
EMAIL_PORT = env.env_int("CAMBERBOOK_EMAIL_PORT", 587, least=1)
EMAIL_HOST_USER = env.env_text("CAMBERBOOK_EMAIL_USER")
EMAIL_HOST_PASSWORD = env.env_text("CAMBERBOOK_EMAIL_PASSWORD")
EMAIL_USE_TLS = env.env_flag("CAMBERBOOK_EMAIL_TLS", default=True)
EMAIL_TIMEOUT = 10
DEFAULT_FROM_EMAIL = env.env_text("CAMBERBOOK_EMAIL_FROM", "camberbook@localhost")

# Lines to read, or with `json` one JSON object a line. Each names the request and the job it belongs to, and no secret.
LOGS = env.env_choice("CAMBERBOOK_LOGS", ("text", "json"))
LOG_LEVEL = env.env_text("LOG_LEVEL", "INFO")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "text": {"()": "jobs.site.log_lines.TextLine"},
        "json": {"()": "jobs.site.log_lines.JsonLine"},
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": LOGS}},
    "root": {"handlers": ["console"], "level": LOG_LEVEL},
    "loggers": {
        # Our own keep their level where `celery worker --loglevel` sets that of the root.
        **{name: {"level": LOG_LEVEL} for name in ("engineering", "jobs", "reports")},
        # Each request and each job has its lines for a program; a person reads what needs eyes, with the same numbers.
        "jobs.requests": {"level": "INFO" if LOGS == "json" else "WARNING"},
        "engineering.job_log": {"level": "INFO" if LOGS == "json" else "WARNING"},
        "django": {"handlers": [], "propagate": True, "level": "INFO"},
        "django.server": {"handlers": [], "propagate": True},
        "django.security.DisallowedHost": {"level": "CRITICAL"},      # answered with 400, not with a page of log
        "axes": {"level": "WARNING"},
        "celery": {"level": "WARNING"},
        "kombu": {"level": "WARNING"},
        "pyhanko": {"level": "WARNING"},
        "pyhanko_certvalidator": {"level": "ERROR"},
    },
}

# Opens /metrics/ to a program that watches the site; without it only a manager's own session does.
METRICS_KEY = env.env_secret("CAMBERBOOK_METRICS_KEY", least=24)

if TLS and not CSRF_TRUSTED_ORIGINS and BEHIND_PROXY:
    CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if host != "*" and host not in LOCAL_HOSTS]

SECURE_ADDRESS = ""  # where the site answers over TLS, once `serve --tls` knows

# How old coupons of a mix may be in a shop that has not set its own limit: a quarter of a year is common practice and
# has no source. The shop's page changes it or takes it away.
COUPON_DAYS_AT_FIRST = 90
