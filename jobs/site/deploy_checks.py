"""What `check --deploy` says of Camberbook's own settings, beside Django's."""

import stat
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register

from jobs.site import env


@register(Tags.security, deploy=True)
def secret_key_is_given(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    if settings.REDIS_URL and not env.env_text("SECRET_KEY"):
        return [Error("SECRET_KEY is not set, so each machine would make its own and sign the others' visitors out.",
                      hint="Set SECRET_KEY to the same long random text for web, worker and beat.",
                      id="camberbook.E001")]
    return []


@register(Tags.security, deploy=True)
def hosts_are_named(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    if "*" in settings.ALLOWED_HOSTS:
        return [Error("ALLOWED_HOSTS lets in any name, so a visitor can choose the name that links are made with.",
                      hint="Name the site: ALLOWED_HOSTS=shop.example", id="camberbook.E002")]
    if set(settings.ALLOWED_HOSTS) <= set(settings.LOCAL_HOSTS):
        return [Warning("ALLOWED_HOSTS names this machine only, so nobody else can reach the site.",
                        hint="Name the site: ALLOWED_HOSTS=shop.example", id="camberbook.W003")]
    return []


@register(Tags.security, deploy=True)
def traffic_is_encrypted(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    if not settings.TLS:
        return [Warning("CAMBERBOOK_TLS is off: passwords cross the network in the clear.",
                        hint="Put the site behind the proxy and set CAMBERBOOK_TLS=1 and CAMBERBOOK_BEHIND_PROXY=1.",
                        id="camberbook.W004")]
    return []


@register(Tags.database, deploy=True)
def the_two_services_go_together(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    on_sqlite = settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")
    if settings.REDIS_URL and on_sqlite:
        return [Warning("REDIS_URL is set but DATABASE_URL is not: workers elsewhere would not see this SQLite file.",
                        hint="Set DATABASE_URL=postgres://…", id="camberbook.W005")]
    if not settings.REDIS_URL and not on_sqlite:
        return [Warning("DATABASE_URL is set but REDIS_URL is not: only the process of `serve` empties the queue.",
                        hint="Set REDIS_URL=redis://…", id="camberbook.W006")]
    return []


@register(Tags.security, deploy=True)
def data_is_private(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    mode = stat.S_IMODE(settings.DATA.stat().st_mode)
    if mode & 0o077:
        return [Warning(f"The data folder {settings.DATA} has mode {mode:o}: others can read its keys.",
                        hint=f"chmod 700 {settings.DATA}", id="camberbook.W007")]
    return []
