"""`manage.py healthcheck web|worker|beat`: exit 0 if that part is well, 1 if not. Containers are watched by it."""

import http.client
import json
import socket
from argparse import ArgumentParser
from typing import Any

import redis
from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from kombu.exceptions import OperationalError

from jobs.site import heartbeat
from jobs.site.celery import app


class Command(BaseCommand):
    help = "Ask one part of the site whether it is well."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("part", choices=["web", "worker", "beat"])
        parser.add_argument("--port", type=int, default=8000, help="where web listens here (default %(default)s)")
        parser.add_argument("--name", default=f"celery@{socket.gethostname()}",
                            help="the worker's name (default %(default)s)")

    def handle(self, *args: Any, part: str, port: int, name: str, **options: Any) -> None:
        try:
            said = {"web": lambda: web(port), "worker": lambda: worker(name), "beat": beat}[part]()
        except (OSError, OperationalError, redis.RedisError, http.client.HTTPException) as exc:
            raise CommandError(f"{part} is not well: {exc}") from exc
        if said != "ok":
            raise CommandError(f"{part} is not well: {said}")
        self.stdout.write(f"{part}: ok")


def web(port: int) -> str:
    host = next((name for name in settings.ALLOWED_HOSTS if name not in ("*", *settings.LOCAL_HOSTS)), "localhost")
    call = http.client.HTTPConnection("127.0.0.1", port, timeout=8)
    call.request("GET", "/health/", headers={"Host": host.removeprefix(".")})
    answer = call.getresponse()
    body = answer.read()
    if answer.status == 200:
        return "ok"
    try:
        parts = json.loads(body)["parts"]
    except (ValueError, KeyError, TypeError):
        return f"/health/ answers {answer.status}"
    return "; ".join(f"{key}: {said}" for key, said in parts.items() if said != "ok")


def worker(name: str) -> str:
    return "ok" if app.control.ping(destination=[name], timeout=5.0, limit=1) else f"{name} does not answer"


def beat() -> str:
    age = heartbeat.age_s()
    if age is None:
        return "it has not ticked of late"
    return "ok" if age < heartbeat.FRESH_S else f"its last tick was {age:.0f} s ago"
