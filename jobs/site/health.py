"""Is the site well? One JSON document; 200 if every part answers, 503 if one does not, saying which."""

import logging
from collections.abc import Callable

import redis
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from kombu.exceptions import OperationalError

from jobs.site import embedded, heartbeat
from jobs.site.celery import app

log = logging.getLogger(__name__)
PROBLEMS = (DatabaseError, OperationalError, redis.RedisError, OSError)


def in_memory() -> bool:
    return str(app.conf.broker_url).startswith("memory:")


def database() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return "ok"


def queue() -> str:
    if in_memory():
        return "ok" if embedded.running() else "in memory, and this process has no worker to empty it"
    heartbeat.client().ping()
    return "ok"


def worker() -> str:
    if in_memory():
        return "ok" if embedded.running() else "stopped"
    return "ok" if app.control.ping(timeout=2.0, limit=1) else "none answers"


def beat() -> str:
    age = heartbeat.age_s()
    return "ok" if age is not None and age < heartbeat.FRESH_S else "has not ticked of late"


PARTS: dict[str, Callable[[], str]] = {"database": database, "queue": queue, "worker": worker, "beat": beat}


def look() -> dict[str, str]:
    """Each part and its state: "ok", or what is wrong. A part that raises is down; the reason goes to the log only."""
    state: dict[str, str] = {}
    for name, ask in PARTS.items():
        if name in ("worker", "beat") and state["queue"] == "does not answer":
            state[name] = "unknown: it is asked through the queue"
            continue
        try:
            state[name] = ask()
        except PROBLEMS as exc:
            log.warning("health: %s does not answer: %s", name, exc)
            state[name] = "does not answer"
    return state


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    parts = look()
    well = all(said == "ok" for said in parts.values())
    return JsonResponse({"status": "ok" if well else "down", "parts": parts}, status=200 if well else 503)
